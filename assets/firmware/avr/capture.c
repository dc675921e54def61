/* The receiver: see capture.h. The interrupt keeps timings in a ring; the main loop sends them on while
 * more come in, so that 200 edges need no memory for 200. */
#include "capture.h"
#include <avr/interrupt.h>
#include <util/atomic.h>
#include "clock.h"
#include "limits.h"
#include "link.h"
#include "messages.h"
#include "near.h"
#include "pins.h"

#define RING 48u
#define PART 20u                /* timings of one message */
#define HEAD 2u
#define HALF_US_PER_STEP_SHIFT 2
#define GAP_HALF_US (2u * SW_CAPTURE_GAP_US)

#define LAST 1u
#define OVERFLOW 2u

static struct kept {
    uint32_t last_edge; /* whole steps, in half microseconds */
    uint8_t held;       /* timings in the ring */
    uint8_t oldest;
    uint8_t edges;      /* of this capture; 0: none yet */
    uint8_t overflow;
    uint8_t told;       /* timings of this capture that went out */
    uint8_t listening;
    uint16_t ring[RING];
} state;

void capture_start(void)
{
    DDRB &= (uint8_t)~_BV(RECEIVER_PIN);
    PORTB |= _BV(RECEIVER_PIN);         /* a missing receiver reads as silence */
}

/* So many behind a place of the ring. */
static inline uint8_t place(uint8_t from, uint8_t behind)
{
    uint8_t at = from + behind;

    return at >= RING ? at - RING : at;
}

/* Waits for a mark. Only with interrupts off. */
static void begin(void)
{
    struct kept *my = near(&state);

    my->held = 0;
    my->edges = 0;
    my->overflow = 0;
    my->oldest = 0;
    my->told = 0;
    TCCR1B &= (uint8_t)~_BV(ICES1);     /* the receiver is active low */
    TIFR1 = _BV(ICF1);
}

void capture_listen(uint8_t on)
{
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        begin();
        if (on) {
            TIMSK1 |= _BV(ICIE1);
        } else {
            TIMSK1 &= (uint8_t)~_BV(ICIE1);
        }
    }
    state.listening = on;
}

uint8_t capture_listening(void)
{
    return state.listening;
}

ISR(TIMER1_CAPT_vect)
{
    struct kept *my = near(&state);
    uint32_t now = clock_extend(ICR1) & ~3uL;
    uint32_t steps;

    TCCR1B ^= _BV(ICES1);
    TIFR1 = _BV(ICF1);                  /* the change of edge may have set it */
    if (my->edges) {
        if (my->edges == SW_CAPTURE_EDGES || my->held == RING) {
            my->overflow = 1;
            my->edges = SW_CAPTURE_EDGES;   /* a hole in the middle would be no capture: it ends here */
            my->last_edge = now;
            return;
        }
        steps = (now - my->last_edge) >> HALF_US_PER_STEP_SHIFT;
        my->ring[place(my->oldest, my->held)] = steps > UINT16_MAX ? UINT16_MAX : (uint16_t)steps;
        my->held++;
    }
    my->edges++;
    my->last_edge = now;
}

/* Whether the line has been quiet for long enough, after so many edges. */
static uint8_t over(uint8_t *seen)
{
    uint8_t quiet;

    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        *seen = state.edges;
        quiet = clock_extend(TCNT1) - state.last_edge >= GAP_HALF_US && !(TIFR1 & _BV(ICF1));
    }
    return quiet;
}

void capture_turn(void)
{
    volatile struct kept *my = near(&state);
    uint8_t payload[HEAD + 2u * PART];
    uint8_t count, last, seen, i;

    if (!my->edges) {
        return;
    }
    last = over(&seen);
    count = my->held;
    if (count > PART) {
        count = PART;
        last = 0;
    }
    if ((count < PART && !last) || !link_has_room(HEAD + 2u * count)) {
        return;
    }
    payload[0] = my->told;
    payload[1] = (last ? LAST : 0) | (last && my->overflow ? OVERFLOW : 0);
    for (i = 0; i < count; i++) {
        uint16_t steps = my->ring[place(my->oldest, i)];
        payload[HEAD + 2u * i] = (uint8_t)steps;
        payload[HEAD + 2u * i + 1u] = (uint8_t)(steps >> 8);
    }
    link_tell(SW_CAPTURE, payload, HEAD + 2u * count);
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        if (last && my->edges == seen) {
            begin();
        } else {
            if (last) {                 /* the next one has begun since: leave out the time between */
                count++;
                my->edges -= seen;
                my->overflow = 0;
            }
            my->oldest = place(my->oldest, count);
            my->held -= count;
        }
    }
    my->told = last ? 0 : my->told + count;
}
