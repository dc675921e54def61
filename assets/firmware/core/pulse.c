/* Lays a command out as marks and spaces: see pulse.h. */
#include "pulse.h"
#include <string.h>   /* memset, memcpy */
#include "family.h"   /* rows of the table */
#include "messages.h" /* faults */

/* Which timing of a frame is which, in the order of a family's row; a space follows its mark. */
#define LEADER 0u
#define ZERO 2u
#define ONE 4u
#define HALF_SPACE 6u
/* Where bits are bi-phase the four of the bits are one to four halves of a bit. */
#define HALVES(count) (1u + (count))

#define LEAST_TICKS ((uint32_t)SW_LEAST_PULSE_US * SW_TICKS_PER_US)
#define PERIOD_TICKS 32uL           /* 16 us */
#define RAW_UNIT 1024u              /* 2 us */
#define RC6_UNIT 56889u             /* a quarter of 444 4/9 us */
#define USUAL_KHZ 38u

/* The two bytes a symbol lies in, as a number, and how far from its low end. */
static uint8_t *symbol_at(const struct sw_frame *frame, uint8_t place, uint8_t *shift)
{
    uint16_t bit = (uint16_t)(SW_SYMBOL_BITS * place);

    *shift = bit & 7u;
    return (uint8_t *)frame->symbol + bit / 8u;
}

static uint16_t pair(const uint8_t *byte)
{
    return (uint16_t)(byte[0] | (uint16_t)byte[1] << 8);
}

/* Adds to the symbol at a place. */
static void add(struct sw_frame *frame, uint8_t place, uint8_t more)
{
    uint8_t shift;
    uint8_t *byte = symbol_at(frame, place, &shift);
    uint16_t both = (uint16_t)(pair(byte) + (uint16_t)((uint16_t)more << shift));

    byte[0] = (uint8_t)both;
    byte[1] = (uint8_t)(both >> 8);
}

uint32_t sw_frame_timing(const struct sw_frame *frame, uint8_t at)
{
    uint8_t shift;
    const uint8_t *byte = symbol_at(frame, at, &shift);
    uint8_t symbol = (uint8_t)(pair(byte) >> shift) & (SW_DISTINCT_MAX - 1u);

    return (uint32_t)frame->timing[symbol] * frame->unit;
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

uint32_t sw_frame_next(struct sw_frame *frame)
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
    if (mark != (frame->count & 1u)) {
        append(frame, HALVES(units));
    } else if (frame->count) {
        add(frame, (uint8_t)(frame->count - 1u), units);
    }
}

static void append_bits(struct sw_frame *frame, const struct sw_family *row, uint32_t value, uint8_t bits,
                        uint8_t units)
{
    uint8_t i;

    for (i = 0; i < bits; i++) {
        uint8_t one = value >> (row->flags & SW_HIGH_FIRST ? bits - 1u - i : i) & 1u;
        if (row->kind & SW_BI_PHASE) {
            uint8_t mark = one == (row->kind == SW_RC6); /* in rc6 a 1 opens with a mark, in rc5 a 0 */
            append_half(frame, mark, units);
            append_half(frame, !mark, units);
        } else {
            uint8_t symbol = one ? ONE : ZERO;
            append(frame, symbol);
            append(frame, (uint8_t)(symbol + 1u));
        }
    }
}

/* What the bi-phase families send before the address. */
static void append_head(struct sw_frame *frame, struct sw_family *row, uint32_t command, uint8_t toggle)
{
    if (row->kind == SW_RC6) {      /* a start bit, mode 0, the toggle twice as long */
        append_bits(frame, row, 8u, 4, 1);
        append_bits(frame, row, toggle, 1, 2);
    } else if (row->kind == SW_RC5) { /* a start bit, the command's seventh bit inverted, the toggle */
        append_bits(frame, row, 4u | (command & 0x40u ? 0 : 2u) | toggle, 3, 1);
        row->command_bits = 6;
    }
}

static void append_numbers(struct sw_frame *frame, struct sw_family *row, const struct sw_command *command)
{
    uint8_t i;

    for (i = 0; i < 2; i++) {
        uint8_t is_command = i ^ (row->kind == SW_COMMAND_FIRST);
        uint32_t value = is_command ? command->command : command->address;
        uint8_t bits = is_command ? row->command_bits : row->address_bits;
        append_bits(frame, row, value, bits, 1);
        if (row->flags & (is_command ? SW_COMMAND_INVERSE : SW_ADDRESS_INVERSE)) {
            append_bits(frame, row, ~value, bits, 1);
        }
    }
}

static void lay_family(struct sw_frame *frame, struct sw_family *row, const struct sw_command *command,
                       uint8_t toggle, uint8_t which)
{
    uint8_t repeat = which == SW_FRAME_AGAIN ? row->flags & SW_REPEAT : SW_REPEAT_WHOLE;

    frame->unit = row->kind == SW_RC6 ? RC6_UNIT : SW_TICK_PARTS;
    memcpy(frame->timing, row->time, sizeof row->time);
    frame->timing[HALF_SPACE] = row->time[LEADER + 1u] / 2u;
    if (repeat == SW_REPEAT_SHORT) {
        append(frame, LEADER);
        append(frame, HALF_SPACE);
        append(frame, ZERO);
        return;
    }
    if (repeat != SW_REPEAT_BARE && row->time[LEADER]) {
        append(frame, LEADER);
        append(frame, LEADER + 1u);
    }
    append_head(frame, row, command->command, toggle);
    append_numbers(frame, row, command);
    if (row->flags & SW_STOP_MARK) {
        append(frame, ZERO);
    } else if (frame->count % 2u == 0) { /* the last bit's space runs into the gap */
        frame->count--;
    }
}

/* Lays out a raw record, if there is room for what it says it has: a record of the link may be gone
 * since it was looked at. Its row says no more than how it is repeated. */
static uint8_t lay_raw(sw_reader read, struct sw_frame *frame, struct sw_family *row, uint16_t record)
{
    uint8_t head[SW_RAW_HEAD];
    uint8_t durations;

    memset(row, 0, sizeof *row);
    sw_read(read, record, head, sizeof head);
    if (head[SW_RAW_COUNT] > SW_TIMINGS_MAX || head[SW_RAW_DISTINCT] > SW_DISTINCT_MAX) {
        return 0;
    }
    record = (uint16_t)(record + sizeof head);
    durations = (uint8_t)(2u * head[SW_RAW_DISTINCT]);
    sw_read(read, record, frame->timing, durations);
    sw_read(read, (uint16_t)(record + durations), frame->symbol, SW_SYMBOL_BYTES(head[SW_RAW_COUNT]));
    frame->unit = RAW_UNIT;
    frame->count = head[SW_RAW_COUNT];
    memcpy(&row->period, head + SW_RAW_PERIOD, sizeof row->period);
    row->least_frames = 1;
    row->flags = row->period ? SW_REPEAT_WHOLE : SW_REPEAT_ONCE;
    return 1;
}

/* Whether the output can keep up with every timing, and the frame is over before the next is due; finds
 * the gap between them. A symbol that means no duration lasts no time at all. */
static uint8_t find_gap(struct sw_frame *frame, uint32_t period)
{
    uint32_t ticks;

    if (frame->count % 2u == 0) {
        return SW_FAULT_CODE;
    }
    sw_frame_start(frame);
    do {
        ticks = sw_frame_next(frame);
        if (ticks < LEAST_TICKS) {
            return SW_FAULT_CODE;
        }
        frame->gap_ticks += ticks;
    } while (frame->at < frame->count);
    if (frame->least_frames == 0) {
        frame->gap_ticks = 0;
    } else if (period < frame->gap_ticks + LEAST_TICKS) {
        return SW_FAULT_CODE;
    } else {
        frame->gap_ticks = period - frame->gap_ticks;
    }
    return SW_FAULT_NONE;
}

uint8_t sw_frame_plan(sw_reader read, const struct sw_command *command, uint8_t toggle, uint8_t which,
                      struct sw_frame *out)
{
    struct sw_family row;

    memset(out, 0, sizeof *out);
    if (command->family == SW_FAMILY_RAW) {
        if (!lay_raw(read, out, &row, command->record)) {
            return SW_FAULT_CODE;
        }
    } else {
        if (!sw_family_row(read, command->family, command->record, &row)) {
            return SW_FAULT_CODE;
        }
        lay_family(out, &row, command, toggle, which);
    }
    out->carrier_khz = row.carrier_khz ? row.carrier_khz : USUAL_KHZ;
    if ((row.flags & SW_REPEAT) != SW_REPEAT_ONCE) {
        out->least_frames = row.least_frames;
    }
    return find_gap(out, row.period * PERIOD_TICKS + row.more_ticks);
}
