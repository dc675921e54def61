/* The status LED: blinks as core/blink.h says. */
#ifndef SW_LED_H
#define SW_LED_H

#include <stdint.h>

void led_start(void);

/* One turn of the main loop: the state of `enum sw_blink`, and milliseconds; a step is 128 of them. */
void led_turn(uint8_t state, uint16_t ticks);

#endif
