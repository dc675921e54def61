/* A plain-number probe: reads the converter and prints the number, line by line, 115200 baud, 8N1.
 * Any board can be one; all that is asked of it stands in this file. For an ATmega328P at 16 MHz:
 * wire 1 to A0 and, with TWO_WIRES defined as 1, wire 2 to A1; the supply is the reference, so
 * nothing else may be connected to AREF but a capacitor. */
#include <avr/io.h>

#ifndef TWO_WIRES
#define TWO_WIRES 0
#endif

static void print_byte(uint8_t byte)
{
    while (!(UCSR0A & _BV(UDRE0))) { }  /* the last one is still on its way */
    UDR0 = byte;
}

static void print_number(uint16_t number)
{
    char digits[5];
    uint8_t count = 0;

    do {
        digits[count++] = '0' + number % 10;
        number /= 10;
    } while (number);
    while (count) print_byte(digits[--count]);
}

static uint16_t read_wire(uint8_t channel)
{
    ADMUX = _BV(REFS0) | channel;       /* the supply is the reference */
    ADCSRA |= _BV(ADSC);                /* start, and wait for the end */
    while (ADCSRA & _BV(ADSC)) { }
    return ADC;                         /* 0 to 1023 */
}

int main(void)
{
    UCSR0A = _BV(U2X0);                 /* doubled, the rate is 2.1 % off; else 3.5 % */
    UBRR0 = 16;                         /* 16 MHz / 8 / 17 = 117647 */
    UCSR0B = _BV(TXEN0);                /* 8N1 is how it starts up */
    ADCSRA = _BV(ADEN) | 7;             /* 16 MHz / 128 = 125 kHz */
    TCCR0A = _BV(WGM01);                /* a line every 2 ms: 500 a second */
    TCCR0B = _BV(CS02);                 /* 16 MHz / 256 = 62500 Hz */
    OCR0A = 124;                        /* 125 of those */
    for (;;) {
        while (!(TIFR0 & _BV(OCF0A))) { }
        TIFR0 = _BV(OCF0A);
        print_number(read_wire(0));
        if (TWO_WIRES) {
            print_byte(' ');
            print_number(read_wire(1));
        }
        print_byte('\r');
        print_byte('\n');
    }
}
