/* Time: ticks of 1 ms (Timer 0), and half microseconds (Timer 1, which runs free and is never written:
 * output and capture share it). */
#ifndef SW_CLOCK_H
#define SW_CLOCK_H

#include <avr/io.h>
#include <stdint.h>

void clock_start(void);

/* Milliseconds since the program started. */
uint32_t clock_ticks(void);

/* Half microseconds, wrapping after 35 minutes. */
uint32_t clock_half_us(void);

/* How often Timer 1 has gone round; clock.c's interrupt counts. */
extern volatile uint16_t clock_rounds;

/* A Timer 1 count of the last 16 ms as half microseconds. Only with interrupts off. */
static inline uint32_t clock_extend(uint16_t count)
{
    uint16_t rounds = clock_rounds;

    if ((TIFR1 & _BV(TOV1)) && count < 0x8000u) {
        rounds++; /* it went round, and the interrupt still waits */
    }
    return (uint32_t)rounds << 16 | count;
}

#endif
