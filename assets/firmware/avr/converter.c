/* The converter: see converter.h. A tick starts channel 0; each conversion's interrupt starts the
 * next: wire 1, wire 2, feed monitor (fitted or not), and once a second the bandgap, twice, because
 * the first conversion after the switch is not settled. 104 us each, 520 us at most. */
#include "converter.h"
#include <avr/interrupt.h>
#include <util/atomic.h>
#include "image.h" /* SW_REFERENCE_… */
#include "near.h"
#include "pins.h"

#define ENABLE (_BV(ADEN) | _BV(ADIE) | _BV(ADPS2) | _BV(ADPS1) | _BV(ADPS0)) /* 16 MHz / 128 */
#define BANDGAP 14u
#define EVERY_SECOND 1000u
/* A new reference charges its capacitor: samples of so many ticks are thrown away. */
#define SETTLING_TICKS 10u

#define BANDGAP_TWICE 2u

static struct kept {
    uint16_t taken[SENSES + BANDGAP_TWICE];
    uint16_t bandgap;
    uint16_t bandgap_in;    /* ticks until it is read */
    uint8_t oldest;
    uint8_t waiting;
    uint8_t at;             /* the conversion that runs */
    uint8_t end;            /* how many there are in this tick; 0: none runs */
    uint8_t named;
    uint8_t has_feed;
    uint8_t by_supply;
    uint8_t select;         /* the reference's bits of ADMUX */
    uint8_t settling;
    uint8_t tick_low;       /* of the sample being taken */
    struct sample kept[SAMPLES_KEPT];   /* for the main loop */
} state;

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
        my->select = kind == SW_REFERENCE_SUPPLY     ? _BV(REFS0)
                     : kind == SW_REFERENCE_INTERNAL ? _BV(REFS1) | _BV(REFS0)
                                                     : 0;
        ADMUX = my->select;
        my->by_supply = kind == SW_REFERENCE_SUPPLY;
        my->has_feed = feed_monitor;
        my->bandgap = 0;
        my->bandgap_in = SETTLING_TICKS;
        my->settling = SETTLING_TICKS;
        my->end = 0;
        my->oldest = 0;
        my->waiting = 0;
        my->named = 1;
        ADCSRA = ENABLE;
    }
}

uint8_t converter_named(void)
{
    return state.named;
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

    if (!my->named || my->end) {
        return;
    }
    my->tick_low = tick;
    my->end = SENSES;
    if (my->by_supply && --my->bandgap_in == 0) {
        my->bandgap_in = EVERY_SECOND;
        my->end = SENSES + BANDGAP_TWICE;
    }
    convert(my, 0);
}

static inline void keep(struct kept *my)
{
    if (my->settling) {
        my->settling--;
    } else if (my->waiting < SAMPLES_KEPT) {
        struct sample *sample = &my->kept[(my->oldest + my->waiting) % SAMPLES_KEPT];
        sample->wire[0] = my->taken[SENSE_WIRE_1];
        sample->wire[1] = my->taken[SENSE_WIRE_2];
        sample->feed = my->taken[SENSE_FEED] | (uint16_t)((uint16_t)my->tick_low << SAMPLE_HIGH_SHIFT);
        my->waiting++;
    }
}

ISR(ADC_vect)
{
    struct kept *my = near(&state);
    uint8_t at = my->at;

    my->taken[at] = ADC;
    at++;
    if (at != my->end) {
        convert(my, at);
        return;
    }
    if (at > SENSES) {
        my->bandgap = my->taken[SENSES + BANDGAP_TWICE - 1u];
    }
    my->end = 0;
    keep(my);
}

uint8_t converter_waiting(void)
{
    return state.waiting;
}

struct sample *converter_sample(uint8_t place)
{
    return &state.kept[(state.oldest + place) % SAMPLES_KEPT];
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
        reading = state.bandgap;
    }
    return reading;
}
