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

static uint16_t word(sw_reader read, uint16_t at)
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
    out->length = word(read, (uint16_t)(base + 4u));
    out->check = word(read, (uint16_t)(base + 6u));
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

static uint8_t wires(sw_reader read, uint16_t body)
{
    return read(body) & FLAG_TWO_WIRES ? 2 : 1;
}

static uint16_t buttons_at(sw_reader read, uint16_t body)
{
    return (uint16_t)(body + AT_BANDS + BAND_BYTES * wires(read, body));
}

static uint16_t pairs_at(sw_reader read, uint16_t body)
{
    return (uint16_t)(buttons_at(read, body) + BAND_BYTES * read((uint16_t)(body + AT_BUTTONS)));
}

/* The free family's record, or the commands where there is none. */
static uint16_t free_at(sw_reader read, uint16_t body)
{
    return (uint16_t)(pairs_at(read, body) + PAIR_BYTES * read((uint16_t)(body + AT_PAIRS)));
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

/* Takes a raw record. Gives 1 if it lies inside and its symbols all mean a duration. */
static uint8_t walk_raw(sw_reader read, struct walk *walk)
{
    uint16_t record = walk->at;
    uint16_t bytes;
    uint8_t count, distinct, i;

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
    for (i = 0; i < count; i++) {
        if (sw_raw_symbol(read, record, i) >= distinct) {
            return 0;
        }
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
    struct walk walk;
    uint16_t free = free_at(read, body);
    uint8_t has_free = read(body) & FLAG_FREE;

    if (number >= read((uint16_t)(body + AT_COMMANDS))) {
        return 0;
    }
    walk_start(&walk, has_free ? (uint16_t)(free + FREE_BYTES) : free, (uint16_t)(body + SW_BODY_MAX),
               has_free ? free : 0);
    do {
        if (!walk_next(read, &walk, out)) {
            return 0;
        }
    } while (number--);
    return 1;
}

/* --- Whether it can be used --- */

static uint8_t count_holds(uint16_t count)
{
    return count <= SW_COUNT_TOP;
}

static uint8_t pair_holds(sw_reader read, uint16_t body, uint16_t pair)
{
    return (pair & 0x0Fu) < read((uint16_t)(body + AT_BUTTONS)) &&
           (pair >> 4 & 3u) <= SW_GESTURE_DOUBLE_TAP &&
           (pair >> 7 & 0x1Fu) < read((uint16_t)(body + AT_COMMANDS));
}

/* The fixed part, and that bands, pairs and the free family's record lie inside. */
static uint8_t outline_holds(sw_reader read, uint16_t body, uint16_t length)
{
    uint8_t flags;
    uint16_t need;

    if (length < AT_BANDS) {
        return 0;
    }
    flags = read(body);
    if ((flags & FLAG_REFERENCE) > SW_REFERENCE_EXTERNAL || flags & FLAG_ZERO ||
        read((uint16_t)(body + AT_ZERO)) != 0 || read((uint16_t)(body + AT_BUTTONS)) > SW_BUTTONS_MAX ||
        read((uint16_t)(body + AT_PAIRS)) > SW_PAIRS_MAX ||
        read((uint16_t)(body + AT_COMMANDS)) > SW_COMMANDS_MAX) {
        return 0;
    }
    need = (uint16_t)(free_at(read, body) - body + (flags & FLAG_FREE ? FREE_BYTES : 0));
    return need <= length;
}

static uint8_t settings_hold(sw_reader read, uint16_t body)
{
    uint8_t dwell = read((uint16_t)(body + AT_DWELL));
    uint16_t feed = word(read, (uint16_t)(body + AT_FEED));
    uint8_t monitor = (read(body) & FLAG_MONITOR) != 0;

    return dwell != 0 && dwell <= SW_DWELL_MAX_TICKS && word(read, (uint16_t)(body + AT_SETTLE)) != 0 &&
           (feed != 0) == monitor && count_holds(feed / SW_LEVEL_PER_COUNT);
}

static uint8_t bands_hold(sw_reader read, uint16_t body)
{
    uint16_t at = (uint16_t)(body + AT_BANDS);
    uint16_t buttons = buttons_at(read, body);
    uint16_t end = pairs_at(read, body);

    for (; at != end; at = (uint16_t)(at + BAND_BYTES)) {
        uint16_t low = word(read, at);
        if (at >= buttons && wires(read, body) == 2) {
            low &= (uint16_t)~ON_SECOND_WIRE;
        }
        if (!count_holds(low) || !count_holds(word(read, (uint16_t)(at + 2u)))) {
            return 0;
        }
    }
    return 1;
}

uint8_t sw_image_valid(sw_reader read, uint16_t body, uint16_t length)
{
    struct sw_command command;
    struct walk walk;
    uint16_t at, free;
    uint8_t left, has_free;

    if (length > SW_BODY_MAX) {
        return SW_FAULT_TOO_LONG;
    }
    if (!outline_holds(read, body, length) || !settings_hold(read, body) || !bands_hold(read, body)) {
        return SW_FAULT_CONTENTS;
    }
    free = free_at(read, body);
    for (at = pairs_at(read, body); at != free; at = (uint16_t)(at + PAIR_BYTES)) {
        if (!pair_holds(read, body, word(read, at))) {
            return SW_FAULT_CONTENTS;
        }
    }
    has_free = (read(body) & FLAG_FREE) != 0;
    if (has_free && !sw_free_holds(read, free)) {
        return SW_FAULT_CONTENTS;
    }
    walk_start(&walk, has_free ? (uint16_t)(free + FREE_BYTES) : free, (uint16_t)(body + length),
               has_free ? free : 0);
    for (left = read((uint16_t)(body + AT_COMMANDS)); left != 0; left--) {
        if (!walk_next(read, &walk, &command) || !can_be_sent(read, &command)) {
            return SW_FAULT_CONTENTS;
        }
    }
    return walk.at == walk.end && walk.left == 0 ? SW_FAULT_NONE : SW_FAULT_CONTENTS;
}

/* --- What it says --- */

void sw_image_settings(sw_reader read, uint16_t body, struct sw_settings *out)
{
    uint8_t flags = read(body);

    out->feed_level = word(read, (uint16_t)(body + AT_FEED));
    out->mark = word(read, (uint16_t)(body + AT_MARK));
    out->reference = flags & FLAG_REFERENCE;
    out->feed_monitor = (flags & FLAG_MONITOR) != 0;
    out->infrared = (flags & FLAG_INFRARED) != 0;
    out->pairs = read((uint16_t)(body + AT_PAIRS));
    out->commands = read((uint16_t)(body + AT_COMMANDS));
    out->has_free = (flags & FLAG_FREE) != 0;
}

void sw_image_rules(sw_reader read, uint16_t body, struct sw_rules *out)
{
    uint16_t at = (uint16_t)(body + AT_BANDS);
    uint16_t free = free_at(read, body);
    uint8_t i;

    memset(out, 0, sizeof *out);
    out->settle_levels = word(read, (uint16_t)(body + AT_SETTLE));
    out->hold_ticks = word(read, (uint16_t)(body + AT_HOLD));
    out->double_ticks = word(read, (uint16_t)(body + AT_DOUBLE));
    out->buttons = read((uint16_t)(body + AT_BUTTONS));
    out->wires = wires(read, body);
    out->dwell_ticks = read((uint16_t)(body + AT_DWELL));
    out->rollover = (read(body) & FLAG_ROLLOVER) != 0;
    for (i = 0; i < SW_WIRES; i++) {
        out->rest[i].low = 1; /* takes nothing, where there is no such wire */
        if (i < out->wires) {
            out->rest[i].low = word(read, at);
            out->rest[i].high = word(read, (uint16_t)(at + 2u));
            at = (uint16_t)(at + BAND_BYTES);
        }
    }
    for (i = 0; i < out->buttons; i++) {
        uint16_t low = word(read, at);
        if (low & ON_SECOND_WIRE) {
            out->second_wire |= (uint16_t)(1u << i);
        }
        out->band[i].low = low & (uint16_t)~ON_SECOND_WIRE;
        out->band[i].high = word(read, (uint16_t)(at + 2u));
        at = (uint16_t)(at + BAND_BYTES);
    }
    for (; at != free; at = (uint16_t)(at + PAIR_BYTES)) {
        uint8_t low = read(at);
        out->has[low & 0x0Fu] |= (uint8_t)(1u << (low >> 4 & 3u)); /* the gestures in the order of SW_HAS_… */
    }
}

uint8_t sw_image_pair(sw_reader read, uint16_t body, uint8_t button, uint8_t gesture, struct sw_pair *out)
{
    uint16_t at = pairs_at(read, body);
    uint16_t free = free_at(read, body);

    for (; at != free; at = (uint16_t)(at + PAIR_BYTES)) {
        uint16_t pair = word(read, at);
        if ((pair & 0x0Fu) == button && (pair >> 4 & 3u) == gesture) {
            out->command = pair >> 7 & 0x1Fu;
            out->repeats = pair >> 6 & 1u;
            out->every_50ms = (uint8_t)(pair >> 12);
            return 1;
        }
    }
    return 0;
}
