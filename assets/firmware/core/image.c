/* Reads the image: see image.h, and DEVELOPERS.md, "The image", for the layout. It is taken in order, by
 * a walk that gives nothing behind its end. */
#include "image.h"
#include <string.h>   /* memset */
#include "flash.h"    /* SW_APART */
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

SW_APART uint8_t sw_slot_choose(sw_reader read, struct sw_slot *out, uint8_t *damaged)
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
    struct sw_run run;
    struct sw_command command;  /* the last one taken; its group's family and address */
    uint16_t free;              /* the free family's record, or 0 */
    uint8_t left;               /* commands left in the group */
    uint8_t bits;               /* of the group's commands */
};

static void walk_start(struct walk *walk, uint16_t at, uint16_t end, uint16_t free)
{
    memset(walk, 0, sizeof *walk);
    sw_run_start(&walk->run, at, end);
    walk->free = free;
}

/* Takes a number of so many bits in the least whole bytes, and no more bits than that. */
SW_APART static void take_number(sw_reader read, struct walk *walk, uint8_t bits)
{
    uint32_t beyond;

    walk->command.command = 0;
    sw_take(read, &walk->run, &walk->command.command, (uint8_t)(bits + 7u) / 8u);
    for (beyond = walk->command.command; bits != 0; bits--) {
        beyond >>= 1;
    }
    if (beyond) {
        walk->run.bad = 1;
    }
}

/* Opens a group: its family, how many commands, its address. */
static void take_group(sw_reader read, struct walk *walk)
{
    struct sw_family row;
    uint8_t head = 0;

    sw_take(read, &walk->run, &head, 1);
    walk->left = (uint8_t)((head >> 4) + 1u);
    head &= 0x0Fu;
    walk->command.family = head;
    walk->command.record = walk->free;
    if (head != SW_FAMILY_RAW) {
        if (!sw_family_row(read, head, walk->free, &row)) {
            walk->run.bad = 1;
            return;
        }
        take_number(read, walk, row.address_bits);
        walk->command.address = (uint16_t)walk->command.command;
        walk->bits = row.command_bits;
    }
}

/* Whether a raw record can be sent is found when it is laid out. */
static void take_raw(sw_reader read, struct walk *walk)
{
    uint8_t head[SW_RAW_HEAD] = {0};

    walk->command.record = walk->run.at;
    sw_take(read, &walk->run, head, sizeof head);
    sw_skip(&walk->run, (uint16_t)(2u * head[SW_RAW_DISTINCT] + SW_SYMBOL_BYTES(head[SW_RAW_COUNT])));
}

static void take_command(sw_reader read, struct walk *walk)
{
    if (walk->left == 0) {
        take_group(read, walk);
    }
    walk->left--;
    if (walk->command.family == SW_FAMILY_RAW) {
        take_raw(read, walk);
    } else {
        take_number(read, walk, walk->bits);
    }
}

/* Takes the next command, if it can be laid out; what the table has always can. Its first frame says
 * it for those that follow: they are made of the same timings, but for a short one's, and sw_family_row has
 * looked at those. */
static void take_sendable(sw_reader read, struct walk *walk)
{
    struct sw_frame frame;

    take_command(read, walk);
    if (!walk->run.bad && walk->command.family > SW_FAMILIES &&
        sw_frame_plan(read, &walk->command, 0, SW_FRAME_FIRST, &frame) != SW_FAULT_NONE) {
        walk->run.bad = 1;
    }
}

/* --- An image --- */

static uint8_t settings_hold(const struct sw_rules *rules)
{
    return (rules->flags & SW_RULES_REFERENCE) <= SW_REFERENCE_EXTERNAL && !(rules->flags & SW_RULES_ZERO) &&
           rules->zero == 0 && rules->dwell_ticks != 0 && rules->dwell_ticks <= SW_DWELL_MAX_TICKS &&
           rules->settle_levels != 0 && (rules->feed_level != 0) == ((rules->flags & SW_RULES_MONITOR) != 0) &&
           rules->feed_level / SW_LEVEL_PER_COUNT <= SW_COUNT_TOP && rules->buttons <= SW_BUTTONS_MAX &&
           rules->pairs <= SW_PAIRS_MAX && rules->commands <= SW_COMMANDS_MAX;
}

static void take_bands(sw_reader read, struct sw_run *run, struct sw_rules *out)
{
    uint8_t bands, i;

    out->wires = out->flags & SW_RULES_TWO_WIRES ? 2 : 1;
    bands = (uint8_t)(out->wires + out->buttons);
    sw_take(read, run, out->band, (uint8_t)(sizeof *out->band * bands));
    for (i = 0; i < bands; i++) {
        uint16_t low = out->band[i].low;
        if (i > 1 && out->wires > 1) {
            low &= (uint16_t)~SW_ON_SECOND_WIRE;
        }
        if ((low | out->band[i].high) > SW_COUNT_TOP) { /* which is all bits set */
            run->bad = 1;
        }
    }
}

static void take_pairs(sw_reader read, struct sw_run *run, struct sw_rules *out)
{
    uint8_t left;

    for (left = out->pairs; left != 0; left--) {
        uint16_t pair = 0;
        uint8_t low, button, gesture;
        sw_take(read, run, &pair, sizeof pair);
        low = (uint8_t)pair;
        button = low & 0x0Fu;
        gesture = (uint8_t)(low >> 4) & 3u;
        if (button >= out->buttons || gesture > SW_GESTURE_DOUBLE_TAP ||
            SW_PAIR_COMMAND(pair) >= out->commands) {
            run->bad = 1;
        }
        out->has[button] |= (uint8_t)(1u << gesture); /* the gestures in the order of SW_HAS_… */
    }
}

uint8_t sw_image_load(sw_reader read, uint16_t body, uint16_t length, struct sw_image *out)
{
    struct walk walk;
    struct sw_family row;
    uint8_t left;

    if (length > SW_BODY_MAX) {
        return SW_FAULT_TOO_LONG;
    }
    memset(out, 0, sizeof *out);
    walk_start(&walk, body, (uint16_t)(body + length), 0);
    sw_take(read, &walk.run, &out->rules.flags, SW_RULES_SETTINGS);
    if (!settings_hold(&out->rules)) {
        return SW_FAULT_CONTENTS;
    }
    take_bands(read, &walk.run, &out->rules);
    out->pairs_at = walk.run.at;
    take_pairs(read, &walk.run, &out->rules);
    if (out->rules.flags & SW_RULES_FREE) {
        walk.free = sw_skip(&walk.run, SW_FREE_BYTES);
        if (walk.run.bad || !sw_family_row(read, SW_FAMILY_FREE, walk.free, &row)) {
            walk.run.bad = 1;
        }
    }
    out->free_at = walk.free;
    out->commands_at = walk.run.at;
    for (left = out->rules.commands; left != 0; left--) {
        take_sendable(read, &walk);
    }
    return walk.run.bad || walk.run.at != walk.run.end || walk.left != 0 ? SW_FAULT_CONTENTS : SW_FAULT_NONE;
}

SW_APART uint16_t sw_image_pair(sw_reader read, const struct sw_image *image, uint8_t button, uint8_t gesture)
{
    uint8_t wanted = (uint8_t)(gesture << 4) | button;
    uint16_t at = image->pairs_at;
    uint16_t pair;
    uint8_t left;

    for (left = image->rules.pairs; left != 0; left--) {
        sw_read(read, at, &pair, sizeof pair);
        at = (uint16_t)(at + sizeof pair);
        if ((uint8_t)(pair & 0x3Fu) == wanted) {
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
    take_sendable(read, &walk);
    if (walk.run.bad || walk.left != 0 || walk.run.at != walk.run.end) {
        return SW_FAULT_CODE;
    }
    *out = walk.command;
    return SW_FAULT_NONE;
}
