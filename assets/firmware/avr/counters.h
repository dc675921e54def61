/* What happened since power came. Opening the port resets most boards, so the counters lie in memory
 * that start-up leaves alone, under a check word. */
#ifndef SW_COUNTERS_H
#define SW_COUNTERS_H

#include <stdint.h>

/* In the order, and with the sizes, of the message COUNTERS behind its first four bytes. */
struct counters {
    uint16_t starts[4];         /* by cause: CAUSE_… of reset.h */
    uint16_t link_errors;
    uint16_t frames_lost;
    uint16_t longest_loop_us;
    uint16_t presses;
    uint32_t rejected;
    uint16_t undecided;
    uint16_t sent;
    uint16_t writes;
};
extern struct counters counters;

/* Whether memory still holds counters of before the reset. */
uint8_t counters_survived(void);
void counters_clear(void);

/* Adds, and stays at the top. */
void counters_add(uint16_t *counter, uint8_t more);
/* Readings outside every band come a thousand a second: these are gathered, and kept with the rest
 * four times a second by counters_turn. */
void counters_reject(void);
void counters_turn(uint8_t ticks);
/* One turn of the main loop took so long. */
void counters_loop(uint32_t half_us);

#endif
