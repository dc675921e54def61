/* Lays a command out as marks and spaces: see pulse.h. */
#include "pulse.h"
#include <string.h>   /* memset */
#include "family.h"   /* rows of the table */
#include "messages.h" /* faults */

/* Which timing of a frame is which. Where bits are bi-phase the first three are one, two and three
 * units: what neighbours of one level join to. */
#define ZERO_MARK 0u
#define ZERO_SPACE 1u
#define ONE_MARK 2u
#define ONE_SPACE 3u
#define LEADER_MARK 4u
#define LEADER_SPACE 5u
#define HALF_SPACE 6u

#define LEAST_TICKS ((uint32_t)SW_LEAST_PULSE_US * SW_TICKS_PER_US)
#define LEAST_PARTS (LEAST_TICKS * SW_TICK_PARTS)
#define RAW_PARTS 1024uL    /* 2 us */
#define PERIOD_TICKS 32uL   /* 16 us */
#define USUAL_KHZ 38u

/* Places in the free family's record. */
#define FREE_TIMES 0u       /* leader, 0, 1: mark and space each */
#define FREE_PERIOD 12u
#define FREE_FLAGS 14u
#define FREE_CARRIER 15u
#define FREE_ADDRESS_INVERSE 0x04u
#define FREE_COMMAND_INVERSE 0x08u
#define FREE_ZERO 0xC0u
#define FREE_KHZ_LEAST 20u
#define FREE_KHZ_MOST 100u

static uint16_t word(sw_reader read, uint16_t at)
{
    uint16_t low = read(at);
    return (uint16_t)(low | (uint16_t)read((uint16_t)(at + 1u)) << 8);
}

static void append(struct sw_frame *frame, uint8_t symbol)
{
    if (frame->count < SW_TIMINGS_MAX) {
        frame->symbol[frame->count / 2u] |= frame->count & 1u ? (uint8_t)(symbol << 4) : symbol;
        frame->count++;
    }
}

uint32_t sw_frame_timing(const struct sw_frame *frame, uint8_t at)
{
    uint8_t both = frame->symbol[at / 2u];
    return frame->timing[(at & 1u ? both >> 4 : both) & (SW_DISTINCT_MAX - 1u)];
}

void sw_walk_start(struct sw_walk *walk)
{
    walk->rest = SW_TICK_PARTS / 2u; /* half a tick ahead: cutting off then rounds */
    walk->at = 0;
}

uint32_t sw_walk_next(struct sw_walk *walk, const struct sw_frame *frame)
{
    uint32_t parts;

    if (walk->at >= frame->count) {
        return 0;
    }
    parts = sw_frame_timing(frame, walk->at++) + walk->rest;
    walk->rest = (uint8_t)parts; /* SW_TICK_PARTS is 256 */
    return parts >> 8;
}

uint32_t sw_walk_gap(const struct sw_frame *frame, uint32_t spent)
{
    return frame->period_ticks > spent ? frame->period_ticks - spent : 0;
}

/* --- Raw records --- */

uint8_t sw_raw_symbol(sw_reader read, uint16_t record, uint8_t at)
{
    uint16_t first = (uint16_t)(record + SW_RAW_DURATIONS + 2u * read((uint16_t)(record + SW_RAW_DISTINCT)));
    uint16_t bit = (uint16_t)(3u * at);
    uint8_t shift = bit & 7u;
    uint8_t symbol;

    first = (uint16_t)(first + bit / 8u);
    symbol = (uint8_t)(read(first) >> shift);
    if (shift > 5) { /* it runs into the next byte */
        symbol |= (uint8_t)(read((uint16_t)(first + 1u)) << (8u - shift));
    }
    return symbol & 7u;
}

static void lay_raw(sw_reader read, uint16_t record, struct sw_frame *out)
{
    uint8_t count = read((uint16_t)(record + SW_RAW_COUNT));
    uint8_t distinct = read((uint16_t)(record + SW_RAW_DISTINCT));
    uint8_t i;

    for (i = 0; i < distinct && i < SW_DISTINCT_MAX; i++) {
        out->timing[i] = word(read, (uint16_t)(record + SW_RAW_DURATIONS + 2u * i)) * RAW_PARTS;
    }
    for (i = 0; i < count; i++) {
        append(out, sw_raw_symbol(read, record, i));
    }
    out->period_ticks = word(read, (uint16_t)(record + SW_RAW_PERIOD)) * PERIOD_TICKS;
    out->least_frames = out->period_ticks != 0;
    out->carrier_khz = USUAL_KHZ;
}

/* --- Families --- */

/* The free family as a row of the table, but for its durations. */
static void free_row(sw_reader read, uint16_t record, struct sw_family *row)
{
    uint8_t flags = read((uint16_t)(record + FREE_FLAGS));
    struct sw_field *field = row->field;
    uint8_t khz = read((uint16_t)(record + FREE_CARRIER));

    memset(row, 0, sizeof *row);
    row->period_ticks = word(read, (uint16_t)(record + FREE_PERIOD)) * PERIOD_TICKS;
    row->flags = flags & (SW_HIGH_FIRST | SW_STOP_MARK | SW_REPEAT);
    row->least_frames = 1;
    row->carrier_khz = khz ? khz : USUAL_KHZ;
    row->address_bits = read((uint16_t)(record + SW_FREE_ADDRESS_BITS));
    row->command_bits = read((uint16_t)(record + SW_FREE_COMMAND_BITS));
    if (row->address_bits) { /* a width of 0 would end the fields */
        field->holds = SW_HOLDS_ADDRESS;
        field->width = row->address_bits;
        field++;
        if (flags & FREE_ADDRESS_INVERSE) {
            field->holds = SW_HOLDS_ADDRESS_INVERSE;
            field->width = row->address_bits;
            field++;
        }
    }
    field->holds = SW_HOLDS_COMMAND;
    field->width = row->command_bits;
    if (flags & FREE_COMMAND_INVERSE) {
        field++;
        field->holds = SW_HOLDS_COMMAND_INVERSE;
        field->width = row->command_bits;
    }
}

static void free_timings(sw_reader read, uint16_t record, struct sw_frame *out)
{
    uint8_t i;

    for (i = 0; i < 6; i++) { /* the record begins with the leader, `timing` with the 0 */
        out->timing[i < 2 ? LEADER_MARK + i : i - 2u] =
            (uint32_t)word(read, (uint16_t)(record + FREE_TIMES + 2u * i)) * SW_TICK_PARTS;
    }
}

static void row_timings(const struct sw_family *row, struct sw_frame *out)
{
    uint8_t i;

    if (row->flags & SW_BI_PHASE) {
        for (i = 0; i < 3; i++) {
            out->timing[i] = row->unit * (i + 1u);
        }
    } else {
        out->timing[ZERO_MARK] = row->unit * row->zero_mark;
        out->timing[ZERO_SPACE] = row->unit * row->zero_space;
        out->timing[ONE_MARK] = row->unit * row->one_mark;
        out->timing[ONE_SPACE] = row->unit * row->one_space;
    }
    out->timing[LEADER_MARK] = row->unit * row->leader_mark;
    out->timing[LEADER_SPACE] = row->unit * row->leader_space;
}

/* Halves of bits, joined where neighbours are of one level. */
struct halves {
    uint8_t mark;   /* the level of what is being joined; it begins with the space before the frame */
    uint8_t units;
};

static void flush(struct halves *halves, struct sw_frame *out)
{
    if (halves->units && (halves->mark || out->count)) {
        append(out, (uint8_t)(halves->units - 1u));
    }
    halves->units = 0;
}

static void half(struct halves *halves, uint8_t mark, uint8_t units, struct sw_frame *out)
{
    if (mark != halves->mark) {
        flush(halves, out);
        halves->mark = mark;
    }
    halves->units = (uint8_t)(halves->units + units);
}

static uint32_t field_value(const struct sw_field *field, const struct sw_command *command, uint8_t toggle)
{
    uint8_t kind = field->holds & 7u;
    uint8_t from = field->holds >> 3;
    uint32_t value;

    switch (kind) {
    case SW_HOLDS_FIXED:
        return from;
    case SW_HOLDS_TOGGLE:
        return toggle != 0;
    case SW_HOLDS_ADDRESS:
    case SW_HOLDS_ADDRESS_INVERSE:
        value = command->address;
        break;
    default:
        value = command->command;
        break;
    }
    value >>= from;
    return kind == SW_HOLDS_ADDRESS_INVERSE || kind == SW_HOLDS_COMMAND_INVERSE ? ~value : value;
}

static void lay_field(const struct sw_family *row, const struct sw_field *field, uint32_t value,
                      struct halves *halves, struct sw_frame *out)
{
    uint8_t width = field->width & (uint8_t)~SW_DOUBLE;
    uint8_t units = field->width & SW_DOUBLE ? 2 : 1;
    uint8_t i, one;

    if (row->flags & SW_HIGH_FIRST) {
        value <<= 32u - width;
    }
    for (i = 0; i < width; i++) {
        if (row->flags & SW_HIGH_FIRST) {
            one = (value & 0x80000000uL) != 0;
            value <<= 1;
        } else {
            one = value & 1u;
            value >>= 1;
        }
        if (row->flags & SW_BI_PHASE) {
            uint8_t mark_first = one == ((row->flags & SW_ONE_OPENS_WITH_MARK) != 0);
            half(halves, mark_first, units, out);
            half(halves, !mark_first, units, out);
        } else {
            append(out, one ? ONE_MARK : ZERO_MARK);
            append(out, one ? ONE_SPACE : ZERO_SPACE);
        }
    }
}

static void lay_family(const struct sw_family *row, const struct sw_command *command, uint8_t toggle,
                       uint8_t which, struct sw_frame *out)
{
    struct halves halves = {0, 0};
    uint8_t repeat = which == SW_FRAME_AGAIN ? row->flags & SW_REPEAT : SW_REPEAT_WHOLE;
    uint8_t i;

    out->timing[HALF_SPACE] = out->timing[LEADER_SPACE] / 2u;
    if (repeat == SW_REPEAT_SHORT) {
        append(out, LEADER_MARK);
        append(out, HALF_SPACE);
        append(out, ZERO_MARK);
    } else {
        if (repeat != SW_REPEAT_BARE && out->timing[LEADER_MARK]) {
            append(out, LEADER_MARK);
            append(out, LEADER_SPACE);
        }
        for (i = 0; i < SW_FIELDS_MAX && row->field[i].width; i++) {
            lay_field(row, &row->field[i], field_value(&row->field[i], command, toggle), &halves, out);
        }
        flush(&halves, out);
        if (row->flags & SW_STOP_MARK) {
            append(out, ZERO_MARK);
        }
    }
    if ((row->flags & SW_REPEAT) != SW_REPEAT_ONCE) {
        out->period_ticks = row->period_ticks;
        out->least_frames = row->least_frames;
    }
    out->carrier_khz = row->carrier_khz;
}

uint8_t sw_free_holds(sw_reader read, uint16_t record)
{
    uint8_t flags = read((uint16_t)(record + FREE_FLAGS));
    uint8_t khz = read((uint16_t)(record + FREE_CARRIER));
    uint8_t bits = read((uint16_t)(record + SW_FREE_COMMAND_BITS));
    uint16_t mark = word(read, record);
    uint16_t space = word(read, (uint16_t)(record + 2u));
    uint8_t i;

    for (i = 4; i < FREE_PERIOD; i = (uint8_t)(i + 2u)) {
        if (word(read, (uint16_t)(record + i)) < LEAST_TICKS) {
            return 0;
        }
    }
    /* A leader is whole or not there; the short frame has one, and half its space. */
    if (mark || space) {
        if (mark < LEAST_TICKS || space < LEAST_TICKS) {
            return 0;
        }
    }
    if ((flags & SW_REPEAT) == SW_REPEAT_SHORT && space < 2u * LEAST_TICKS) {
        return 0;
    }
    return (flags & FREE_ZERO) == 0 && (khz == 0 || (khz >= FREE_KHZ_LEAST && khz <= FREE_KHZ_MOST)) &&
           read((uint16_t)(record + SW_FREE_ADDRESS_BITS)) <= 16 && bits != 0 && bits <= 32;
}

/* Whether the output can keep up with every timing, and the frame is over before the next is due. */
static uint8_t frame_holds(const struct sw_frame *frame)
{
    struct sw_walk walk;
    uint32_t spent = 0;
    uint8_t i;

    if (frame->count % 2u == 0) {
        return 0;
    }
    for (i = 0; i < frame->count; i++) {
        if (sw_frame_timing(frame, i) < LEAST_PARTS) {
            return 0;
        }
    }
    sw_walk_start(&walk);
    for (i = 0; i < frame->count; i++) {
        spent += sw_walk_next(&walk, frame);
    }
    return frame->least_frames == 0 || sw_walk_gap(frame, spent) >= LEAST_TICKS;
}

uint8_t sw_frame_plan(sw_reader read, const struct sw_command *command, uint8_t toggle, uint8_t which,
                      struct sw_frame *out)
{
    struct sw_family row;

    memset(out, 0, sizeof *out);
    if (command->family == SW_FAMILY_RAW) {
        lay_raw(read, command->raw, out);
    } else {
        if (command->family == SW_FAMILY_FREE) {
            free_row(read, command->free, &row);
            free_timings(read, command->free, out);
        } else if (sw_family_row(command->family, &row)) {
            row_timings(&row, out);
        } else {
            return SW_FAULT_CODE;
        }
        lay_family(&row, command, toggle, which, out);
        if (out->count % 2u == 0 && out->count) { /* the last bit's space runs into the gap */
            out->count--;
        }
    }
    return frame_holds(out) ? SW_FAULT_NONE : SW_FAULT_CODE;
}
