/* Time: ticks of 1 ms (Timer 0), and half microseconds (Timer 1, which runs free and is never written:
 * output and capture share it). */
#ifndef SW_CLOCK_H
#define SW_CLOCK_H

#include <avr/io.h>
#include <stdint.h>

void clock_start(void);

/* Milliseconds since the program started; and their low half, for what takes less than a minute. */
uint32_t clock_ticks(void);
uint16_t clock_short(void);

/* Half microseconds, wrapping after 8 s: 24 bits, where a time of 32 costs a third more. */
typedef __uint24 half_us;
half_us clock_half_us(void);

/* How often Timer 1 has gone round. */
extern volatile uint8_t clock_rounds;

/* A Timer 1 count of the last 16 ms as half microseconds. Only with interrupts off. Inline, because an
 * interrupt that calls a function saves every register the function might use. */
static inline __attribute__((always_inline)) half_us clock_extend(uint16_t count)
{
    uint8_t high = clock_rounds;

    if ((TIFR1 & _BV(TOV1)) && count < 0x8000u) {
        high++; /* it went round, and the interrupt still waits */
    }
    return (half_us)high << 16 | count;
}

#endif
