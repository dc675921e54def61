/* Time: see clock.h. */
#include "clock.h"
#include <avr/interrupt.h>
#include <avr/io.h>
#include <util/atomic.h>
#include "converter.h" /* every tick starts a sample */

static volatile uint16_t rounds;    /* how often Timer 1 has gone round */
static volatile uint32_t ticks;

void clock_start(void)
{
    TCCR1A = 0;
    TCCR1B = _BV(ICNC1) | _BV(CS11);    /* 16 MHz / 8, falling edges captured, noise canceller on */
    TIMSK1 = _BV(TOIE1);
    TCCR0A = _BV(WGM01);                /* clear on compare */
    TCCR0B = _BV(CS01) | _BV(CS00);     /* 16 MHz / 64 */
    OCR0A = 249;                        /* 250 of those: 1 ms */
    TIMSK0 = _BV(OCIE0A);
}

ISR(TIMER1_OVF_vect)
{
    rounds++;
}

ISR(TIMER0_COMPA_vect)
{
    uint32_t now = ticks + 1u;

    ticks = now;
    converter_tick((uint8_t)now);
}

uint32_t clock_ticks(void)
{
    uint32_t now;

    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        now = ticks;
    }
    return now;
}

uint16_t clock_short(void)
{
    return (uint16_t)clock_ticks();
}

uint32_t clock_extend(uint16_t count)
{
    uint16_t high = rounds;

    if ((TIFR1 & _BV(TOV1)) && count < 0x8000u) {
        high++; /* it went round, and the interrupt still waits */
    }
    return (uint32_t)high << 16 | count;
}

uint32_t clock_half_us(void)
{
    uint32_t now;

    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        now = clock_extend(TCNT1);
    }
    return now;
}
