/* What becomes of a sample: it is recognised, and streamed. */
#ifndef SW_SAMPLES_H
#define SW_SAMPLES_H

#include <stdint.h>

/* Names the converter's reference, SW_REFERENCE_… of image.h. */
void samples_reference(uint8_t kind, uint8_t feed_monitor);
/* Forgets what waits and what was being recognised. */
void samples_restart(void);

void samples_stream(uint8_t on);
uint8_t samples_streaming(void);
/* Whether decisions are told. */
void samples_watch(uint8_t on);

/* Once a turn of the main loop. */
void samples_turn(void);

#endif
