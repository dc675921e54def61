/* Writing an image, or the calibration: the messages that end only when the memory has taken their
 * bytes, and answer then. */
#ifndef SW_WRITING_H
#define SW_WRITING_H

#include <stdint.h>
#include "link.h" /* struct request */

/* Whether an image is being written: recognising pauses, and the line is released. */
uint8_t writing_runs(void);
/* Whether the memory is at work, and can't be read without a wait. */
uint8_t writing_busy(void);
/* Whether the memory did not keep what was written last. */
uint8_t writing_failed(void);

/* Each takes its message and gives a fault, which is then the answer; or SW_FAULT_NONE, and the answer
 * comes by itself. */
uint8_t writing_begin(const struct request *request);
uint8_t writing_data(const struct request *request);
uint8_t writing_end(const struct request *request);
uint8_t writing_calibrate(const struct request *request);

/* Once a turn of the main loop. */
void writing_turn(void);

#endif
