/* Reads the image: see image.h, and DEVELOPERS.md, "The image", for the layout. Every read of a body
 * that has not been found valid yet is behind a look at its end. */
#include "image.h"
#include <string.h>   /* memset */
#include "family.h"   /* how wide a family's address and command are */
#include "frame.h"    /* sw_crc */
#include "messages.h" /* faults */
#include "pulse.h"    /* whether a code can be sent */

/* Places in the body's fixed part. */
#define AT_FLAGS 0u
#define AT_DWELL 1u
#define AT_SETTLE 2u
#define AT_HOLD 4u
#define AT_DOUBLE 6u
#define AT_FEED 8u
#define AT_BUTTONS 10u
#define AT_PAIRS 11u
#define AT_COMMANDS 12u
#define AT_MARK 13u
#define AT_ZERO 15u
#define AT_BANDS 16u

#define FLAG_REFERENCE 0x03u
#define FLAG_MONITOR 0x04u
#define FLAG_ROLLOVER 0x08u
#define FLAG_TWO_WIRES 0x10u
#define FLAG_INFRARED 0x20u
#define FLAG_ZERO 0x40u
#define FLAG_FREE 0x80u

#define BAND_BYTES 4u
#define PAIR_BYTES 2u
#define FREE_BYTES 18u
#define ON_SECOND_WIRE 0x8000u

uint16_t sw_word(sw_reader read, uint16_t at)
{
    uint16_t low = read(at);
    return (uint16_t)(low | (uint16_t)read((uint16_t)(at + 1u)) << 8);
}

/* A number of 0 to 4 bytes. */
static uint32_t number(sw_reader read, uint16_t at, uint8_t bytes)
{
    uint32_t value = 0;
    while (bytes) {
        bytes--;
        value = value << 8 | read((uint16_t)(at + bytes));
    }
    return value;
}

/* --- Slots --- */

uint16_t sw_image_check(sw_reader read, uint16_t base, uint16_t length)
{
    uint16_t crc = sw_crc(SW_CRC_START, SW_IMAGE_FORMAT);
    uint16_t i;

    crc = sw_crc(crc, (uint8_t)length);
    crc = sw_crc(crc, (uint8_t)(length >> 8));
    for (i = 0; i < length; i++) {
        crc = sw_crc(crc, read((uint16_t)(base + SW_SLOT_HEADER + i)));
    }
    return crc;
}

void sw_slot_look(sw_reader read, uint8_t number, struct sw_slot *out)
{
    uint16_t base = number ? SW_SLOT_BYTES : 0;

    out->base = base;
    out->sequence = read((uint16_t)(base + 2u));
    out->length = sw_word(read, (uint16_t)(base + 4u));
    out->check = sw_word(read, (uint16_t)(base + 6u));
    if (read(base) != SW_IMAGE_MAGIC) {
        out->state = SW_SLOT_EMPTY;
    } else if (read((uint16_t)(base + 1u)) == SW_IMAGE_FORMAT &&
               (uint8_t)(out->sequence ^ read((uint16_t)(base + 3u))) == 0xFFu && out->length <= SW_BODY_MAX &&
               sw_image_check(read, base, out->length) == out->check) {
        out->state = SW_SLOT_WHOLE;
    } else {
        out->state = SW_SLOT_DAMAGED;
    }
}

uint8_t sw_slot_choose(sw_reader read, struct sw_slot *out, uint8_t *damaged)
{
    struct sw_slot slot;
    uint8_t chosen = SW_NO_SLOT;
    uint8_t i;

    *damaged = 0;
    for (i = 0; i < 2; i++) {
        sw_slot_look(read, i, &slot);
        if (slot.state == SW_SLOT_DAMAGED) {
            *damaged = 1;
        }
        if (slot.state == SW_SLOT_WHOLE &&
            (chosen == SW_NO_SLOT || (int8_t)(uint8_t)(slot.sequence - out->sequence) > 0)) {
            *out = slot;
            chosen = i;
        }
    }
    return chosen;
}

/* --- Where things lie --- */

struct outline {
    uint16_t buttons;           /* their bands; before them the wires' rests */
    uint16_t pairs;
    uint16_t free;              /* the free family's record, 0 without */
    uint16_t commands;
    uint8_t head[AT_BANDS];     /* the fixed part */
    uint8_t wires;
};

static void outline(sw_reader read, uint16_t body, struct outline *out)
{
    uint8_t i;

    for (i = 0; i < AT_BANDS; i++) {
        out->head[i] = read((uint16_t)(body + i));
    }
    out->wires = out->head[AT_FLAGS] & FLAG_TWO_WIRES ? 2 : 1;
    out->buttons = (uint16_t)(body + AT_BANDS + BAND_BYTES * out->wires);
    out->pairs = (uint16_t)(out->buttons + BAND_BYTES * out->head[AT_BUTTONS]);
    out->commands = (uint16_t)(out->pairs + PAIR_BYTES * out->head[AT_PAIRS]);
    out->free = 0;
    if (out->head[AT_FLAGS] & FLAG_FREE) {
        out->free = out->commands;
        out->commands = (uint16_t)(out->commands + FREE_BYTES);
    }
}

static uint16_t head_word(const struct outline *outline, uint8_t at)
{
    return (uint16_t)(outline->head[at] | (uint16_t)outline->head[at + 1u] << 8);
}

/* The band at a place. */
static void band(sw_reader read, uint16_t at, struct sw_band *out)
{
    out->low = sw_word(read, at);
    out->high = sw_word(read, (uint16_t)(at + 2u));
}

/* --- Commands --- */

/* A walk over command groups. */
struct walk {
    uint16_t at;
    uint16_t end;       /* behind the last byte that may be read */
    uint16_t free;      /* the free family's record, or 0 */
    uint16_t address;   /* of the group */
    uint8_t family;     /* of the group */
    uint8_t left;       /* commands left in the group */
    uint8_t bits;       /* of the group's commands */
};

static void walk_start(struct walk *walk, uint16_t at, uint16_t end, uint16_t free)
{
    walk->at = at;
    walk->end = end;
    walk->free = free;
    walk->left = 0;
}

/* Takes bytes, if there are so many. */
static uint8_t walk_has(const struct walk *walk, uint16_t bytes)
{
    return (uint16_t)(walk->end - walk->at) >= bytes;
}

/* Takes a number of so many bits in the least whole bytes. Gives 1 if it is there and in range. */
static uint8_t walk_number(sw_reader read, struct walk *walk, uint8_t bits, uint32_t *out)
{
    uint8_t bytes = (uint8_t)((bits + 7u) / 8u);

    if (!walk_has(walk, bytes)) {
        return 0;
    }
    *out = number(read, walk->at, bytes);
    walk->at = (uint16_t)(walk->at + bytes);
    return bits == 32 || *out >> bits == 0;
}

/* Opens a group: its family, how many commands, its address. Gives 1 if that can be. */
static uint8_t walk_group(sw_reader read, struct walk *walk)
{
    struct sw_family row;
    uint32_t address = 0;
    uint8_t first;

    if (!walk_has(walk, 1)) {
        return 0;
    }
    first = read(walk->at++);
    walk->family = first & 0x0Fu;
    walk->left = (uint8_t)((first >> 4) + 1u);
    walk->address = 0;
    if (walk->family == SW_FAMILY_RAW) {
        return 1;
    }
    if (walk->family == SW_FAMILY_FREE) {
        if (!walk->free) {
            return 0;
        }
        row.address_bits = read((uint16_t)(walk->free + SW_FREE_ADDRESS_BITS));
        row.command_bits = read((uint16_t)(walk->free + SW_FREE_COMMAND_BITS));
        if (row.address_bits > 16 || row.command_bits == 0 || row.command_bits > 32) {
            return 0;
        }
    } else if (!sw_family_row(walk->family, &row)) {
        return 0;
    }
    walk->bits = row.command_bits;
    if (!walk_number(read, walk, row.address_bits, &address)) {
        return 0;
    }
    walk->address = (uint16_t)address;
    return 1;
}

/* Takes a raw record. Gives 1 if it lies inside. A symbol that means no duration is found when the frame
 * is laid out: it would last no time at all. */
static uint8_t walk_raw(sw_reader read, struct walk *walk)
{
    uint16_t record = walk->at;
    uint16_t bytes;
    uint8_t count, distinct;

    if (!walk_has(walk, SW_RAW_DURATIONS)) {
        return 0;
    }
    count = read((uint16_t)(record + SW_RAW_COUNT));
    distinct = read((uint16_t)(record + SW_RAW_DISTINCT));
    if (count % 2u == 0 || count > SW_TIMINGS_MAX || distinct == 0 || distinct > SW_DISTINCT_MAX) {
        return 0;
    }
    bytes = (uint16_t)(SW_RAW_DURATIONS + 2u * distinct + (3u * count + 7u) / 8u);
    if (!walk_has(walk, bytes)) {
        return 0;
    }
    walk->at = (uint16_t)(record + bytes);
    return 1;
}

/* Takes the next command. Gives 1 if there is one that lies inside. */
static uint8_t walk_next(sw_reader read, struct walk *walk, struct sw_command *out)
{
    if (walk->left == 0 && !walk_group(read, walk)) {
        return 0;
    }
    walk->left--;
    out->command = 0;
    out->address = walk->address;
    out->raw = walk->at;
    out->free = walk->free;
    out->family = walk->family;
    if (walk->family == SW_FAMILY_RAW) {
        return walk_raw(read, walk);
    }
    return walk_number(read, walk, walk->bits, &out->command);
}

/* Whether it can be laid out, its first frame and those that follow. What the table has always can. */
static uint8_t can_be_sent(sw_reader read, const struct sw_command *command)
{
    struct sw_frame frame;

    return command->family <= SW_FAMILIES ||
           (sw_frame_plan(read, command, 0, SW_FRAME_FIRST, &frame) == SW_FAULT_NONE &&
            sw_frame_plan(read, command, 0, SW_FRAME_AGAIN, &frame) == SW_FAULT_NONE);
}

uint8_t sw_record_command(sw_reader read, uint16_t at, uint16_t length, uint16_t free, struct sw_command *out)
{
    struct walk walk;

    walk_start(&walk, at, (uint16_t)(at + length), free);
    if (!walk_next(read, &walk, out) || walk.left != 0 || walk.at != walk.end || !can_be_sent(read, out)) {
        return SW_FAULT_CODE;
    }
    return SW_FAULT_NONE;
}

uint8_t sw_image_command(sw_reader read, uint16_t body, uint8_t number, struct sw_command *out)
{
    struct outline lie;
    struct walk walk;

    outline(read, body, &lie);
    if (number >= lie.head[AT_COMMANDS]) {
        return 0;
    }
    walk_start(&walk, lie.commands, (uint16_t)(body + SW_BODY_MAX), lie.free);
    do {
        if (!walk_next(read, &walk, out)) {
            return 0;
        }
    } while (number--);
    return 1;
}

/* --- Whether it can be used --- */

/* The fixed part. */
static uint8_t head_holds(const struct outline *lie)
{
    uint8_t flags = lie->head[AT_FLAGS];
    uint8_t dwell = lie->head[AT_DWELL];
    uint16_t feed = head_word(lie, AT_FEED);

    return (flags & FLAG_REFERENCE) <= SW_REFERENCE_EXTERNAL && !(flags & FLAG_ZERO) &&
           lie->head[AT_ZERO] == 0 && dwell != 0 && dwell <= SW_DWELL_MAX_TICKS &&
           head_word(lie, AT_SETTLE) != 0 && (feed != 0) == ((flags & FLAG_MONITOR) != 0) &&
           feed / SW_LEVEL_PER_COUNT <= SW_COUNT_TOP && lie->head[AT_BUTTONS] <= SW_BUTTONS_MAX &&
           lie->head[AT_PAIRS] <= SW_PAIRS_MAX && lie->head[AT_COMMANDS] <= SW_COMMANDS_MAX;
}

static uint8_t bands_hold(sw_reader read, uint16_t body, const struct outline *lie)
{
    struct sw_band taken;
    uint16_t at;

    for (at = (uint16_t)(body + AT_BANDS); at != lie->pairs; at = (uint16_t)(at + BAND_BYTES)) {
        band(read, at, &taken);
        if (at >= lie->buttons && lie->wires == 2) {
            taken.low &= (uint16_t)~ON_SECOND_WIRE;
        }
        if ((taken.low | taken.high) > SW_COUNT_TOP) { /* which is all bits set */
            return 0;
        }
    }
    return 1;
}

static uint8_t pairs_hold(sw_reader read, const struct outline *lie)
{
    uint16_t at = lie->pairs;
    uint8_t left;

    for (left = lie->head[AT_PAIRS]; left != 0; left--) {
        uint16_t pair = sw_word(read, at);
        if ((pair & 0x0Fu) >= lie->head[AT_BUTTONS] || (pair >> 4 & 3u) > SW_GESTURE_DOUBLE_TAP ||
            (pair >> 7 & 0x1Fu) >= lie->head[AT_COMMANDS]) {
            return 0;
        }
        at = (uint16_t)(at + PAIR_BYTES);
    }
    return 1;
}

static uint8_t commands_hold(sw_reader read, const struct outline *lie, uint16_t end)
{
    struct sw_command command;
    struct walk walk;
    uint8_t left;

    walk_start(&walk, lie->commands, end, lie->free);
    for (left = lie->head[AT_COMMANDS]; left != 0; left--) {
        if (!walk_next(read, &walk, &command) || !can_be_sent(read, &command)) {
            return 0;
        }
    }
    return walk.at == end && walk.left == 0;
}

uint8_t sw_image_valid(sw_reader read, uint16_t body, uint16_t length)
{
    struct outline lie;

    if (length > SW_BODY_MAX) {
        return SW_FAULT_TOO_LONG;
    }
    if (length < AT_BANDS) {
        return SW_FAULT_CONTENTS;
    }
    outline(read, body, &lie);
    if (head_holds(&lie) && (uint16_t)(lie.commands - body) <= length && bands_hold(read, body, &lie) &&
        pairs_hold(read, &lie) && (!lie.free || sw_free_holds(read, lie.free)) &&
        commands_hold(read, &lie, (uint16_t)(body + length))) {
        return SW_FAULT_NONE;
    }
    return SW_FAULT_CONTENTS;
}

/* --- What it says --- */

void sw_image_settings(sw_reader read, uint16_t body, struct sw_settings *out)
{
    struct outline lie;
    uint8_t flags;

    outline(read, body, &lie);
    flags = lie.head[AT_FLAGS];
    out->feed_level = head_word(&lie, AT_FEED);
    out->mark = head_word(&lie, AT_MARK);
    out->reference = flags & FLAG_REFERENCE;
    out->feed_monitor = (flags & FLAG_MONITOR) != 0;
    out->infrared = (flags & FLAG_INFRARED) != 0;
    out->pairs = lie.head[AT_PAIRS];
    out->commands = lie.head[AT_COMMANDS];
    out->has_free = lie.free != 0;
}

void sw_image_rules(sw_reader read, uint16_t body, struct sw_rules *out)
{
    struct outline lie;
    uint16_t at = (uint16_t)(body + AT_BANDS);
    uint8_t i;

    memset(out, 0, sizeof *out);
    outline(read, body, &lie);
    out->settle_levels = head_word(&lie, AT_SETTLE);
    out->hold_ticks = head_word(&lie, AT_HOLD);
    out->double_ticks = head_word(&lie, AT_DOUBLE);
    out->buttons = lie.head[AT_BUTTONS];
    out->wires = lie.wires;
    out->dwell_ticks = lie.head[AT_DWELL];
    out->rollover = (lie.head[AT_FLAGS] & FLAG_ROLLOVER) != 0;
    out->rest[1].low = 1; /* takes nothing, where there is no second wire */
    for (i = 0; i < lie.wires; i++, at = (uint16_t)(at + BAND_BYTES)) {
        band(read, at, &out->rest[i]);
    }
    for (i = 0; i < out->buttons; i++, at = (uint16_t)(at + BAND_BYTES)) {
        struct sw_band *taken = &out->band[i];
        band(read, at, taken);
        if (taken->low & ON_SECOND_WIRE) {
            taken->low &= (uint16_t)~ON_SECOND_WIRE;
            out->second_wire |= (uint16_t)(1u << i);
        }
    }
    for (i = 0; i < lie.head[AT_PAIRS]; i++, at = (uint16_t)(at + PAIR_BYTES)) {
        uint8_t low = read(at);
        out->has[low & 0x0Fu] |= (uint8_t)(1u << (low >> 4 & 3u)); /* the gestures in the order of SW_HAS_… */
    }
}

uint8_t sw_image_pair(sw_reader read, uint16_t body, uint8_t button, uint8_t gesture, struct sw_pair *out)
{
    struct outline lie;
    uint16_t at;
    uint8_t left;

    outline(read, body, &lie);
    at = lie.pairs;
    for (left = lie.head[AT_PAIRS]; left != 0; left--, at = (uint16_t)(at + PAIR_BYTES)) {
        uint16_t pair = sw_word(read, at);
        if ((pair & 0x0Fu) == button && (pair >> 4 & 3u) == gesture) {
            out->command = pair >> 7 & 0x1Fu;
            out->repeats = pair >> 6 & 1u;
            out->every_50ms = (uint8_t)(pair >> 12);
            return 1;
        }
    }
    return 0;
}
