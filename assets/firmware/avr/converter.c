/* The converter: see converter.h. A tick starts channel 0; each conversion's interrupt starts the
 * next: wire 1, wire 2, feed monitor (fitted or not), and four times a second the bandgap, twice,
 * because the first conversion after the switch is not settled. 104 us each, 520 us at most. */
#include "converter.h"
#include <avr/interrupt.h>
#include <util/atomic.h>
#include "flash.h" /* SW_APART */
#include "image.h" /* SW_REFERENCE_… */
#include "near.h"
#include "pins.h"

#define ENABLE (_BV(ADEN) | _BV(ADIE) | _BV(ADPS2) | _BV(ADPS1) | _BV(ADPS0)) /* 16 MHz / 128 */
#define BY_SUPPLY _BV(REFS0)
#define BANDGAP 14u
/* A new reference charges its capacitor: samples of so many ticks are thrown away. */
#define SETTLING_TICKS 10u

static struct kept {
    uint16_t *to;           /* where the conversion that runs goes */
    uint16_t bandgap[2];    /* the second is settled */
    uint8_t bandgap_in;     /* ticks until it is read; then every 256 */
    uint8_t oldest;
    uint8_t waiting;
    uint8_t at;             /* the conversion that runs */
    uint8_t end;            /* how many there are in this tick */
    uint8_t has_feed;
    uint8_t select;         /* the reference's bits of ADMUX */
    uint8_t settling;
    uint8_t tick_low;       /* of the sample being taken */
    struct sample kept[SAMPLES_KEPT];
} state;
#define BANDGAP_TWICE 2u

void converter_start(void)
{
    ADCSRA = 0;
    ADMUX = 0;  /* external reference */
    DIDR0 = _BV(SENSE_WIRE_1) | _BV(SENSE_WIRE_2) | _BV(SENSE_FEED); /* no digital inputs there */
}

void converter_reference(uint8_t kind, uint8_t feed_monitor)
{
    struct kept *my = near(&state);

    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        ADCSRA = 0;
        my->select = kind == SW_REFERENCE_SUPPLY     ? BY_SUPPLY
                     : kind == SW_REFERENCE_INTERNAL ? _BV(REFS1) | _BV(REFS0)
                                                     : 0;
        ADMUX = my->select;
        my->has_feed = feed_monitor;
        my->bandgap[1] = 0;
        my->bandgap_in = SETTLING_TICKS;
        my->settling = SETTLING_TICKS;
        my->oldest = 0;
        my->waiting = 0;
        ADCSRA = ENABLE;
    }
}

uint8_t converter_named(void)
{
    return ADCSRA & _BV(ADEN);
}

uint8_t converter_has_feed(void)
{
    return state.has_feed;
}

static inline void convert(struct kept *my, uint8_t at)
{
    my->at = at;
    ADMUX = my->select | (at < SENSES ? at : BANDGAP);
    ADCSRA = ENABLE | _BV(ADSC);
}

void converter_tick(uint8_t tick)
{
    struct kept *my = near(&state);

    if (ADCSRA != ENABLE) { /* off, or a conversion runs or has not been taken */
        return;
    }
    my->tick_low = tick;
    my->end = SENSES;
    if (my->select == BY_SUPPLY && --my->bandgap_in == 0) {
        my->end = SENSES + BANDGAP_TWICE;
    }
    my->to = my->kept[(uint8_t)(my->oldest + my->waiting) % SAMPLES_KEPT].reading;
    convert(my, 0);
}

ISR(ADC_vect)
{
    struct kept *my = near(&state);
    uint16_t reading = ADC;
    uint8_t at = my->at;

    if (at == SENSE_FEED) {
        reading |= (uint16_t)((uint16_t)my->tick_low << SAMPLE_HIGH_SHIFT);
    }
    *my->to++ = reading;
    at++;
    if (at == SENSES) {
        my->to = my->bandgap;
    }
    if (at != my->end) {
        convert(my, at);
        return;
    }
    if (my->settling) {
        my->settling--;
    } else if (my->waiting < SAMPLES_KEPT - 1u) {
        my->waiting++;
    }
}

uint8_t converter_waiting(void)
{
    return state.waiting;
}

SW_APART struct sample *converter_sample(uint8_t place)
{
    return &state.kept[(uint8_t)(state.oldest + place) % SAMPLES_KEPT];
}

void converter_done(uint8_t samples)
{
    volatile struct kept *my = near(&state);

    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        my->oldest = (my->oldest + samples) % SAMPLES_KEPT;
        my->waiting -= samples;
    }
}

uint16_t converter_bandgap(void)
{
    uint16_t reading;

    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        reading = state.bandgap[1];
    }
    return reading;
}
