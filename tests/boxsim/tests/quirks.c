/* Looks at what the simulator makes of the chip: a letter comes, a number goes. Polled, so that nothing
 * but what is looked at takes time. Built and asked by corrections.rs. */
#include <avr/interrupt.h>
#include <avr/io.h>
#include <stdint.h>
#include <stdlib.h>

static volatile uint8_t ready, changed;

ISR(EE_READY_vect)
{
    ready++;
    EECR &= (uint8_t)~_BV(EERIE);
}

ISR(PCINT0_vect)
{
    changed++;
}

/* Timer 1 runs at the chip's clock: how long after the compare its handler reads it. */
static volatile uint16_t entered;

ISR(TIMER1_COMPB_vect)
{
    entered = TCNT1;
    TIMSK1 = 0;
}

static void put(uint8_t byte)
{
    while (!(UCSR0A & _BV(UDRE0))) {
    }
    UDR0 = byte;
}

static void tell(uint32_t number)
{
    char digits[12];
    char *at = ultoa(number, digits, 10);

    while (*at) {
        put((uint8_t)*at++);
    }
    put('\n');
}

static uint16_t conversion(uint8_t divider)
{
    uint16_t began;

    ADMUX = 0;
    ADCSRA = _BV(ADEN) | _BV(ADSC) | divider;   /* the first one is longer: not counted */
    loop_until_bit_is_clear(ADCSRA, ADSC);
    began = TCNT1;
    ADCSRA |= _BV(ADSC);
    loop_until_bit_is_clear(ADCSRA, ADSC);
    began = TCNT1 - began;
    ADCSRA = 0;
    return began;
}

static void store(uint16_t at, uint8_t byte)
{
    EEAR = at;
    EEDR = byte;
    cli();
    EECR |= _BV(EEMPE);
    EECR |= _BV(EEPE);
    sei();
}

static uint32_t store_time(void)
{
    uint32_t rounds = 0;
    uint16_t began;

    store(5, 0xA5);
    began = TCNT1;
    TIFR1 = _BV(TOV1);
    TCNT1 = 0;
    began = 0;
    while (EECR & _BV(EEPE)) {
        if (TIFR1 & _BV(TOV1)) {
            TIFR1 = _BV(TOV1);
            rounds++;
        }
    }
    return (rounds << 16) + TCNT1 - began;
}

static uint32_t look(uint8_t letter)
{
    uint16_t i;

    switch (letter) {
    case 'a':
        return conversion(7);
    case 'b':
        return conversion(6);
    case 'v':                           /* the value of the last conversion's twin */
        ADMUX = 0;
        ADCSRA = _BV(ADEN) | _BV(ADSC) | 7;
        loop_until_bit_is_clear(ADCSRA, ADSC);
        return ADC;
    case 'e':
        return store_time();
    case 'r':                           /* the interrupt is a level: enabled while idle it runs at once */
        ready = 0;
        EECR |= _BV(EERIE);
        for (i = 0; i < 1000; i++) {
            __asm__ volatile("nop");
        }
        return ready;
    case 'p':                           /* PB0 pulled up, held low from outside; PB1 is written */
        DDRB = _BV(PB1);
        PORTB = _BV(PB0);
        for (i = 0; i < 4000; i++) {
            __asm__ volatile("nop");    /* meanwhile it is pulled low */
        }
        PCMSK0 = _BV(PCINT0);
        PCIFR = _BV(PCIF0);
        PCICR = _BV(PCIE0);
        changed = 0;
        for (i = 0; i < 8; i++) {
            PORTB ^= _BV(PB1);
        }
        PCICR = 0;
        return 10u * changed + (PINB & 1u);
    case 'i':
        cli();
        TCNT1 = 0;
        OCR1B = 200;
        TIFR1 = _BV(OCF1B);
        TIMSK1 = _BV(OCIE1B);
        sei();
        for (i = 0; i < 200; i++) {
            __asm__ volatile("nop");
        }
        return entered;
    case 'u':                           /* many bytes, for their distance */
        for (i = 0; i < 50; i++) {
            put('U');
        }
        return 0;
    case 'o':                           /* nobody takes what comes for 5 ms */
        for (i = 0; i < 20000; i++) {
            __asm__ volatile("nop");
        }
        while (UCSR0A & _BV(RXC0)) {
            (void)UDR0;
            for (i = 0; i < 500; i++) {
                __asm__ volatile("nop");
            }
        }
        return 0;
    default:
        return 0;
    }
}

int main(void)
{
    UCSR0A = _BV(U2X0);
    UBRR0 = 16;
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
    UCSR0B = _BV(RXEN0) | _BV(TXEN0);
    TCCR1B = _BV(CS10);
    sei();
    put('\n');
    for (;;) {
        uint8_t letter;

        loop_until_bit_is_set(UCSR0A, RXC0);
        letter = UDR0;
        tell(look(letter));
    }
}
