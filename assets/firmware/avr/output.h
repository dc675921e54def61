/* The output: one frame's edges by Timer 1 compare, to the half microsecond whatever the interrupts do,
 * then the gap to the next frame. Idle is low: the transistor is off and the line released. */
#ifndef SW_OUTPUT_H
#define SW_OUTPUT_H

#include <stdint.h>
#include "pulse.h"

/* The frame that goes out. Only to be written while output_wants says so. */
extern struct sw_frame output_frame;

void output_start(void);

/* Whether the next frame should be planned now: nothing goes out, or the gap behind the last frame is
 * about to end. */
uint8_t output_wants(void);

/* Sends output_frame: now, or when the gap ends. `infrared`: the LED's carrier, too. */
void output_send(uint8_t infrared);

/* Releases the line at once. */
void output_release(void);

#endif
