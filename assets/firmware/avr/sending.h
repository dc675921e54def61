/* Sending: from gestures, or a code tried over the link, to frames on the output. */
#ifndef SW_SENDING_H
#define SW_SENDING_H

#include <stdint.h>
#include "recogniser.h"

/* Takes what the recogniser said; gives the command that asks for, or SW_NO_COMMAND. */
uint8_t sending_event(const struct sw_event *event);

/* A code over the link: one record of the image's layout, held for so long. Gives a fault. */
uint8_t sending_ask(uint16_t held_ms, uint8_t toggle, const uint8_t *record, uint8_t length);
/* No further frame begins; the one going out ends as it should. */
void sending_finish(void);
/* Releases the line at once, and forgets everything. The program starts with it, too: box_look. */
void sending_stop(void);

/* Once a turn of the main loop. */
void sending_turn(void);

#endif
