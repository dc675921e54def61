/* The families of codes the box knows by itself: rows of a table in flash. The library's table
 * (src/remote/table.rs) has the sources of the figures; a test holds the two together. */
#ifndef SW_FAMILY_H
#define SW_FAMILY_H

#include <stdint.h>

/* A field of a frame: bits of the address or the command from one of them up, or a fixed value. */
struct sw_field {
    uint8_t holds; /* SW_HOLDS_… in the low three bits, above them the first bit or the fixed value */
    uint8_t width; /* bits; SW_DOUBLE set: each twice as long */
};
#define SW_HOLDS_FIXED 0u
#define SW_HOLDS_TOGGLE 1u
#define SW_HOLDS_ADDRESS 2u
#define SW_HOLDS_ADDRESS_INVERSE 3u
#define SW_HOLDS_COMMAND 4u
#define SW_HOLDS_COMMAND_INVERSE 5u
#define SW_HOLDS(kind, from) (uint8_t)((kind) | (from) << 3)
#define SW_DOUBLE 0x80u
#define SW_FIELDS_MAX 5u

/* How bits are sent, and what is sent while held: as a free family's record has it, and above that
 * what only the table knows. */
#define SW_HIGH_FIRST 0x01u
#define SW_STOP_MARK 0x02u
#define SW_REPEAT 0x30u
#define SW_REPEAT_WHOLE 0x00u
#define SW_REPEAT_ONCE 0x10u
#define SW_REPEAT_BARE 0x20u        /* the bits without the leader */
#define SW_REPEAT_SHORT 0x30u       /* the leader's mark, half its space, a mark */
#define SW_BI_PHASE 0x40u           /* half a bit each of mark and space, a unit each */
#define SW_ONE_OPENS_WITH_MARK 0x80u

struct sw_family {
    uint32_t unit;              /* in 1/256 ticks of 0.5 us */
    uint32_t period_ticks;      /* frame start to frame start */
    uint8_t leader_mark;        /* all in units; 0 without leader */
    uint8_t leader_space;
    uint8_t zero_mark;
    uint8_t zero_space;
    uint8_t one_mark;
    uint8_t one_space;
    uint8_t flags;
    uint8_t least_frames;
    uint8_t carrier_khz;
    uint8_t address_bits;
    uint8_t command_bits;
    struct sw_field field[SW_FIELDS_MAX]; /* in the order they are sent; a width of 0 ends them */
};

/* The row of a family, 1 to SW_FAMILIES. Gives 1 if there is one. */
#define SW_FAMILIES 9u
uint8_t sw_family_row(uint8_t family, struct sw_family *out);

#endif
