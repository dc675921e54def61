/* Why the program started, and the watchdog that starts it again when it stands still. */
#ifndef SW_RESET_H
#define SW_RESET_H

#include <stdint.h>

#define CAUSE_POWER_ON 0u
#define CAUSE_EXTERNAL 1u
#define CAUSE_BROWN_OUT 2u
#define CAUSE_WATCHDOG 3u

/* Finds the cause, keeps or clears the counters, and counts the start. */
void reset_start(void);
uint8_t reset_cause(void);

/* The main loop serves it, and a write that is closed; the reset comes about 250 ms after the last time. */
void watchdog_serve(void);

/* Resets through the watchdog; does not come back. */
void reset_now(void) __attribute__((noreturn));

#endif
