/* Time: see clock.h. */
#include "clock.h"
#include <avr/interrupt.h>
#include <util/atomic.h>
#include "converter.h" /* every tick starts a sample */

static volatile uint32_t ticks;
volatile uint8_t clock_rounds;

void clock_start(void)
{
    TCCR1A = 0;
    TCCR1B = _BV(ICNC1) | _BV(CS11);    /* 16 MHz / 8, falling edges captured, noise canceller on */
    TCCR0A = _BV(WGM01);                /* clear on compare */
    TCCR0B = _BV(CS01) | _BV(CS00);     /* 16 MHz / 64 */
    OCR0A = 249;                        /* 250 of those: 1 ms */
    TIMSK0 = _BV(OCIE0A);
}

ISR(TIMER0_COMPA_vect)
{
    uint32_t now = ticks + 1u;

    ticks = now;
    if (TIFR1 & _BV(TOV1)) {            /* Timer 1 has gone round: an interrupt of its own would cost more */
        TIFR1 = _BV(TOV1);
        clock_rounds++;
    }
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

half_us clock_half_us(void)
{
    half_us now;

    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        now = clock_extend(TCNT1);
    }
    return now;
}
