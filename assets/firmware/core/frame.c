/* Frames of the link: see frame.h. A whole frame is shorter than a COBS block can be (254), so each block
 * but the last stands for a zero of the data behind it. */
#include "frame.h"
#include "flash.h"  /* SW_APART */
#include <string.h> /* memcpy */

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

SW_APART static uint16_t crc_of(const uint8_t *bytes, uint8_t length)
{
    uint16_t crc = SW_CRC_START;

    for (; length != 0; length--) {
        crc = sw_crc(crc, *bytes++);
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
    const uint8_t *end = deframer->line + deframer->length; /* the check's last byte */
    uint16_t crc;

    if (deframer->length < SW_FRAME_OVERHEAD) {
        return 0;
    }
    crc = crc_of(deframer->line + 1, (uint8_t)(deframer->length - 2u));
    return end[-1] == (uint8_t)crc && end[0] == (uint8_t)(crc >> 8);
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

void sw_frame_write(sw_put put, uint8_t number, uint8_t sequence, const uint8_t *payload, uint8_t length)
{
    uint8_t line[1u + SW_FRAME_MAX + 1u]; /* the first block's code, the bytes, the zero */
    uint8_t *byte = line + 3 + length;
    uint8_t code = 1;
    uint16_t crc;

    line[1] = number;
    line[2] = sequence;
    memcpy(line + 3, payload, length);
    crc = crc_of(line + 1, (uint8_t)(length + 2u));
    *byte++ = (uint8_t)crc;
    *byte = (uint8_t)(crc >> 8);
    byte[1] = 0;
    /* From the last byte back, each zero becomes the way to the next one: the code of a block. */
    for (; byte != line; byte--) {
        if (*byte == 0) {
            *byte = code;
            code = 0;
        }
        code++;
    }
    *byte = code;
    do {
        put(*byte);
    } while (*byte++ != 0);
}
