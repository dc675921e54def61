/* The converter: see converter.h. A tick starts channel 0; each conversion's interrupt starts the
 * next: wire 1, wire 2, feed monitor, and once a second the bandgap, twice, because the first
 * conversion after the switch is not settled. 104 us each. */
#include "converter.h"
#include <avr/interrupt.h>
#include <util/atomic.h>
#include "image.h" /* SW_REFERENCE_… */
#include "pins.h"

#define ENABLE (_BV(ADEN) | _BV(ADIE) | _BV(ADPS2) | _BV(ADPS1) | _BV(ADPS0)) /* 16 MHz / 128 */
#define BANDGAP 14u
#define EVERY_SECOND 1000u
/* A new reference charges its capacitor: samples of so many ticks are thrown away. */
#define SETTLING_TICKS 10u

#define STEP_WIRE_1 0u
#define STEP_WIRE_2 1u
#define STEP_FEED 2u
#define STEP_BANDGAP_FIRST 3u
#define STEP_BANDGAP 4u
#define STEP_IDLE 5u

static struct sample kept[SAMPLES_KEPT];
static volatile uint8_t oldest, waiting;

static uint8_t named, has_feed, by_supply;
static uint8_t select;              /* the reference's bits of ADMUX */
static volatile uint8_t step = STEP_IDLE;
static uint8_t settling;
static uint8_t tick_low;            /* of the sample being taken */
static uint16_t bandgap_in;         /* ticks until it is read */
static volatile uint16_t bandgap;
static uint16_t taken[3];

void converter_start(void)
{
    ADCSRA = 0;
    ADMUX = 0;  /* external reference */
    DIDR0 = _BV(SENSE_WIRE_1) | _BV(SENSE_WIRE_2) | _BV(SENSE_FEED); /* no digital inputs there */
}

void converter_reference(uint8_t kind, uint8_t feed_monitor)
{
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        ADCSRA = 0;
        select = kind == SW_REFERENCE_SUPPLY ? _BV(REFS0) : kind == SW_REFERENCE_INTERNAL ? _BV(REFS1) | _BV(REFS0) : 0;
        ADMUX = select;
        by_supply = kind == SW_REFERENCE_SUPPLY;
        has_feed = feed_monitor;
        bandgap = 0;
        bandgap_in = 1;
        settling = SETTLING_TICKS;
        step = STEP_IDLE;
        oldest = 0;
        waiting = 0;
        named = 1;
        ADCSRA = ENABLE;
    }
}

uint8_t converter_named(void)
{
    return named;
}

uint8_t converter_has_feed(void)
{
    return has_feed;
}

static inline void convert(uint8_t next, uint8_t channel)
{
    step = next;
    ADMUX = select | channel;
    ADCSRA = ENABLE | _BV(ADSC);
}

void converter_tick(uint8_t tick)
{
    if (!named || step != STEP_IDLE) {
        return;
    }
    tick_low = tick;
    convert(STEP_WIRE_1, SENSE_WIRE_1);
}

static inline void keep(void)
{
    if (waiting < SAMPLES_KEPT) {
        struct sample *sample = &kept[(oldest + waiting) % SAMPLES_KEPT];
        sample->wire[0] = taken[STEP_WIRE_1];
        sample->wire[1] = taken[STEP_WIRE_2];
        sample->feed = taken[STEP_FEED] | (uint16_t)((uint16_t)tick_low << SAMPLE_HIGH_SHIFT);
        waiting++;
    }
}

ISR(ADC_vect)
{
    uint16_t reading = ADC;

    if (step <= STEP_FEED) {
        taken[step] = reading;
        if (step == STEP_WIRE_1) {
            convert(STEP_WIRE_2, SENSE_WIRE_2);
            return;
        }
        if (step == STEP_WIRE_2 && has_feed) {
            convert(STEP_FEED, SENSE_FEED);
            return;
        }
        if (settling) {
            settling--;
        } else {
            keep();
        }
        if (by_supply && !settling && --bandgap_in == 0) {
            bandgap_in = EVERY_SECOND;
            convert(STEP_BANDGAP_FIRST, BANDGAP);
            return;
        }
    } else if (step == STEP_BANDGAP_FIRST) {
        convert(STEP_BANDGAP, BANDGAP);
        return;
    } else {
        bandgap = reading;
    }
    step = STEP_IDLE;
}

uint8_t converter_waiting(void)
{
    return waiting;
}

struct sample *converter_sample(uint8_t place)
{
    return &kept[(oldest + place) % SAMPLES_KEPT];
}

void converter_done(uint8_t samples)
{
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        oldest = (oldest + samples) % SAMPLES_KEPT;
        waiting -= samples;
    }
}

uint16_t converter_bandgap(void)
{
    uint16_t reading;

    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        reading = bandgap;
    }
    return reading;
}
