/* The output: see output.h. The compare itself sets or clears the pin; its interrupt, which has at
 * least 50 us for it, arms the next one. A long time is made of steps that keep the level. */
#include "output.h"
#include <avr/interrupt.h>
#include <util/atomic.h>
#include "near.h"
#include "pins.h"

#define STEP_MAX 0x8000uL
#define STEP 0x4000u                    /* what is left behind a step is never short */
#define START_TICKS 40u                 /* from now to a frame's first edge */
#define PLAN_TICKS 20000uL              /* a gap's last 10 ms: time to plan the next frame */
#define SILENCE_TICKS 40000uL           /* behind a frame that has no period: 20 ms; common practice, no source */

#define PIN_SET (_BV(COM1A1) | _BV(COM1A0))
#define PIN_CLEAR _BV(COM1A1)

struct sw_frame output_frame;

/* What goes on. Only in a gap can a frame be planned for its end. */
enum phase { REST, FRAME, GAP, GAP_THEN_FRAME };

static struct kept {
    __uint24 left;          /* ticks from the armed compare to the next edge */
    uint8_t phase;
    uint8_t mark;
    uint8_t infrared;
} state;

void output_start(void)
{
    PORTB &= (uint8_t)~_BV(LINE_PIN);
    DDRB |= _BV(LINE_PIN);
    PORTD &= (uint8_t)~_BV(INFRARED_PIN);
    DDRD |= _BV(INFRARED_PIN);
}

static inline void carrier(uint8_t on)
{
    TCCR2A = (on && state.infrared ? _BV(COM2B1) : 0) | _BV(WGM21) | _BV(WGM20);
}

/* Ticks to the compare; far too many where it has passed. */
static uint16_t ahead(void)
{
    return OCR1A - TCNT1;
}

static inline void rest_now(struct kept *my)
{
    TIMSK1 &= (uint8_t)~_BV(OCIE1A);
    TCCR1A = 0;                         /* the pin is the port's again: low */
    my->phase = REST;
}

/* An edge is done: what comes behind it. */
static inline void take_timing(struct kept *my)
{
    my->phase = FRAME;
    my->mark ^= 1u;
    carrier(my->mark);
    my->left = sw_frame_next(&output_frame);
    if (my->left == 0) {
        my->left = output_frame.gap_ticks ? output_frame.gap_ticks : SILENCE_TICKS;
        my->phase = GAP;
    }
}

ISR(TIMER1_COMPA_vect)
{
    struct kept *my = near(&state);
    __uint24 rest;
    uint16_t step, at;
    uint8_t high;

    if (my->left == 0) {
        if (my->phase == GAP) {
            rest_now(my);
            return;
        }
        take_timing(my);
    }
    /* Arms the next compare: a step, or the edge itself. */
    rest = my->left;
    step = rest > STEP_MAX ? STEP : (uint16_t)rest;
    at = OCR1A + step;
    rest -= step;
    my->left = rest;
    high = my->mark;
    if (rest == 0 && my->phase != GAP) {
        high ^= 1u;
    }
    OCR1A = at;
    TCCR1A = high ? PIN_SET : PIN_CLEAR;
    if ((int16_t)ahead() < 2 && !(TIFR1 & _BV(OCF1A))) {
        OCR1A = TCNT1 + 4u;             /* too late; rather a late edge than one a whole round later */
    }
}

uint8_t output_wants(void)
{
    volatile struct kept *my = near(&state);
    uint8_t wants;

    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        wants = my->phase == REST || (my->phase == GAP && my->left + ahead() < PLAN_TICKS);
    }
    return wants;
}

/* A frame is planned, to start when the gap ends; or now, where nothing goes out, or the gap ends right
 * now without an edge. */
static inline void follow(struct kept *my)
{
    if (my->phase == REST || (my->left == 0 && (TIFR1 & _BV(OCF1A) || ahead() < 4u))) {
        my->left = 0;                   /* a gap that ends almost now */
        my->mark = 0;
        OCR1A = TCNT1 + START_TICKS;
        TIFR1 = _BV(OCF1A);
        TIMSK1 |= _BV(OCIE1A);
    }
    my->phase = GAP_THEN_FRAME;
    if (my->left == 0) {                /* else it is seen when the gap's last step is armed */
        TCCR1A = PIN_SET;
    }
}

void output_send(uint8_t with_infrared)
{
    struct kept *my = near(&state);

    my->infrared = with_infrared;
    if (with_infrared) {
        /* 32 bits, because that division is linked in for others anyway. */
        uint8_t top = (uint8_t)((2000uL + output_frame.row.carrier_khz / 2u) / output_frame.row.carrier_khz - 1u);

        TCCR2B = _BV(WGM22) | _BV(CS21);    /* fast PWM to OCR2A, 2 MHz */
        OCR2A = top;
        OCR2B = top / 3u;
    }
    sw_frame_start(&output_frame);
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        follow(my);
    }
}

void output_release(void)
{
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        carrier(0);
        TCCR1A = PIN_CLEAR;
        TCCR1C = _BV(FOC1A);            /* the compare's own latch low, too: it shows when connected again */
        rest_now(near(&state));
    }
}
