/* The image as it lies in EEPROM: settings, bands, pairs, codes. The layout, with its byte budget, is
 * written down in DEVELOPERS.md, "The image"; the library's room `image` writes it. */
#ifndef SW_IMAGE_H
#define SW_IMAGE_H

#include <stdint.h>
#include "limits.h"
#include "pulse.h"
#include "reader.h"
#include "recogniser.h"

#define SW_IMAGE_MAGIC 0xB5u
#define SW_IMAGE_FORMAT 1u

/* A slot's header as it lies there. */
struct sw_slot {
    uint8_t magic;
    uint8_t format;
    uint8_t sequence;
    uint8_t inverse;    /* of the sequence */
    uint16_t length;    /* bytes of the body */
    uint16_t check;     /* CRC-16 over format, length and body */
};

/* The slot in use: whole, and the later one where both are. Gives 0, 1, or SW_NO_SLOT; `damaged` is
 * set if a slot begins like an image and its check fails. */
#define SW_NO_SLOT 255u
uint8_t sw_slot_choose(sw_reader read, struct sw_slot *out, uint8_t *damaged);

/* Where the body of slot 0 or 1 starts. */
uint16_t sw_slot_body(uint8_t number);

/* CRC-16 of a body, as the header keeps it. */
uint16_t sw_image_check(sw_reader read, uint16_t body, uint16_t length);

#define SW_REFERENCE_SUPPLY 0u
#define SW_REFERENCE_INTERNAL 1u
#define SW_REFERENCE_EXTERNAL 2u

/* An image in use: what of it is kept in memory, and where the rest lies. */
struct sw_image {
    uint16_t pairs_at;
    uint16_t free_at;       /* the free family's record, 0 without */
    uint16_t commands_at;
    struct sw_rules rules;  /* last: it is long */
};

/* Takes a body into use, if everything in it can be used; else gives a fault of messages.h, and `out`
 * is none. What follows expects an image that this has filled. */
uint8_t sw_image_load(sw_reader read, uint16_t body, uint16_t length, struct sw_image *out);

/* A pair as it lies there: the command's number, whether it is sent on while the button is held, and
 * how often: 0, the family's own repeat; else a press anew each so many times 50 ms. */
#define SW_PAIR_COMMAND(pair) ((uint8_t)((uint16_t)((pair) << 1) >> 8) & 0x1Fu)
#define SW_PAIR_REPEATS(pair) ((uint8_t)(pair) & 0x40u)
#define SW_PAIR_EVERY_50MS(pair) (uint8_t)((pair) >> 12)
#define SW_NO_PAIR 0xFFFFu

#define SW_GESTURE_TAP 0u
#define SW_GESTURE_HOLD 1u
#define SW_GESTURE_DOUBLE_TAP 2u
/* The pair of a button of the image's, or SW_NO_PAIR. */
uint16_t sw_image_pair(sw_reader read, const struct sw_image *image, uint8_t button, uint8_t gesture);

/* Gives 1 if there is a command with that number. */
uint8_t sw_image_command(sw_reader read, const struct sw_image *image, uint8_t number, struct sw_command *out);

/* Reads one record of the commands (a group of one) that lies at `at` and is `length` long, as the
 * message `send` carries it. `free` is where a free family's record starts, 0 without. Gives a fault. */
uint8_t sw_record_command(sw_reader read, uint16_t at, uint16_t length, uint16_t free, struct sw_command *out);

#endif
