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

static struct kept {
    uint32_t left;      /* ticks from the armed compare to the next edge */
    uint32_t upcoming;  /* the timing behind that edge; 0: the frame is over */
    uint8_t running;    /* a frame or a gap */
    uint8_t gap;
    uint8_t follows;    /* a frame is planned for the gap's end */
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

static void take_timing(void)
{
    struct kept *my = near(&state);

    my->upcoming = sw_frame_next(&output_frame);
}

/* Arms the next compare: a step, or the edge itself. */
static inline void arm(void)
{
    struct kept *my = near(&state);
    uint32_t rest = my->left;
    uint16_t step = rest > STEP_MAX ? STEP : (uint16_t)rest;
    uint8_t high = my->mark;
    uint16_t at = OCR1A + step;

    rest -= step;
    if (rest == 0) {
        high = my->gap ? my->follows : !my->mark;
    }
    my->left = rest;
    OCR1A = at;
    TCCR1A = high ? PIN_SET : PIN_CLEAR;
    if ((int16_t)(at - TCNT1) < 2 && !(TIFR1 & _BV(OCF1A))) {
        OCR1A = TCNT1 + 4u;             /* too late; rather a late edge than one a whole round later */
    }
}

static inline void rest_now(void)
{
    struct kept *my = near(&state);

    TIMSK1 &= (uint8_t)~_BV(OCIE1A);
    TCCR1A = 0;                         /* the pin is the port's again: low */
    my->running = 0;
    my->gap = 0;
    my->follows = 0;
    my->mark = 0;
}

ISR(TIMER1_COMPA_vect)
{
    struct kept *my = near(&state);

    if (my->left) {
        arm();
        return;
    }
    if (my->gap && !my->follows) {
        rest_now();
        return;
    }
    my->mark = !my->mark;               /* the edge is done */
    if (my->gap) {
        my->gap = 0;
        my->follows = 0;
    }
    if (my->upcoming) {
        my->left = my->upcoming;
    } else {
        my->left = output_frame.gap_ticks;
        if (my->left == 0) {
            my->left = SILENCE_TICKS;
        }
        my->gap = 1;
    }
    arm();
    carrier(my->mark);
    if (!my->gap) {
        take_timing();
    }
}

/* Ticks to the end of what is armed and behind it. Only with interrupts off. */
static uint32_t remaining(void)
{
    return state.left + (TIFR1 & _BV(OCF1A) ? 0 : (uint16_t)(OCR1A - TCNT1));
}

uint8_t output_wants(void)
{
    volatile struct kept *my = near(&state);
    uint8_t wants = 1;

    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        if (my->running) {
            wants = my->gap && !my->follows && remaining() < PLAN_TICKS;
        }
    }
    return wants;
}

/* A gap that ends almost now, with the frame behind it. */
static inline void start_now(void)
{
    struct kept *my = near(&state);

    my->running = 1;
    my->gap = 1;
    my->follows = 1;
    my->left = 0;
    my->mark = 0;
    OCR1A = TCNT1 + START_TICKS;
    TIFR1 = _BV(OCF1A);
    TCCR1A = PIN_SET;
    TIMSK1 |= _BV(OCIE1A);
}

void output_send(uint8_t with_infrared)
{
    volatile struct kept *my = near(&state);

    my->infrared = with_infrared;
    if (my->infrared) {
        TCCR2B = _BV(WGM22) | _BV(CS21);    /* fast PWM to OCR2A, 2 MHz */
        OCR2A = (uint8_t)((2000u + output_frame.row.carrier_khz / 2u) / output_frame.row.carrier_khz - 1u);
        OCR2B = OCR2A / 3u;
    }
    sw_frame_start(&output_frame);
    take_timing();
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        if (!my->running) {             /* or the gap ended just now, without an edge: late */
            start_now();
        } else if (my->left) {
            my->follows = 1;            /* arm() will see it */
        } else if (!(TIFR1 & _BV(OCF1A)) && (uint16_t)(OCR1A - TCNT1) >= 4u) {
            my->follows = 1;
            TCCR1A = PIN_SET;
        } else {
            start_now();
        }
    }
}

void output_release(void)
{
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        carrier(0);
        TCCR1A = PIN_CLEAR;
        TCCR1C = _BV(FOC1A);            /* the compare's own latch low, too: it shows when connected again */
        rest_now();
    }
}
