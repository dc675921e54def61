/* The receiver: a remote's marks and spaces by Timer 1 input capture, in steps of 2 us. */
#ifndef SW_CAPTURE_H
#define SW_CAPTURE_H

#include <stdint.h>

void capture_start(void);
void capture_listen(uint8_t on);
uint8_t capture_listening(void);

/* Once a turn of the main loop: tells what was captured, in parts. */
void capture_turn(void);

#endif
