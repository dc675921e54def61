/* What happened since power came. Opening the port resets most boards, so the counters lie in memory
 * that start-up leaves alone, under a check word. */
#ifndef SW_COUNTERS_H
#define SW_COUNTERS_H

#include <stdint.h>
#include "clock.h" /* half_us */

/* In the order, and with the sizes, of the message COUNTERS behind its first four bytes. */
enum counter {
    COUNT_STARTS,               /* and the next three, by cause: CAUSE_… of reset.h */
    COUNT_LINK_ERRORS = 4,
    COUNT_FRAMES_LOST,
    COUNT_LONGEST_LOOP_US,
    COUNT_PRESSES,
    COUNT_REJECTED,             /* readings outside every band: four bytes */
    COUNT_UNDECIDED = 10,
    COUNT_SENT,
    COUNT_WRITES,
    COUNTERS
};
extern uint16_t counters[COUNTERS];

/* Whether memory still holds counters of before the reset. */
uint8_t counters_survived(void);
void counters_clear(void);

/* One more, unless it is at the top. */
void counters_count(uint8_t which);

/* A turn of the main loop that began then, by clock_half_us, is over; gives when the next began. */
half_us counters_turn(half_us began);

#endif
