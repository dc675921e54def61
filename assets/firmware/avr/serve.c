/* Answers the laptop: see serve.h. The layouts are written down in DEVELOPERS.md, "The link". */
#include "serve.h"
#include <avr/boot.h>
#include <avr/pgmspace.h>
#include <string.h>   /* memcpy */
#include <util/atomic.h>
#include "box.h"
#include "capture.h"
#include "clock.h"
#include "converter.h"
#include "counters.h"
#include "flash.h" /* SW_APART */
#include "limits.h"
#include "link.h"
#include "messages.h"
#include "near.h"
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

/* What the chip says of itself, as it lies in the identity. */
struct chip {
    uint8_t signature[3];
    uint8_t flags;              /* not the chip's: filled when they are told */
    uint8_t fuses[4];           /* low, high, extended, lock */
};
static struct chip chip;
static uint8_t restarting;      /* once the answer has gone out */

/* Of the payload that was asked, and of the answer, its fault included. */
static uint8_t asked_length;
static uint8_t answer_length;

void serve_start(void)
{
    struct {
        struct head head;
        uint8_t cause, protocol, major, minor;
        uint8_t check[LINK_CHECK];
    } booted;
    uint8_t *signature = (uint8_t *)&chip;
    uint8_t i;

    for (i = 0; i < sizeof chip.fuses; i++) {
        ATOMIC_BLOCK(ATOMIC_RESTORESTATE)       /* an interrupt in the middle, and it would be flash that is read */
        {
            signature[i] = boot_signature_byte_get(2u * i);             /* once too often: the flags */
            chip.fuses[i] = boot_lock_fuse_bits_get((uint8_t)-i & 3u);  /* they are at 0, 3, 2 and 1 */
        }
    }
    booted.cause = reset_cause();
    booted.protocol = SW_PROTOCOL;
    booted.major = FIRMWARE_MAJOR;
    booted.minor = FIRMWARE_MINOR;
    link_tell(SW_BOOTED, &booted, 4);
}

/* The identity as it lies in memory: the chip's byte order is the link's, and nothing is padded. */
struct identity {
    uint8_t protocol;
    uint8_t firmware[2];
    struct chip chip;
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

/* --- The questions. Each takes the payload, looked at as its row below says, and gives a fault. An
 * answer longer than the fault is put over the payload, from the second byte on. --- */

static uint8_t identify(uint8_t *payload)
{
    struct identity *identity = (struct identity *)(payload + 1);
    uint8_t flags = 0;

    answer_length = 1 + sizeof *identity;
    memcpy_P(identity, &fixed, sizeof *identity);
    identity->chip = chip;
    identity->slot = box.slot_number; /* SW_NO_SLOT is 255 */
    if (box_has_image()) {
        flags = HAS_IMAGE;
        identity->slot_sequence = box.slot.sequence;
        identity->slot_length = box.slot.length;
        identity->slot_check = box.slot.check;
    }
    if (box.damaged) {
        flags |= HAS_DAMAGE;
    }
    if (converter_named()) {
        flags |= REFERENCE_NAMED;
    }
    if (supply_calibrated()) {
        flags |= CALIBRATED;
    }
    identity->chip.flags = flags;
    identity->supply_mv = supply_mv();
    identity->reset_cause = reset_cause();
    return SW_FAULT_NONE;
}

static uint8_t stream(uint8_t *payload)
{
    if (*payload && !converter_named()) {
        return SW_FAULT_REFERENCE;
    }
    samples_stream(*payload);
    return SW_FAULT_NONE;
}

static uint8_t reference(uint8_t *payload)
{
    if (payload[0] > SW_REFERENCE_EXTERNAL || payload[1] > 1) {
        return SW_FAULT_VALUE;
    }
    samples_reference(payload[0], payload[1]);
    return SW_FAULT_NONE;
}

static uint8_t listen(uint8_t *payload)
{
    capture_listen(*payload);
    return SW_FAULT_NONE;
}

static uint8_t watch(uint8_t *payload)
{
    samples_watch(*payload);
    return SW_FAULT_NONE;
}

static uint8_t rate(uint8_t *payload)
{
    link_rate(*payload);
    return SW_FAULT_NONE;
}

static uint8_t send(uint8_t *payload)
{
    uint16_t held_ms;

    if (asked_length == 0) {
        sending_finish();
        return SW_FAULT_NONE;
    }
    if (asked_length < 4) {
        return SW_FAULT_LENGTH;
    }
    if (payload[2] > 1) {
        return SW_FAULT_VALUE;
    }
    if (writing_busy() || writing_runs()) {
        return SW_FAULT_BUSY;
    }
    memcpy(&held_ms, payload, sizeof held_ms);
    return sending_ask(held_ms, payload[2], payload + 3, asked_length - 3);
}

static uint8_t read(uint8_t *payload)
{
    uint8_t count = payload[3];
    uint16_t offset;

    if (payload[0] == SLOT_IN_USE) {
        if (!box_has_image()) {
            return SW_FAULT_NO_IMAGE;
        }
        payload[0] = box.slot_number;
    }
    memcpy(&offset, payload + 1, sizeof offset);
    if (payload[0] > 1 || count == 0 || count > READ_MAX || offset > SW_SLOT_BYTES - count) {
        return SW_FAULT_VALUE;
    }
    answer_length = 4 + count;
    payload[3] = payload[2];
    payload[2] = payload[1];
    payload[1] = payload[0];
    if (payload[1]) {
        offset += SW_SLOT_BYTES;
    }
    payload += 4;
    do {
        *payload++ = store_read(offset++);
    } while (--count);
    return SW_FAULT_NONE;
}

static uint8_t tell_counters(uint8_t *payload)
{
    uint32_t up_ms = clock_ticks();

    memcpy(payload + 1, &up_ms, sizeof up_ms);
    memcpy(payload + 1 + sizeof up_ms, counters, sizeof counters);
    answer_length = 1 + sizeof up_ms + sizeof counters;
    return SW_FAULT_NONE;
}

static uint8_t restart(uint8_t *payload)
{
    (void)payload;
    sending_stop();
    restarting = 1;
    return SW_FAULT_NONE;
}

static uint8_t data(uint8_t *payload)
{
    uint8_t bytes = (uint8_t)(asked_length - 2u);

    return asked_length < 3 || bytes > WRITING_DATA_MAX ? SW_FAULT_LENGTH : writing_data(payload, bytes);
}

/* What is looked at before a question is served: the length of its payload; that a payload of one byte
 * is 0 or 1; that the memory is not at work. */
#define FIRST SW_IDENTIFY
#define ANY_LENGTH 127u
#define NEEDS_MEMORY 128u

static const struct row {
    uint8_t length;
    uint8_t (*serve)(uint8_t *payload);
} rows[] PROGMEM = {
    [SW_IDENTIFY - FIRST] = {0, identify},
    [SW_STREAM - FIRST] = {1, stream},
    [SW_REFERENCE - FIRST] = {2, reference},
    [SW_LISTEN - FIRST] = {1, listen},
    [SW_SEND - FIRST] = {ANY_LENGTH, send},
    [SW_WRITE_BEGIN - FIRST] = {4 | NEEDS_MEMORY, writing_begin},
    [SW_WRITE_DATA - FIRST] = {ANY_LENGTH | NEEDS_MEMORY, data},
    [SW_WRITE_END - FIRST] = {0 | NEEDS_MEMORY, writing_end},
    [SW_READ - FIRST] = {4 | NEEDS_MEMORY, read},
    [SW_WATCH - FIRST] = {1, watch},
    [SW_COUNTERS - FIRST] = {0, tell_counters},
    [SW_RATE - FIRST] = {1, rate},
    [SW_CALIBRATE - FIRST] = {2 | NEEDS_MEMORY, writing_calibrate},
    [SW_RESTART - FIRST] = {0, restart},
};

static uint8_t serve(struct message *asked)
{
    uint8_t place = (uint8_t)(asked->head.number - FIRST);
    const struct row *row = rows + place;
    uint8_t (*handler)(uint8_t *payload);
    uint8_t needs, length;

    if (place >= sizeof rows / sizeof *rows) {
        return SW_FAULT_UNKNOWN;
    }
    needs = pgm_read_byte(&row->length);
    handler = (uint8_t (*)(uint8_t *))pgm_read_word(&row->serve);
    length = needs & ANY_LENGTH;
    if (length != ANY_LENGTH && length != asked_length) {
        return SW_FAULT_LENGTH;
    }
    if (length == 1 && asked->payload[0] > 1) {
        return SW_FAULT_VALUE;
    }
    if (needs & NEEDS_MEMORY && writing_busy()) {
        return SW_FAULT_BUSY;
    }
    return handler(asked->payload);
}

SW_APART void serve_turn(void)
{
    struct message *asked;
    uint8_t fault;

    if (restarting) {
        if (link_quiet()) {
            reset_now();
        }
        return;
    }
    /* A number with SW_REPLY is an answer: this box hears itself, and had better not answer that. */
    asked = link_request(&asked_length);
    if (!asked || asked->head.number & SW_REPLY) {
        return;
    }
    answer_length = 1;
    fault = serve(asked);
    if (fault == WRITING_ANSWERS) {
        writing_owes(&asked->head);
        return;
    }
    asked->payload[0] = fault;
    link_reply(asked, fault == SW_FAULT_NONE ? answer_length : 1);
}
