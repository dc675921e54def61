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
#include "pulse.h"
#include "reset.h"
#include "samples.h"
#include "sending.h"
#include "store.h"
#include "supply.h"
#include "writing.h"

#define FIRMWARE_MAJOR 1u
#define FIRMWARE_MINOR 0u
#define READ_MAX 64u
#define SLOT_IN_USE 255u
#define ANSWERED_LATER 255u     /* no fault: someone else answers */

static struct {
    uint8_t signature[3];
    uint8_t fuses[4]; /* low, high, extended, lock */
} chip;
static uint8_t restarting;

static uint16_t asked_u16(const struct request *request, uint8_t at)
{
    return request->payload[at] | (uint16_t)((uint16_t)request->payload[at + 1u] << 8);
}

void serve_start(void)
{
    uint8_t booted[4] = {reset_cause(), SW_PROTOCOL, FIRMWARE_MAJOR, FIRMWARE_MINOR};
    uint8_t i;

    for (i = 0; i < sizeof chip.fuses; i++) {
        static const uint8_t places[] PROGMEM = {GET_LOW_FUSE_BITS, GET_HIGH_FUSE_BITS, GET_EXTENDED_FUSE_BITS,
                                                 GET_LOCK_BITS};
        chip.fuses[i] = boot_lock_fuse_bits_get(pgm_read_byte(&places[i]));
    }
    for (i = 0; i < sizeof chip.signature; i++) {
        chip.signature[i] = boot_signature_byte_get(2u * i);
    }
    link_tell(SW_BOOTED, booted, sizeof booted);
}

/* The identity as it lies in memory: the chip's byte order is the link's, and nothing is padded. */
struct identity {
    uint8_t protocol;
    uint8_t firmware[2];
    uint8_t signature[3];
    uint8_t flags;
    uint8_t fuses[4];           /* low, high, extended, lock */
    uint8_t buttons, pairs, commands;
    uint16_t body_max;
    uint8_t payload_max;
    uint16_t converter_top;
    uint16_t sample_hz;
    uint8_t capture_edges;
    uint16_t capture_step_ns;
    uint16_t pulse_step_ns;
    uint16_t least_pulse_us;
    uint8_t rates;
    uint8_t slot;
    uint8_t slot_sequence;
    uint16_t slot_length;
    uint16_t slot_check;
    uint16_t supply_mv;
    uint8_t reset_cause;
};
#define HAS_IMAGE 1u
#define HAS_DAMAGE 2u
#define REFERENCE_NAMED 4u
#define CALIBRATED 8u

/* An answer as it is put together, the fault first. */
struct answer {
    uint8_t length;
    union {
        uint8_t bytes[LINK_REPLY_MAX];
        struct {
            uint8_t fault;
            struct identity identity;
        } identified;
    } as;
};

/* What of the identity never changes. */
static const struct identity fixed PROGMEM = {
    .protocol = SW_PROTOCOL,
    .firmware = {FIRMWARE_MAJOR, FIRMWARE_MINOR},
    .buttons = SW_BUTTONS_MAX,
    .pairs = SW_PAIRS_MAX,
    .commands = SW_COMMANDS_MAX,
    .body_max = SW_BODY_MAX,
    .payload_max = SW_PAYLOAD_MAX,
    .converter_top = SW_COUNT_TOP,
    .sample_hz = SW_TICKS_PER_S,
    .capture_edges = SW_CAPTURE_EDGES,
    .capture_step_ns = SW_CAPTURE_STEP_US * 1000u,
    .pulse_step_ns = 1000u / SW_TICKS_PER_US,
    .least_pulse_us = SW_LEAST_PULSE_US,
    .rates = 1u << LINK_115200 | 1u << LINK_500000,
};

static uint8_t identify(struct answer *answer)
{
    struct identity *identity = &answer->as.identified.identity;

    answer->length = 1 + sizeof *identity;
    memcpy_P(identity, &fixed, sizeof *identity);
    memcpy(identity->signature, chip.signature, sizeof chip.signature);
    memcpy(identity->fuses, chip.fuses, sizeof chip.fuses);
    identity->slot = box.slot_number; /* SW_NO_SLOT is 255 */
    if (box_has_image()) {
        identity->flags = HAS_IMAGE;
        identity->slot_sequence = box.slot.sequence;
        identity->slot_length = box.slot.length;
        identity->slot_check = box.slot.check;
    }
    if (box.damaged) {
        identity->flags |= HAS_DAMAGE;
    }
    if (converter_named()) {
        identity->flags |= REFERENCE_NAMED;
    }
    if (supply_calibrated()) {
        identity->flags |= CALIBRATED;
    }
    identity->supply_mv = supply_mv();
    identity->reset_cause = reset_cause();
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
    answer->as.bytes[1] = slot;
    memcpy(answer->as.bytes + 2, request->payload + 1, 2);
    if (slot) {
        offset += SW_SLOT_BYTES;
    }
    for (i = 0; i < count; i++) {
        answer->as.bytes[4 + i] = store_read(offset++);
    }
    answer->length = 4 + count;
    return SW_FAULT_NONE;
}

static uint8_t tell_counters(struct answer *answer)
{
    uint32_t up_ms = clock_ticks();

    memcpy(answer->as.bytes + 1, &up_ms, sizeof up_ms);
    memcpy(answer->as.bytes + 1 + sizeof up_ms, &counters, sizeof counters);
    answer->length = 1 + sizeof up_ms + sizeof counters;
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
    answer.as.bytes[0] = SW_FAULT_NONE;
    answer.length = 1;
    fault = serve(&request, &answer);
    if (fault == ANSWERED_LATER) {
        return;
    }
    if (fault != SW_FAULT_NONE) {
        answer.as.bytes[0] = fault;
        answer.length = 1;
    }
    link_reply(request.number, request.sequence, answer.as.bytes, answer.length);
}
