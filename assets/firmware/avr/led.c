/* The status LED: see led.h. */
#include "led.h"
#include "blink.h"
#include "pins.h"

void led_start(void)
{
    DDRB |= _BV(LED_PIN);
}

void led_turn(uint8_t state, uint16_t ticks)
{
    if (sw_blink_lit(state, (uint8_t)(ticks >> 7) & (SW_BLINK_STEPS - 1u))) {
        PORTB |= _BV(LED_PIN);
    } else {
        PORTB &= (uint8_t)~_BV(LED_PIN);
    }
}
