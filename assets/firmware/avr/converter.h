/* The converter: both wires, and where it is fitted the feed monitor, once a tick. Off, with the
 * external reference selected, until someone names the reference: any other setting shorts a driven
 * reference pin (ATmega328P datasheet 8161D, section 23.9.1). */
#ifndef SW_CONVERTER_H
#define SW_CONVERTER_H

#include <stdint.h>
#include "pins.h" /* SENSES */

/* One tick's readings, 10 bits each. What the high bits hold is said below; they are 0 to begin with
 * but for the feed's, which keep the low six bits of the tick. */
struct sample {
    uint16_t reading[SENSES];   /* by channel */
};
#define SAMPLE_READING 0x03FFu
#define SAMPLE_HIGH_SHIFT 10

/* Places for samples: all but one wait for the main loop, and in that one the next is taken. */
#define SAMPLES_KEPT 16u

void converter_start(void);

/* Names the reference, SW_REFERENCE_… of image.h, and whether the feed monitor is fitted. */
void converter_reference(uint8_t kind, uint8_t feed_monitor);
uint8_t converter_named(void);
uint8_t converter_has_feed(void);

/* Timer 0's interrupt calls this. */
void converter_tick(uint8_t tick);

/* How many samples wait; the one at a place, 0 the oldest; and done with the oldest so many. */
uint8_t converter_waiting(void);
struct sample *converter_sample(uint8_t place);
void converter_done(uint8_t samples);

/* The bandgap as the converter reads it against the supply; 0 where the reference is another, or
 * before it was read. */
uint16_t converter_bandgap(void);

#endif
