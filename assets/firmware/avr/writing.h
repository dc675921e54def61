/* Writing an image, or the calibration: the messages that end only when the memory has taken their
 * bytes, and answer then. */
#ifndef SW_WRITING_H
#define SW_WRITING_H

#include <stdint.h>
#include "link.h" /* struct head */

/* Whether an image is being written: recognising pauses, and the line is released. */
uint8_t writing_runs(void);
/* Whether the memory is at work, and can't be read without a wait. */
uint8_t writing_busy(void);
/* Whether the memory did not keep what was written last. */
uint8_t writing_failed(void);

/* The messages. The memory is not busy; the payload is as long as it should be, but for the bytes of
 * `writing_data`, behind their offset. Each gives a fault, which is then the answer; or WRITING_ANSWERS. */
#define WRITING_ANSWERS 255u
#define WRITING_DATA_MAX 64u
uint8_t writing_begin(uint8_t *payload);
uint8_t writing_data(const uint8_t *payload, uint8_t bytes);
uint8_t writing_end(uint8_t *payload);
uint8_t writing_calibrate(uint8_t *payload);
/* This message gave WRITING_ANSWERS: it is answered when its bytes are stored. */
void writing_owes(const struct head *head);

/* Once a turn of the main loop. */
void writing_turn(void);

#endif
