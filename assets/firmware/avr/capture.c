/* The receiver: see capture.h. The interrupt keeps timings in a ring; the main loop sends them on while
 * more come in, so that 200 edges need no memory for 200. */
#include "capture.h"
#include <avr/interrupt.h>
#include <util/atomic.h>
#include "clock.h"
#include "flash.h" /* SW_APART */
#include "limits.h"
#include "link.h"
#include "messages.h"
#include "near.h"
#include "pins.h"

#define RING 48u
#define PART 20u                /* timings of one message */
#define HALF_US_PER_STEP_SHIFT 2
#define GAP_HALF_US (2u * SW_CAPTURE_GAP_US)

/* The message as it lies in memory: the chip's byte order is the link's, and nothing is padded. */
struct part {
    struct head head;
    uint8_t first;
    uint8_t flags;
    uint16_t steps[PART];
    uint8_t check[LINK_CHECK];
};
#define BEFORE_STEPS 2u         /* bytes of the payload */
#define LAST 1u
#define OVERFLOW 2u

static struct kept {
    half_us last_edge;  /* whole steps, in half microseconds */
    uint8_t held;       /* timings in the ring */
    uint8_t oldest;
    uint8_t edges;      /* of this capture; 0: none yet */
    uint8_t overflow;   /* OVERFLOW, or 0 */
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
    half_us now = clock_extend(ICR1) & ~(half_us)3;
    half_us steps = (now - my->last_edge) >> HALF_US_PER_STEP_SHIFT;

    TCCR1B ^= _BV(ICES1);
    TIFR1 = _BV(ICF1);                  /* the change of edge may have set it */
    my->last_edge = now;
    if (my->edges == SW_CAPTURE_EDGES || my->held == RING) {
        my->overflow = OVERFLOW;
        my->edges = SW_CAPTURE_EDGES;   /* a hole in the middle would be no capture: it ends here */
        return;
    }
    if (my->edges++) {
        my->ring[place(my->oldest, my->held)] = steps > UINT16_MAX ? UINT16_MAX : (uint16_t)steps;
        my->held++;
    }
}

/* Whether the line has been quiet for long enough, after so many edges. */
static uint8_t over(uint8_t *seen)
{
    uint8_t quiet;

    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        *seen = state.edges;
        quiet = clock_half_us() - state.last_edge >= GAP_HALF_US && !(TIFR1 & _BV(ICF1));
    }
    return quiet;
}

SW_APART void capture_turn(void)
{
    volatile struct kept *my = near(&state);
    struct part part;
    uint8_t count, last, seen, length, i;

    if (!my->edges) {
        return;
    }
    last = over(&seen);
    count = my->held;
    if (count > PART) {
        count = PART;
        last = 0;
    }
    length = BEFORE_STEPS + 2u * count;
    if ((count < PART && !last) || !link_has_room(length)) {
        return;
    }
    part.first = my->told;
    part.flags = last ? LAST | my->overflow : 0;
    for (i = 0; i < count; i++) {
        part.steps[i] = my->ring[place(my->oldest, i)];
    }
    link_tell(SW_CAPTURE, &part, length);
    my->told += count;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        if (last && my->edges == seen) {
            begin();
        } else {
            if (last) {                 /* the next one has begun since: leave out the time between */
                count++;
                my->edges -= seen;
                my->overflow = 0;
                my->told = 0;
            }
            my->oldest = place(my->oldest, count);
            my->held -= count;
        }
    }
}
