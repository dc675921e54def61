/* The link: bytes through rings, frames of frame.h on top, and the change of rate. */
#ifndef SW_LINK_H
#define SW_LINK_H

#include <stdint.h>

void link_start(void);

/* Once a turn of the main loop: carries out a change of rate, and goes back to the slow rate when it
 * has been quiet for too long. */
void link_turn(void);

/* A message as it lies in memory, going or coming. Whatever is laid out to be sent begins with a head, and
 * ends with LINK_CHECK bytes, or more, for a check. */
struct head {
    uint8_t number;
    uint8_t sequence;
};
struct message {
    struct head head;
    uint8_t payload[];
};
#define LINK_CHECK 2u

/* A request that has come whole, or a null pointer; takes none while there is no room for the longest
 * reply. It stands until the next call, and the reply may be laid out in its place. */
struct message *link_request(uint8_t *payload_length);

/* The longest payload of a reply, its fault included. */
#define LINK_REPLY_MAX 68u

/* Answers: the head is the request's; the payload begins with the fault, and after a fault that is all.
 * There is room: a request was just taken, or link_has_room has said so. */
void link_reply(void *message, uint8_t payload_length);

/* Whether an event with so long a payload has room now. */
uint8_t link_has_room(uint8_t payload_length);

/* Tells an event, whose head this fills, or drops it whole and counts it. */
void link_tell(uint8_t number, void *message, uint8_t payload_length);

/* Bits per second as the protocol numbers them. */
#define LINK_115200 0u
#define LINK_500000 1u
/* Changes the rate once all that waits has gone out. */
void link_rate(uint8_t rate);

/* Whether all that was to go out has left the pin. */
uint8_t link_quiet(void);

#endif
