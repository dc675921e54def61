/* Answers the laptop: see serve.h. The layouts are written down in DEVELOPERS.md, "The link". */
#include "serve.h"
#include <avr/boot.h>
#include <avr/pgmspace.h>
#include <string.h>   /* memcpy */
#include "box.h"
#include "capture.h"
#include "clock.h"
#include "converter.h"
#include "counters.h"
#include "limits.h"
#include "link.h"
#include "messages.h"
#include "reset.h"
#include "samples.h"
#include "sending.h"
#include "store.h"
#include "supply.h"
#include "writing.h"

#define FIRMWARE_MAJOR 1u
#define FIRMWARE_MINOR 0u
#define PULSE_STEP_NS 500u
#define CAPTURE_STEP_NS (SW_CAPTURE_STEP_US * 1000u)
#define BOTH_RATES (1u << LINK_115200 | 1u << LINK_500000)
#define READ_MAX 64u
#define SLOT_IN_USE 255u
#define ANSWERED_LATER 255u     /* no fault: someone else answers */

static struct {
    uint8_t signature[3];
    uint8_t fuses[4]; /* low, high, extended, lock */
} chip;
static uint8_t restarting;

/* An answer as it is put together, the fault first. */
struct answer {
    uint8_t length;
    uint8_t bytes[LINK_REPLY_MAX];
};

static void u8(struct answer *answer, uint8_t value)
{
    answer->bytes[answer->length++] = value;
}

static void u16(struct answer *answer, uint16_t value)
{
    u8(answer, (uint8_t)value);
    u8(answer, (uint8_t)(value >> 8));
}

static void u32(struct answer *answer, uint32_t value)
{
    u16(answer, (uint16_t)value);
    u16(answer, (uint16_t)(value >> 16));
}

static uint16_t asked_u16(const struct request *request, uint8_t at)
{
    return request->payload[at] | (uint16_t)((uint16_t)request->payload[at + 1u] << 8);
}

void serve_start(void)
{
    uint8_t booted[4] = {reset_cause(), SW_PROTOCOL, FIRMWARE_MAJOR, FIRMWARE_MINOR};
    uint8_t i;

    chip.fuses[0] = boot_lock_fuse_bits_get(GET_LOW_FUSE_BITS);
    chip.fuses[1] = boot_lock_fuse_bits_get(GET_HIGH_FUSE_BITS);
    chip.fuses[2] = boot_lock_fuse_bits_get(GET_EXTENDED_FUSE_BITS);
    chip.fuses[3] = boot_lock_fuse_bits_get(GET_LOCK_BITS);
    for (i = 0; i < sizeof chip.signature; i++) {
        chip.signature[i] = boot_signature_byte_get(2u * i);
    }
    link_tell(SW_BOOTED, booted, sizeof booted);
}

/* What the laptop must not assume, in the order of the message. */
#define LOW_HIGH(value) (uint8_t)(value), (uint8_t)((value) >> 8)
static const uint8_t limits[] PROGMEM = {
    SW_BUTTONS_MAX, SW_PAIRS_MAX, SW_COMMANDS_MAX,
    LOW_HIGH(SW_BODY_MAX), SW_PAYLOAD_MAX,
    LOW_HIGH(SW_COUNT_TOP), LOW_HIGH(SW_TICKS_PER_S),
    SW_CAPTURE_EDGES, LOW_HIGH(CAPTURE_STEP_NS),
    LOW_HIGH(PULSE_STEP_NS), LOW_HIGH(SW_LEAST_PULSE_US),
    BOTH_RATES,
};

static void put(struct answer *answer, const void *bytes, uint8_t count)
{
    memcpy(answer->bytes + answer->length, bytes, count);
    answer->length += count;
}

static uint8_t identify(struct answer *answer)
{
    uint8_t flags = (box.damaged ? 2 : 0) | (converter_named() ? 4 : 0) | (supply_calibrated() ? 8 : 0);
    struct sw_slot slot = box.slot;

    if (box_has_image()) {
        flags |= 1;
    } else {
        memset(&slot, 0, sizeof slot);
    }
    u8(answer, SW_PROTOCOL);
    u8(answer, FIRMWARE_MAJOR);
    u8(answer, FIRMWARE_MINOR);
    put(answer, chip.signature, sizeof chip.signature);
    u8(answer, flags);
    put(answer, chip.fuses, sizeof chip.fuses);
    memcpy_P(answer->bytes + answer->length, limits, sizeof limits);
    answer->length += sizeof limits;
    u8(answer, box.slot_number); /* SW_NO_SLOT is 255 */
    u8(answer, slot.sequence);
    u16(answer, slot.length);
    u16(answer, slot.check);
    u16(answer, supply_mv());
    u8(answer, reset_cause());
    return SW_FAULT_NONE;
}

/* A message of one byte that is 0 or 1. */
static uint8_t on_or_off(const struct request *request, void (*set)(uint8_t on))
{
    if (request->length != 1) {
        return SW_FAULT_LENGTH;
    }
    if (request->payload[0] > 1) {
        return SW_FAULT_VALUE;
    }
    set(request->payload[0]);
    return SW_FAULT_NONE;
}

static uint8_t stream(const struct request *request)
{
    if (request->length == 1 && request->payload[0] == 1 && !converter_named()) {
        return SW_FAULT_REFERENCE;
    }
    return on_or_off(request, samples_stream);
}

static uint8_t reference(const struct request *request)
{
    if (request->length != 2) {
        return SW_FAULT_LENGTH;
    }
    if (request->payload[0] > SW_REFERENCE_EXTERNAL || request->payload[1] > 1) {
        return SW_FAULT_VALUE;
    }
    samples_reference(request->payload[0], request->payload[1]);
    return SW_FAULT_NONE;
}

static uint8_t send(const struct request *request)
{
    if (request->length == 0) {
        sending_finish();
        return SW_FAULT_NONE;
    }
    if (request->length < 4) {
        return SW_FAULT_LENGTH;
    }
    if (request->payload[2] > 1) {
        return SW_FAULT_VALUE;
    }
    if (writing_busy() || writing_runs()) {
        return SW_FAULT_BUSY;
    }
    return sending_ask(asked_u16(request, 0), request->payload[2], request->payload + 3, request->length - 3);
}

static uint8_t read(const struct request *request, struct answer *answer)
{
    uint8_t slot, count, i;
    uint16_t offset;

    if (request->length != 4) {
        return SW_FAULT_LENGTH;
    }
    slot = request->payload[0];
    offset = asked_u16(request, 1);
    count = request->payload[3];
    if (slot == SLOT_IN_USE) {
        if (!box_has_image()) {
            return SW_FAULT_NO_IMAGE;
        }
        slot = box.slot_number;
    }
    if (slot > 1 || count == 0 || count > READ_MAX || offset > SW_SLOT_BYTES - count) {
        return SW_FAULT_VALUE;
    }
    if (writing_busy()) {
        return SW_FAULT_BUSY;
    }
    u8(answer, slot);
    u16(answer, offset);
    for (i = 0; i < count; i++) {
        u8(answer, store_read((slot ? SW_SLOT_BYTES : 0) + offset + i));
    }
    return SW_FAULT_NONE;
}

static uint8_t tell_counters(struct answer *answer)
{
    u32(answer, clock_ticks());
    put(answer, &counters, sizeof counters);
    return SW_FAULT_NONE;
}

static uint8_t without_payload(const struct request *request, struct answer *answer,
                               uint8_t (*serve)(struct answer *answer))
{
    return request->length == 0 ? serve(answer) : SW_FAULT_LENGTH;
}

static uint8_t restart(struct answer *answer)
{
    (void)answer;
    sending_stop();
    restarting = 1;
    return SW_FAULT_NONE;
}

static uint8_t later(uint8_t fault)
{
    return fault == SW_FAULT_NONE ? ANSWERED_LATER : fault;
}

static uint8_t serve(const struct request *request, struct answer *answer)
{
    switch (request->number) {
    case SW_IDENTIFY:
        return without_payload(request, answer, identify);
    case SW_STREAM:
        return stream(request);
    case SW_REFERENCE:
        return reference(request);
    case SW_LISTEN:
        return on_or_off(request, capture_listen);
    case SW_SEND:
        return send(request);
    case SW_WRITE_BEGIN:
        return later(writing_begin(request));
    case SW_WRITE_DATA:
        return later(writing_data(request));
    case SW_WRITE_END:
        return later(writing_end(request));
    case SW_READ:
        return read(request, answer);
    case SW_WATCH:
        return on_or_off(request, samples_watch);
    case SW_COUNTERS:
        return without_payload(request, answer, tell_counters);
    case SW_RATE:
        return on_or_off(request, link_rate);
    case SW_CALIBRATE:
        return later(writing_calibrate(request));
    case SW_RESTART:
        return without_payload(request, answer, restart);
    default:
        return SW_FAULT_UNKNOWN;
    }
}

void serve_turn(void)
{
    struct request request;
    struct answer answer; /* on the stack: memory is short */
    uint8_t fault;

    if (restarting) {
        if (link_quiet()) {
            reset_now();
        }
        return;
    }
    /* A number with SW_REPLY is an answer: this box hears itself, and had better not answer that. */
    if (!link_request(&request) || request.number & SW_REPLY) {
        return;
    }
    answer.bytes[0] = SW_FAULT_NONE;
    answer.length = 1;
    fault = serve(&request, &answer);
    if (fault == ANSWERED_LATER) {
        return;
    }
    if (fault != SW_FAULT_NONE) {
        answer.bytes[0] = fault;
        answer.length = 1;
    }
    link_reply(request.number, request.sequence, answer.bytes, answer.length);
}
