/* Lays a command out as marks and spaces: see pulse.h. */
#include "pulse.h"
#include <string.h>   /* memset, memcpy */
#include "flash.h"    /* SW_APART */
#include "messages.h" /* faults */

/* What only a short frame has: the leader's space halved. */
#define HALF_SPACE 6u

#define PERIOD_TICKS 32uL           /* 16 us */
#define RAW_UNIT 1024u              /* 2 us */
#define RC6_UNIT 56889u             /* a quarter of 444 4/9 us */

/* Where a symbol begins: the byte, and the bits of it that come before. It may run into the next byte. */
static uint8_t byte_of(uint8_t place)
{
    return (uint8_t)(SW_SYMBOL_BITS * place / 8u);
}

static uint8_t shift_of(uint8_t place)
{
    return (uint8_t)(SW_SYMBOL_BITS * place) % 8u;
}

static uint16_t both(const uint8_t *bytes)
{
    return (uint16_t)(bytes[0] | (uint16_t)bytes[1] << 8);
}

/* Adds to the symbol at a place. */
static void add(struct sw_frame *frame, uint8_t place, uint8_t more)
{
    uint8_t *bytes = frame->symbol + byte_of(place);
    uint16_t sum = (uint16_t)(both(bytes) + (uint16_t)((uint16_t)more << shift_of(place)));

    bytes[0] = (uint8_t)sum;
    bytes[1] = (uint8_t)(sum >> 8);
}

uint32_t sw_frame_timing(const struct sw_frame *frame, uint8_t at)
{
    uint8_t symbol = (uint8_t)(both(frame->symbol + byte_of(at)) >> shift_of(at)) % SW_DISTINCT_MAX;

    return (uint32_t)frame->row.time[symbol] * frame->unit;
}

/* There is room: the longest frame is the free family's, 2 + 2 * 96 + 1 timings. */
static void append(struct sw_frame *frame, uint8_t symbol)
{
    add(frame, frame->count++, symbol);
}

void sw_frame_start(struct sw_frame *frame)
{
    frame->at = 0;
    frame->rest = SW_TICK_PARTS / 2u; /* half a tick ahead: cutting off then rounds */
}

SW_APART uint32_t sw_frame_next(struct sw_frame *frame)
{
    uint32_t parts;

    if (frame->at >= frame->count) {
        return 0;
    }
    parts = sw_frame_timing(frame, frame->at++) + frame->rest;
    frame->rest = (uint8_t)parts; /* SW_TICK_PARTS is 256 */
    return parts >> 8;
}

/* Half of a bit, joined to what is before it where that is of one level. The space before the frame is
 * none of it. */
static void append_half(struct sw_frame *frame, uint8_t mark, uint8_t units)
{
    uint8_t count = frame->count;

    if (mark != (uint8_t)(count & 1u)) {
        append(frame, (uint8_t)SW_HALVES(units));
    } else if (count) {
        add(frame, (uint8_t)(count - 1u), units);
    }
}

/* Appends so many bits of a number, which lies in memory low byte first; `inverse` is 0 or 1. */
static void append_bits(struct sw_frame *frame, const void *number, uint8_t bits, uint8_t inverse)
{
    uint8_t done, one;

    for (done = 0; done != bits; done++) {
        uint8_t place = frame->row.flags & SW_HIGH_FIRST ? (uint8_t)(bits - 1u - done) : done;
        one = ((uint8_t)(((const uint8_t *)number)[place / 8u] >> (place & 7u)) ^ inverse) & 1u;
        if (frame->row.kind & SW_BI_PHASE) {
            if (frame->row.kind == SW_RC5) { /* in which a 0 opens with a mark, in rc6 a 1 */
                one ^= 1u;
            }
            append_half(frame, one, 1);
            append_half(frame, one ^ 1u, 1);
        } else {
            one = one ? SW_ONE : SW_ZERO;
            append(frame, one);
            append(frame, (uint8_t)(one + 1u));
        }
    }
}

/* What the bi-phase families send before the address. */
static void append_head(struct sw_frame *frame, uint8_t command, uint8_t toggle)
{
    uint8_t head = 8;                       /* rc6: a start bit, mode 0 */

    if (frame->row.kind == SW_RC6) {
        append_bits(frame, &head, 4, 0);
        append_half(frame, toggle, 2);      /* twice as long as any other bit */
        append_half(frame, toggle ^ 1u, 2);
    } else if (frame->row.kind == SW_RC5) { /* a start bit, the command's seventh bit inverted, the toggle */
        head = (command & 0x40u ? 4u : 6u) | toggle;
        append_bits(frame, &head, 3, 0);
        frame->row.command_bits = 6;        /* that one has gone ahead */
    }
}

/* The address and the command, each with its inverse where the family wants it. */
static void append_numbers(struct sw_frame *frame, const struct sw_command *command)
{
    uint8_t is_command = frame->row.kind == SW_COMMAND_FIRST;
    uint8_t left;

    for (left = 2; left != 0; left--) {
        const void *number = &command->address;
        uint8_t bits = frame->row.address_bits;
        uint8_t inverse = SW_ADDRESS_INVERSE;
        if (is_command) {
            number = &command->command;
            bits = frame->row.command_bits;
            inverse = SW_COMMAND_INVERSE;
        }
        append_bits(frame, number, bits, 0);
        if (frame->row.flags & inverse) {
            append_bits(frame, number, bits, 1);
        }
        is_command ^= 1u;
    }
}

static void lay_family(struct sw_frame *frame, const struct sw_command *command, uint8_t toggle, uint8_t which)
{
    uint8_t repeat = which == SW_FRAME_AGAIN ? frame->row.flags & SW_REPEAT : SW_REPEAT_WHOLE;

    frame->unit = frame->row.kind == SW_RC6 ? RC6_UNIT : SW_TICK_PARTS;
    frame->row.time[HALF_SPACE] = frame->row.time[SW_LEADER + 1u] / 2u;
    if (repeat == SW_REPEAT_SHORT) {
        append(frame, SW_LEADER);
        append(frame, HALF_SPACE);
        append(frame, SW_ZERO);
        return;
    }
    if (repeat != SW_REPEAT_BARE && frame->row.time[SW_LEADER]) {
        append(frame, SW_LEADER);
        append(frame, SW_LEADER + 1u);
    }
    append_head(frame, (uint8_t)command->command, toggle);
    append_numbers(frame, command);
    if (frame->row.flags & SW_STOP_MARK) {
        append(frame, SW_ZERO);
    } else if (frame->count % 2u == 0) { /* the last bit's space runs into the gap */
        frame->count--;
    }
}

/* Lays out a raw record, if there is room for what it says it has: a record of the link may be gone
 * since it was looked at. */
static uint8_t lay_raw(sw_reader read, struct sw_frame *frame, uint16_t record)
{
    uint8_t head[SW_RAW_HEAD];
    uint8_t durations;

    sw_read(read, record, head, sizeof head);
    if (head[SW_RAW_COUNT] > SW_TIMINGS_MAX || head[SW_RAW_DISTINCT] > SW_DISTINCT_MAX) {
        return 0;
    }
    record = (uint16_t)(record + sizeof head);
    durations = (uint8_t)(2u * head[SW_RAW_DISTINCT]);
    sw_read(read, record, frame->row.time, durations);
    sw_read(read, (uint16_t)(record + durations), frame->symbol, SW_SYMBOL_BYTES(head[SW_RAW_COUNT]));
    frame->unit = RAW_UNIT;
    frame->count = head[SW_RAW_COUNT];
    memcpy(&frame->row.period, head + SW_RAW_PERIOD, sizeof frame->row.period);
    frame->row.carrier_khz = SW_USUAL_KHZ;
    frame->row.least_frames = frame->row.period != 0;
    return 1;
}

/* Whether the output can keep up with every timing, and the frame is over before the next is due; finds
 * the gap between them. A symbol that means no duration lasts no time at all. */
static uint8_t find_gap(struct sw_frame *frame)
{
    uint32_t gap = frame->row.period * PERIOD_TICKS + frame->row.more_ticks;
    uint32_t ticks;

    if (frame->count % 2u == 0) {
        return SW_FAULT_CODE;
    }
    sw_frame_start(frame);
    do {
        ticks = sw_frame_next(frame);
        if (ticks < SW_LEAST_TICKS) {
            return SW_FAULT_CODE;
        }
        gap -= ticks;
    } while (frame->at != frame->count);
    if (frame->row.least_frames) {
        if ((int32_t)gap < (int32_t)SW_LEAST_TICKS) {
            return SW_FAULT_CODE;
        }
        frame->gap_ticks = gap;
    }
    return SW_FAULT_NONE;
}

uint8_t sw_frame_plan(sw_reader read, const struct sw_command *command, uint8_t toggle, uint8_t which,
                      struct sw_frame *out)
{
    memset(out, 0, sizeof *out);
    if (command->family == SW_FAMILY_RAW) {
        if (!lay_raw(read, out, command->record)) {
            return SW_FAULT_CODE;
        }
    } else {
        if (!sw_family_row(read, command->family, command->record, &out->row)) {
            return SW_FAULT_CODE;
        }
        lay_family(out, command, toggle, which);
        if ((out->row.flags & SW_REPEAT) == SW_REPEAT_ONCE) {
            out->row.least_frames = 0;
        }
    }
    return find_gap(out);
}
