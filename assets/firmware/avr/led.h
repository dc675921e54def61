/* The status LED: one blink for each state, defined in led.c and nowhere else. */
#ifndef SW_LED_H
#define SW_LED_H

#include <stdint.h>

enum led_state {
    LED_SEARCHING,
    LED_RUNNING,
    LED_MISSING,
    LED_DAMAGED,
    LED_FAULT,
    LED_LEARNING,
    LED_STATES
};

void led_start(void);
void led_turn(enum led_state state, uint16_t ticks);

#endif
