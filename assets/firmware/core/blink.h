/* How the status LED blinks: one pattern for each state, of 16 steps that repeat. */
#ifndef SW_BLINK_H
#define SW_BLINK_H

#include <stdint.h>

#define SW_BLINK_STEPS 16u

/* The number of a state is how often it flashes in a pattern, but for the slow one. */
enum sw_blink {
    SW_BLINK_LEARNING = 0,   /* slow and even: samples stream, or a remote is listened to */
    SW_BLINK_RUNNING = 1,    /* an image is in use */
    SW_BLINK_MISSING = 2,    /* there is no image */
    SW_BLINK_DAMAGED = 3,    /* an image is damaged, and no other is whole */
    SW_BLINK_FAULT = 4,      /* the memory did not keep what was written */
    SW_BLINK_SEARCHING = 8   /* fast and even: looks for an image, for the first second */
};

/* Whether the LED is lit in a step, 0 to 15. */
uint8_t sw_blink_lit(uint8_t state, uint8_t step);

#endif
