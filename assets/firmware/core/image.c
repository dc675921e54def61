/* Reads the image: see image.h, and DEVELOPERS.md, "The image", for the layout. It is taken in order, by
 * a walk that gives nothing behind its end. */
#include "image.h"
#include <string.h>   /* memset */
#include "family.h"   /* how wide a family's address and command are */
#include "frame.h"    /* sw_crc */
#include "messages.h" /* faults */

/* --- Slots --- */

uint16_t sw_slot_body(uint8_t number)
{
    return number ? SW_SLOT_BYTES + SW_SLOT_HEADER : SW_SLOT_HEADER;
}

uint16_t sw_image_check(sw_reader read, uint16_t body, uint16_t length)
{
    uint16_t crc = sw_crc(SW_CRC_START, SW_IMAGE_FORMAT);

    crc = sw_crc(crc, (uint8_t)length);
    crc = sw_crc(crc, (uint8_t)(length >> 8));
    for (; length != 0; length--) {
        crc = sw_crc(crc, read(body++));
    }
    return crc;
}

static uint8_t slot_is_whole(sw_reader read, const struct sw_slot *slot, uint16_t body)
{
    return slot->format == SW_IMAGE_FORMAT && (uint8_t)(slot->sequence ^ slot->inverse) == 0xFFu &&
           slot->length <= SW_BODY_MAX && sw_image_check(read, body, slot->length) == slot->check;
}

uint8_t sw_slot_choose(sw_reader read, struct sw_slot *out, uint8_t *damaged)
{
    struct sw_slot slot;
    uint8_t chosen = SW_NO_SLOT;
    uint8_t i;

    *damaged = 0;
    for (i = 0; i < 2; i++) {
        uint16_t body = sw_slot_body(i);
        sw_read(read, (uint16_t)(body - SW_SLOT_HEADER), &slot, sizeof slot);
        if (slot.magic != SW_IMAGE_MAGIC) { /* never written, or taken back */
            continue;
        }
        if (!slot_is_whole(read, &slot, body)) {
            *damaged = 1;
        } else if (chosen == SW_NO_SLOT || (int8_t)(uint8_t)(slot.sequence - out->sequence) > 0) {
            *out = slot;
            chosen = i;
        }
    }
    return chosen;
}

/* --- A walk over what an image holds --- */

struct walk {
    struct sw_command command;  /* the last one taken; its group's family and address */
    struct sw_family row;       /* of that family */
    uint16_t at;
    uint16_t end;               /* behind the last byte that may be read */
    uint16_t free;              /* the free family's record, or 0 */
    uint8_t left;               /* commands left in the group */
};

static void walk_start(struct walk *walk, uint16_t at, uint16_t end, uint16_t free)
{
    walk->at = at;
    walk->end = end;
    walk->free = free;
    walk->left = 0;
}

/* Leaves bytes behind. Gives 1 if they are there. */
static uint8_t skip(struct walk *walk, uint16_t bytes)
{
    if ((uint16_t)(walk->end - walk->at) < bytes) {
        return 0;
    }
    walk->at = (uint16_t)(walk->at + bytes);
    return 1;
}

/* Takes bytes. Gives 1 if they are there. */
static uint8_t take(sw_reader read, struct walk *walk, void *to, uint8_t bytes)
{
    uint16_t at = walk->at;

    if (!skip(walk, bytes)) {
        return 0;
    }
    sw_read(read, at, to, bytes);
    return 1;
}

/* Takes a number of so many bits in the least whole bytes. Gives 1 if it is there and in range. */
static uint8_t take_number(sw_reader read, struct walk *walk, uint8_t bits, uint32_t *out)
{
    uint32_t beyond;

    *out = 0;
    if (!take(read, walk, out, (uint8_t)((bits + 7u) / 8u))) {
        return 0;
    }
    for (beyond = *out; bits != 0; bits--) {
        beyond >>= 1;
    }
    return beyond == 0;
}

/* Opens a group: its family, how many commands, its address. Gives 1 if that can be. */
static uint8_t take_group(sw_reader read, struct walk *walk)
{
    uint32_t address;
    uint8_t head;

    if (!take(read, walk, &head, 1)) {
        return 0;
    }
    walk->left = (uint8_t)((head >> 4) + 1u);
    walk->command.family = head & 0x0Fu;
    if (walk->command.family == SW_FAMILY_RAW) {
        return 1;
    }
    if (!sw_family_row(read, walk->command.family, walk->free, &walk->row) ||
        !take_number(read, walk, walk->row.address_bits, &address)) {
        return 0;
    }
    walk->command.record = walk->free;
    walk->command.address = (uint16_t)address;
    return 1;
}

/* Takes a raw record: whether it can be sent is found when it is laid out. Gives 1 if it is there. */
static uint8_t take_raw(sw_reader read, struct walk *walk)
{
    uint8_t head[SW_RAW_HEAD];

    walk->command.record = walk->at;
    return take(read, walk, head, sizeof head) &&
           skip(walk, (uint16_t)(2u * head[SW_RAW_DISTINCT] + SW_SYMBOL_BYTES(head[SW_RAW_COUNT])));
}

/* Takes the next command. Gives 1 if it is there. */
static uint8_t take_command(sw_reader read, struct walk *walk)
{
    if (walk->left == 0 && !take_group(read, walk)) {
        return 0;
    }
    walk->left--;
    if (walk->command.family == SW_FAMILY_RAW) {
        return take_raw(read, walk);
    }
    return take_number(read, walk, walk->row.command_bits, &walk->command.command);
}

/* Takes the next command, if it can be laid out, its first frame and those that follow. What the table
 * has always can. */
static uint8_t take_sendable(sw_reader read, struct walk *walk)
{
    struct sw_frame frame;

    return take_command(read, walk) &&
           (walk->command.family <= SW_FAMILIES ||
            (sw_frame_plan(read, &walk->command, 0, SW_FRAME_FIRST, &frame) == SW_FAULT_NONE &&
             sw_frame_plan(read, &walk->command, 0, SW_FRAME_AGAIN, &frame) == SW_FAULT_NONE));
}

/* --- An image --- */

static uint8_t take_settings(sw_reader read, struct walk *walk, struct sw_rules *out)
{
    return take(read, walk, &out->flags, SW_RULES_SETTINGS) &&
           (out->flags & SW_RULES_REFERENCE) <= SW_REFERENCE_EXTERNAL && !(out->flags & SW_RULES_ZERO) &&
           out->zero == 0 && out->dwell_ticks != 0 && out->dwell_ticks <= SW_DWELL_MAX_TICKS &&
           out->settle_levels != 0 && (out->feed_level != 0) == ((out->flags & SW_RULES_MONITOR) != 0) &&
           out->feed_level / SW_LEVEL_PER_COUNT <= SW_COUNT_TOP && out->buttons <= SW_BUTTONS_MAX &&
           out->pairs <= SW_PAIRS_MAX && out->commands <= SW_COMMANDS_MAX;
}

static uint8_t take_bands(sw_reader read, struct walk *walk, struct sw_rules *out)
{
    uint8_t wires = out->flags & SW_RULES_TWO_WIRES ? 2 : 1;
    uint8_t bands = (uint8_t)(wires + out->buttons);
    uint8_t i;

    out->wires = wires;
    if (!take(read, walk, out->band, (uint8_t)(sizeof *out->band * bands))) {
        return 0;
    }
    for (i = 0; i < bands; i++) {
        uint16_t low = out->band[i].low;
        if (i >= wires && wires == 2) {
            low &= (uint16_t)~SW_ON_SECOND_WIRE;
        }
        if ((low | out->band[i].high) > SW_COUNT_TOP) { /* which is all bits set */
            return 0;
        }
    }
    return 1;
}

static uint8_t take_pairs(sw_reader read, struct walk *walk, struct sw_rules *out)
{
    uint16_t pair;
    uint8_t left;

    for (left = out->pairs; left != 0; left--) {
        uint8_t button, gesture;
        if (!take(read, walk, &pair, sizeof pair)) {
            return 0;
        }
        button = pair & 0x0Fu;
        gesture = (uint8_t)pair >> 4 & 3u;
        if (button >= out->buttons || gesture > SW_GESTURE_DOUBLE_TAP ||
            SW_PAIR_COMMAND(pair) >= out->commands) {
            return 0;
        }
        out->has[button] |= (uint8_t)(1u << gesture); /* the gestures in the order of SW_HAS_… */
    }
    return 1;
}

static uint8_t take_free(sw_reader read, struct walk *walk, const struct sw_rules *rules)
{
    if (!(rules->flags & SW_RULES_FREE)) {
        return 1;
    }
    walk->free = walk->at;
    return skip(walk, SW_FREE_BYTES) && sw_family_row(read, SW_FAMILY_FREE, walk->free, &walk->row);
}

static uint8_t take_commands(sw_reader read, struct walk *walk, const struct sw_rules *rules)
{
    uint8_t left;

    for (left = rules->commands; left != 0; left--) {
        if (!take_sendable(read, walk)) {
            return 0;
        }
    }
    return walk->at == walk->end && walk->left == 0;
}

uint8_t sw_image_load(sw_reader read, uint16_t body, uint16_t length, struct sw_image *out)
{
    struct walk walk;
    uint8_t holds;

    if (length > SW_BODY_MAX) {
        return SW_FAULT_TOO_LONG;
    }
    memset(out, 0, sizeof *out);
    walk_start(&walk, body, (uint16_t)(body + length), 0);
    holds = take_settings(read, &walk, &out->rules) && take_bands(read, &walk, &out->rules);
    out->pairs_at = walk.at;
    holds = holds && take_pairs(read, &walk, &out->rules) && take_free(read, &walk, &out->rules);
    out->free_at = walk.free;
    out->commands_at = walk.at;
    return holds && take_commands(read, &walk, &out->rules) ? SW_FAULT_NONE : SW_FAULT_CONTENTS;
}

uint16_t sw_image_pair(sw_reader read, const struct sw_image *image, uint8_t button, uint8_t gesture)
{
    uint8_t wanted = (uint8_t)(gesture << 4 | button);
    uint16_t at = image->pairs_at;
    uint16_t pair;
    uint8_t left;

    for (left = image->rules.pairs; left != 0; left--) {
        sw_read(read, at, &pair, sizeof pair);
        at = (uint16_t)(at + sizeof pair);
        if (((uint8_t)pair & 0x3Fu) == wanted) {
            return pair;
        }
    }
    return SW_NO_PAIR;
}

uint8_t sw_image_command(sw_reader read, const struct sw_image *image, uint8_t number, struct sw_command *out)
{
    struct walk walk;

    if (number >= image->rules.commands) {
        return 0;
    }
    walk_start(&walk, image->commands_at, UINT16_MAX, image->free_at);
    do {
        take_command(read, &walk);
    } while (number--);
    *out = walk.command;
    return 1;
}

uint8_t sw_record_command(sw_reader read, uint16_t at, uint16_t length, uint16_t free, struct sw_command *out)
{
    struct walk walk;

    walk_start(&walk, at, (uint16_t)(at + length), free);
    if (!take_sendable(read, &walk) || walk.left != 0 || walk.at != walk.end) {
        return SW_FAULT_CODE;
    }
    *out = walk.command;
    return SW_FAULT_NONE;
}
