/* The link: bytes through rings, frames of frame.h on top, and the change of rate. */
#ifndef SW_LINK_H
#define SW_LINK_H

#include <stdint.h>

void link_start(void);

/* Once a turn of the main loop: carries out a change of rate, and goes back to the slow rate when it
 * has been quiet for too long. */
void link_turn(void);

/* A request that has come whole; it stands until the next call. */
struct request {
    const uint8_t *payload;
    uint8_t length;
    uint8_t number;
    uint8_t sequence;
};
/* Gives 1 if there is one. Takes none while there is no room for the longest reply. */
uint8_t link_request(struct request *out);

/* The longest payload of a reply, its fault included. */
#define LINK_REPLY_MAX 68u

/* Answers: `payload` begins with the fault, and after a fault that is all. */
void link_reply(uint8_t number, uint8_t sequence, const void *payload, uint8_t length);

/* Whether an event with so long a payload has room now. */
uint8_t link_has_room(uint8_t length);

/* Tells an event, or drops it whole and counts it. Gives 1 if it went. */
uint8_t link_tell(uint8_t number, const void *payload, uint8_t length);

/* Bits per second as the protocol numbers them. */
#define LINK_115200 0u
#define LINK_500000 1u
/* Changes the rate once all that waits has gone out. */
void link_rate(uint8_t rate);

/* Whether all that was to go out has left the pin. */
uint8_t link_quiet(void);

#endif
