/* Frames of the link: see frame.h. A whole frame is shorter than a COBS block can be (254), so each block
 * but the last stands for a zero of the data behind it. */
#include "frame.h"

uint16_t sw_crc(uint16_t crc, uint8_t byte)
{
    uint8_t bit;

    crc ^= (uint16_t)((uint16_t)byte << 8);
    for (bit = 8; bit != 0; bit--) {
        uint8_t carry = (crc & 0x8000u) != 0;
        crc = (uint16_t)(crc << 1);
        if (carry) {
            crc ^= 0x1021u;
        }
    }
    return crc;
}

void sw_deframer_start(struct sw_deframer *deframer)
{
    deframer->length = 0;
    deframer->ended = 0;
}

/* Each block's code says how far it is to the next one's, and stands for a zero of the frame. Gives 1
 * if the last of them points just behind the end. */
static uint8_t decode(struct sw_deframer *deframer)
{
    uint16_t at = 0;

    do {
        uint8_t code = deframer->line[at];
        deframer->line[at] = 0;
        at = (uint16_t)(at + code);
    } while (at < deframer->length);
    return at == deframer->length;
}

static uint8_t check_holds(const struct sw_deframer *deframer)
{
    const uint8_t *byte = deframer->line + 1;
    uint16_t crc = SW_CRC_START;
    uint8_t left;

    if (deframer->length < SW_FRAME_OVERHEAD) {
        return 0;
    }
    for (left = (uint8_t)(deframer->length - 2u); left != 0; left--) {
        crc = sw_crc(crc, *byte++);
    }
    return byte[0] == (uint8_t)crc && byte[1] == (uint8_t)(crc >> 8);
}

uint8_t sw_deframer_take(struct sw_deframer *deframer, uint8_t byte)
{
    uint8_t whole;

    if (deframer->ended) {
        sw_deframer_start(deframer);
    }
    if (byte != 0) {
        if (deframer->length < sizeof deframer->line) {
            deframer->line[deframer->length++] = byte;
        }
        return SW_FRAME_NOT_YET;
    }
    deframer->ended = 1;
    if (deframer->length == 0) {
        return SW_FRAME_NOT_YET;
    }
    whole = deframer->length < sizeof deframer->line && decode(deframer);
    deframer->length--;
    return whole && check_holds(deframer) ? SW_FRAME_WHOLE : SW_FRAME_BROKEN;
}

uint8_t sw_frame_room(uint8_t payload_length)
{
    return (uint8_t)(payload_length + SW_FRAME_OVERHEAD + 2u); /* the first block's code, the zero */
}

uint8_t sw_frame_write(uint8_t *ring, uint8_t at, uint8_t *frame, uint8_t payload_length)
{
    uint16_t crc = SW_CRC_START;
    uint8_t left = (uint8_t)(payload_length + SW_FRAME_OVERHEAD);
    uint8_t code = at;      /* where a block's code goes, which is known when the block ends */

    do {
        uint8_t byte = 0;   /* behind all the others: it ends the frame */

        if (left == 2) {
            frame[0] = (uint8_t)crc;
            frame[1] = (uint8_t)(crc >> 8);
        }
        if (left) {
            byte = *frame++;
        }
        crc = sw_crc(crc, byte);
        at = (uint8_t)(at + 1u) % SW_FRAME_RING;
        ring[at] = byte;
        if (byte == 0) {
            ring[code] = (uint8_t)(at - code) % SW_FRAME_RING;
            code = at;
        }
    } while (left--);
    return (uint8_t)(at + 1u) % SW_FRAME_RING;
}
