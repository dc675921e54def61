/* The status LED: see led.h. A blink is 16 steps of 128 ms. */
#include "led.h"
#include "pins.h"

void led_start(void)
{
    DDRB |= _BV(LED_PIN);
}

void led_turn(uint8_t state, uint16_t ticks)
{
    uint8_t step = (uint8_t)(ticks >> 7) & 15u;
    uint8_t lit;

    if (state == LED_LEARNING) {
        lit = !(step & 4u);
    } else {
        lit = !(step & 1u) && step < (uint8_t)(2u * state);    /* a flash is a step lit and a step dark */
    }
    if (lit) {
        PORTB |= _BV(LED_PIN);
    } else {
        PORTB &= (uint8_t)~_BV(LED_PIN);
    }
}
