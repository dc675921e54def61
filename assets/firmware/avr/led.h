/* The status LED: one blink for each state, in 2 s so many flashes. */
#ifndef SW_LED_H
#define SW_LED_H

#include <stdint.h>

enum led_state {
    LED_LEARNING = 0,   /* slow and even: samples stream, or a remote is listened to */
    LED_RUNNING = 1,    /* an image is in use */
    LED_MISSING = 2,    /* there is no image */
    LED_DAMAGED = 3,    /* an image is damaged, and no other is whole */
    LED_FAULT = 4,      /* the memory did not keep what was written */
    LED_SEARCHING = 8   /* fast and even: looks for an image, for the first second */
};

void led_start(void);
void led_turn(uint8_t state, uint16_t ticks);

#endif
