/* Frames of the link: see frame.h. A whole frame is shorter than a COBS block can be (254), so a
 * block that is not followed by a zero of the data only ever ends the frame. */
#include "frame.h"

uint16_t sw_crc(uint16_t crc, uint8_t byte)
{
    /* The polynomial is x^16 + x^12 + x^5 + 1: what eight shifts would do to the top byte, at once. */
    uint8_t top = (uint8_t)((uint8_t)(crc >> 8) ^ byte);
    top ^= (uint8_t)(top >> 4);
    return (uint16_t)((uint16_t)(crc << 8) ^ (uint16_t)((uint16_t)top << 12) ^
                      (uint16_t)((uint16_t)top << 5) ^ top);
}

void sw_deframer_start(struct sw_deframer *deframer)
{
    deframer->length = 0;
    deframer->code = 0;
    deframer->zero = 0;
    deframer->bad = 0;
    deframer->ended = 0;
}

static void keep(struct sw_deframer *deframer, uint8_t byte)
{
    if (deframer->length < SW_FRAME_MAX) {
        deframer->frame[deframer->length++] = byte;
    } else {
        deframer->bad = 1;
    }
}

static uint8_t check_holds(const struct sw_deframer *deframer)
{
    uint16_t crc = SW_CRC_START;
    uint8_t end, i;

    if (deframer->length < SW_FRAME_OVERHEAD) {
        return 0;
    }
    end = (uint8_t)(deframer->length - 2u);
    for (i = 0; i < end; i++) {
        crc = sw_crc(crc, deframer->frame[i]);
    }
    return deframer->frame[end] == (uint8_t)crc && deframer->frame[end + 1u] == (uint8_t)(crc >> 8);
}

uint8_t sw_deframer_take(struct sw_deframer *deframer, uint8_t byte)
{
    if (deframer->ended) {
        sw_deframer_start(deframer);
    }
    if (byte == 0) {
        uint8_t begun = deframer->bad || deframer->zero || deframer->code || deframer->length;
        uint8_t whole = !deframer->bad && !deframer->code && check_holds(deframer);
        deframer->ended = 1;
        if (whole) {
            return SW_FRAME_WHOLE;
        }
        return begun ? SW_FRAME_BROKEN : SW_FRAME_NOT_YET;
    }
    if (deframer->bad) {
        return SW_FRAME_NOT_YET;
    }
    if (deframer->code) {
        deframer->code--;
        keep(deframer, byte);
    } else {
        if (deframer->zero) {
            keep(deframer, 0);
        }
        deframer->code = (uint8_t)(byte - 1u);
        deframer->zero = byte != 0xFFu;
    }
    return SW_FRAME_NOT_YET;
}

uint8_t sw_frame_room(uint8_t payload_length)
{
    return (uint8_t)(payload_length + SW_FRAME_OVERHEAD + 2u); /* the first block's code, the zero */
}

/* A frame about to go out: its bytes before COBS, by place. */
struct plain {
    const uint8_t *payload;
    uint16_t crc;
    uint8_t number;
    uint8_t sequence;
    uint8_t length; /* of the payload */
};

static uint8_t plain_byte(const struct plain *plain, uint8_t at)
{
    if (at == 0) {
        return plain->number;
    }
    if (at == 1) {
        return plain->sequence;
    }
    at = (uint8_t)(at - 2u);
    if (at < plain->length) {
        return plain->payload[at];
    }
    return at == plain->length ? (uint8_t)plain->crc : (uint8_t)(plain->crc >> 8);
}

void sw_frame_write(sw_put put, uint8_t number, uint8_t sequence, const uint8_t *payload, uint8_t length)
{
    struct plain plain;
    uint8_t total = (uint8_t)(length + SW_FRAME_OVERHEAD);
    uint8_t at, end;

    plain.payload = payload;
    plain.number = number;
    plain.sequence = sequence;
    plain.length = length;
    plain.crc = SW_CRC_START;
    for (at = 0; at < (uint8_t)(total - 2u); at++) {
        plain.crc = sw_crc(plain.crc, plain_byte(&plain, at));
    }
    at = 0;
    for (;;) {
        end = at;
        while (end < total && plain_byte(&plain, end)) {
            end++;
        }
        put((uint8_t)(end - at + 1u));
        while (at < end) {
            put(plain_byte(&plain, at++));
        }
        if (end == total) {
            break;
        }
        at++; /* the zero that the code stands for */
    }
    put(0);
}
