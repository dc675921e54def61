/* Answers the laptop: see serve.h. The layouts are written down in DEVELOPERS.md, "The link". */
#include "serve.h"
#include <avr/boot.h>
#include <avr/interrupt.h>
#include <string.h>   /* memcpy */
#include "box.h"
#include "capture.h"
#include "clock.h"
#include "converter.h"
#include "counters.h"
#include "limits.h"
#include "link.h"
#include "messages.h"
#include "output.h"
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

static uint8_t signature[3];
static uint8_t fuses[4];
static uint8_t restarting;

/* An answer as it is put together, the fault first. */
static uint8_t *answer;
static uint8_t answer_length;

static void u8(uint8_t value)
{
    answer[answer_length++] = value;
}

static void u16(uint16_t value)
{
    u8((uint8_t)value);
    u8((uint8_t)(value >> 8));
}

static void u32(uint32_t value)
{
    u16((uint16_t)value);
    u16((uint16_t)(value >> 16));
}

static uint16_t asked_u16(const struct request *request, uint8_t at)
{
    return request->payload[at] | (uint16_t)((uint16_t)request->payload[at + 1u] << 8);
}

void serve_start(void)
{
    uint8_t booted[4] = {reset_cause(), SW_PROTOCOL, FIRMWARE_MAJOR, FIRMWARE_MINOR};
    uint8_t i;

    fuses[0] = boot_lock_fuse_bits_get(GET_LOW_FUSE_BITS);
    fuses[1] = boot_lock_fuse_bits_get(GET_HIGH_FUSE_BITS);
    fuses[2] = boot_lock_fuse_bits_get(GET_EXTENDED_FUSE_BITS);
    fuses[3] = boot_lock_fuse_bits_get(GET_LOCK_BITS);
    for (i = 0; i < sizeof signature; i++) {
        signature[i] = boot_signature_byte_get(2u * i);
    }
    link_tell(SW_BOOTED, booted, sizeof booted);
}

static uint8_t identify(void)
{
    uint8_t has_image = box_has_image();
    uint8_t i;

    u8(SW_PROTOCOL);
    u8(FIRMWARE_MAJOR);
    u8(FIRMWARE_MINOR);
    for (i = 0; i < sizeof signature; i++) {
        u8(signature[i]);
    }
    u8((has_image ? 1 : 0) | (box.damaged ? 2 : 0) | (converter_named() ? 4 : 0) | (supply_calibrated() ? 8 : 0));
    for (i = 0; i < sizeof fuses; i++) {
        u8(fuses[i]);
    }
    u8(SW_BUTTONS_MAX);
    u8(SW_PAIRS_MAX);
    u8(SW_COMMANDS_MAX);
    u16(SW_BODY_MAX);
    u8(SW_PAYLOAD_MAX);
    u16(SW_COUNT_TOP);
    u16(SW_TICKS_PER_S);
    u8(SW_CAPTURE_EDGES);
    u16(CAPTURE_STEP_NS);
    u16(PULSE_STEP_NS);
    u16(SW_LEAST_PULSE_US);
    u8(BOTH_RATES);
    u8(box.slot_number); /* SW_NO_SLOT is 255 */
    u8(has_image ? box.slot.sequence : 0);
    u16(has_image ? box.slot.length : 0);
    u16(has_image ? box.slot.check : 0);
    u16(supply_mv());
    u8(reset_cause());
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

static uint8_t read(const struct request *request)
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
    u8(slot);
    u16(offset);
    for (i = 0; i < count; i++) {
        u8(store_read((slot ? SW_SLOT_BYTES : 0) + offset + i));
    }
    return SW_FAULT_NONE;
}

static uint8_t tell_counters(void)
{
    u32(clock_ticks());
    memcpy(answer + answer_length, &counters, sizeof counters);
    answer_length += sizeof counters;
    return SW_FAULT_NONE;
}

static uint8_t without_payload(const struct request *request, uint8_t (*serve)(void))
{
    return request->length == 0 ? serve() : SW_FAULT_LENGTH;
}

static uint8_t restart(void)
{
    restarting = 1;
    return SW_FAULT_NONE;
}

static uint8_t later(uint8_t fault)
{
    return fault == SW_FAULT_NONE ? ANSWERED_LATER : fault;
}

static uint8_t serve(const struct request *request)
{
    switch (request->number) {
    case SW_IDENTIFY:
        return without_payload(request, identify);
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
        return read(request);
    case SW_WATCH:
        return on_or_off(request, samples_watch);
    case SW_COUNTERS:
        return without_payload(request, tell_counters);
    case SW_RATE:
        return on_or_off(request, link_rate);
    case SW_CALIBRATE:
        return later(writing_calibrate(request));
    case SW_RESTART:
        return without_payload(request, restart);
    default:
        return SW_FAULT_UNKNOWN;
    }
}

void serve_turn(void)
{
    uint8_t bytes[LINK_REPLY_MAX]; /* on the stack: memory is short */
    struct request request;
    uint8_t fault;

    if (restarting) {
        if (link_quiet()) {
            output_release();
            reset_now();
        }
        return;
    }
    /* A number with SW_REPLY is an answer: this box hears itself, and had better not answer that. */
    if (!link_request(&request) || request.number & SW_REPLY) {
        return;
    }
    answer = bytes;
    answer[0] = SW_FAULT_NONE;
    answer_length = 1;
    fault = serve(&request);
    if (fault == ANSWERED_LATER) {
        return;
    }
    if (fault != SW_FAULT_NONE) {
        answer[0] = fault;
        answer_length = 1;
    }
    link_reply(request.number, request.sequence, answer, answer_length);
}
