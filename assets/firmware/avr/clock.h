/* Time: ticks of 1 ms (Timer 0), and half microseconds (Timer 1, which runs free and is never written:
 * output and capture share it). */
#ifndef SW_CLOCK_H
#define SW_CLOCK_H

#include <stdint.h>

void clock_start(void);

/* Milliseconds since the program started; and their low half, for what takes less than a minute. */
uint32_t clock_ticks(void);
uint16_t clock_short(void);

/* Half microseconds, wrapping after 35 minutes. */
uint32_t clock_half_us(void);

/* A Timer 1 count of the last 16 ms as half microseconds. Only with interrupts off. */
uint32_t clock_extend(uint16_t count);

#endif
