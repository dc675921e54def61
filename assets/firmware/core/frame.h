/* Frames of the link: COBS (Cheshire and Baker, 1999) with a zero after each, and in it message
 * number, sequence, payload, CRC-16 (polynomial 1021, start FFFF, low byte first). */
#ifndef SW_FRAME_H
#define SW_FRAME_H

#include <stdint.h>
#include "limits.h"

#define SW_FRAME_OVERHEAD 4u                                    /* number, sequence, CRC */
#define SW_FRAME_MAX (SW_PAYLOAD_MAX + SW_FRAME_OVERHEAD)       /* before COBS */

/* CRC-16 (IBM 3740 in the CRC catalogue: "123456789" gives 29B1), a byte at a time. */
#define SW_CRC_START 0xFFFFu
uint16_t sw_crc(uint16_t crc, uint8_t byte);

/* Takes bytes of the link one at a time, up to a zero; then decodes them in place. */
struct sw_deframer {
    uint8_t length;     /* bytes taken; once decoded without the first code */
    uint8_t ended;      /* the frame stands: the next byte begins another */
    uint8_t line[1u + SW_FRAME_MAX + 1u]; /* the first block's code, then the frame; full: too long */
};
void sw_deframer_start(struct sw_deframer *deframer);
#define SW_FRAME_NOT_YET 0u
#define SW_FRAME_WHOLE 1u
#define SW_FRAME_BROKEN 2u
/* After SW_FRAME_WHOLE: line[1] is the number, line[2] the sequence, then length - 4 bytes of payload. */
uint8_t sw_deframer_take(struct sw_deframer *deframer, uint8_t byte);

/* Bytes of a payload's frame, the first block's code and the zero after it included. */
uint8_t sw_frame_room(uint8_t payload_length);
/* Writes a frame into a ring, from a place on; gives the place behind it. `frame` holds number, sequence
 * and payload, and has room for the CRC. Whoever calls has made room for sw_frame_room bytes. */
#define SW_FRAME_RING 128u
uint8_t sw_frame_write(uint8_t *ring, uint8_t at, uint8_t *frame, uint8_t payload_length);

#endif
