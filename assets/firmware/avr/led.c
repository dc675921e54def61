/* The status LED: see led.h. */
#include "led.h"
#include <avr/pgmspace.h>
#include "pins.h"

/* A blink is 16 steps of 128 ms, 2 s; the highest bit comes first. */
static const uint16_t blinks[LED_STATES] PROGMEM = {
    [LED_SEARCHING] = 0xAAAA,   /* fast and even: looks for an image, for the first second */
    [LED_RUNNING] = 0x8000,     /* one flash: an image is in use */
    [LED_MISSING] = 0xA000,     /* two flashes: there is no image */
    [LED_DAMAGED] = 0xA800,     /* three flashes: an image is damaged, and no other is whole */
    [LED_FAULT] = 0xAA00,       /* four flashes: the memory did not keep what was written */
    [LED_LEARNING] = 0xF0F0,    /* slow and even: samples stream, or a remote is listened to */
};

void led_start(void)
{
    DDRB |= _BV(LED_PIN);
}

void led_turn(enum led_state state, uint16_t ticks)
{
    uint8_t step = (uint8_t)(ticks >> 7) & 15u;

    if (pgm_read_word(&blinks[state]) & (uint16_t)(0x8000u >> step)) {
        PORTB |= _BV(LED_PIN);
    } else {
        PORTB &= (uint8_t)~_BV(LED_PIN);
    }
}
