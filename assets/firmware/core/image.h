/* The image as it lies in EEPROM: settings, bands, pairs, codes. Read byte by byte through a
 * function, so that it can lie anywhere. The layout, with its byte budget, is written down in
 * DEVELOPERS.md, "The image"; the library's room `image` writes it. */
#ifndef SW_IMAGE_H
#define SW_IMAGE_H

#include <stdint.h>
#include "limits.h"
#include "recogniser.h"

/* Gives the byte at an offset, counted over both slots and the tail. */
typedef uint8_t (*sw_reader)(uint16_t offset);

/* The number at an offset: low byte first, like all of them. */
uint16_t sw_word(sw_reader read, uint16_t at);

#define SW_IMAGE_MAGIC 0xB5u
#define SW_IMAGE_FORMAT 1u

/* A slot's header. */
struct sw_slot {
    uint16_t base;      /* where the slot starts */
    uint16_t length;    /* bytes of the body */
    uint16_t check;     /* CRC-16 over format, length and body */
    uint8_t sequence;
    uint8_t state;      /* SW_SLOT_… */
};
#define SW_SLOT_EMPTY 0u    /* never written, or taken back */
#define SW_SLOT_WHOLE 1u
#define SW_SLOT_DAMAGED 2u  /* it begins like an image, and its check fails */

/* Looks at slot 0 or 1. */
void sw_slot_look(sw_reader read, uint8_t number, struct sw_slot *out);

/* The slot in use: whole, and the later one where both are. Gives 0, 1, or SW_NO_SLOT; `damaged` is
 * set if a slot is damaged. */
#define SW_NO_SLOT 255u
uint8_t sw_slot_choose(sw_reader read, struct sw_slot *out, uint8_t *damaged);

/* CRC-16 of a body that lies at `base + SW_SLOT_HEADER`, as the header keeps it. */
uint16_t sw_image_check(sw_reader read, uint16_t base, uint16_t length);

/* Whether everything in a body can be used; a fault of messages.h. `body` is where the body starts. */
uint8_t sw_image_valid(sw_reader read, uint16_t body, uint16_t length);

#define SW_REFERENCE_SUPPLY 0u
#define SW_REFERENCE_INTERNAL 1u
#define SW_REFERENCE_EXTERNAL 2u

struct sw_settings {
    uint16_t feed_level;    /* the feed monitor at the nominal feed, as a level; 0 without monitor */
    uint16_t mark;          /* tells one vehicle's image from another's */
    uint8_t reference;      /* SW_REFERENCE_… */
    uint8_t feed_monitor;
    uint8_t infrared;       /* whether the LED on the second pin is sent, too */
    uint8_t pairs;
    uint8_t commands;
    uint8_t has_free;
};

/* These expect a body that sw_image_valid has passed. */
void sw_image_settings(sw_reader read, uint16_t body, struct sw_settings *out);
void sw_image_rules(sw_reader read, uint16_t body, struct sw_rules *out);

#define SW_GESTURE_TAP 0u
#define SW_GESTURE_HOLD 1u
#define SW_GESTURE_DOUBLE_TAP 2u

struct sw_pair {
    uint8_t command;    /* its number in the image */
    uint8_t repeats;    /* sent on while the button is held */
    uint8_t every_50ms; /* 0: the family's own repeat; else a press anew each so many times 50 ms */
};
/* Gives 1 if there is one. */
uint8_t sw_image_pair(sw_reader read, uint16_t body, uint8_t button, uint8_t gesture, struct sw_pair *out);

/* A command, and where the image says more of it. */
#define SW_FAMILY_FREE 14u
#define SW_FAMILY_RAW 15u
struct sw_command {
    uint32_t command;
    uint16_t address;
    uint16_t raw;       /* where the raw record starts, for SW_FAMILY_RAW */
    uint16_t free;      /* where the free family's record starts, for SW_FAMILY_FREE */
    uint8_t family;     /* 1 to 9 in the table's order, SW_FAMILY_FREE or SW_FAMILY_RAW */
};
/* Gives 1 if there is one. */
uint8_t sw_image_command(sw_reader read, uint16_t body, uint8_t number, struct sw_command *out);

/* Reads one record of the commands (a group of one) that lies at `at` and is `length` long, as the
 * message `send` carries it. `free` is where a free family's record starts, 0 without. Gives a fault. */
uint8_t sw_record_command(sw_reader read, uint16_t at, uint16_t length, uint16_t free, struct sw_command *out);

#endif
