/* The families of codes: nine that the box knows by itself, rows of a table in flash, and the free one
 * that an image may describe. The library's table (src/remote/table.rs) has the sources of the figures;
 * a test holds the two together. */
#ifndef SW_FAMILY_H
#define SW_FAMILY_H

#include <stdint.h>
#include "limits.h"
#include "reader.h"

/* The shortest time the output keeps up with, in ticks. */
#define SW_LEAST_TICKS (2u * SW_LEAST_PULSE_US)

#define SW_FAMILIES 9u
#define SW_FAMILY_FREE 14u
#define SW_FAMILY_RAW 15u

/* How bits are sent, and what is sent while held: the flags of a free family's record. */
#define SW_HIGH_FIRST 0x01u
#define SW_STOP_MARK 0x02u
#define SW_ADDRESS_INVERSE 0x04u    /* follows the address; the command's is the next flag */
#define SW_COMMAND_INVERSE 0x08u
#define SW_REPEAT 0x30u
#define SW_REPEAT_WHOLE 0x00u
#define SW_REPEAT_ONCE 0x10u        /* nothing */
#define SW_REPEAT_BARE 0x20u        /* the bits without the leader */
#define SW_REPEAT_SHORT 0x30u       /* the leader's mark, half its space, a mark */

/* What only the table has. */
#define SW_COMMAND_FIRST 0x01u
#define SW_RC5 0x02u                /* bi-phase; the head of its frame is in pulse.c, as rc6's is */
#define SW_RC6 0x04u
#define SW_BI_PHASE (SW_RC5 | SW_RC6)

/* Which time is which; a space follows its mark. */
#define SW_LEADER 0u                /* 0 where there is none */
#define SW_ZERO 2u
#define SW_ONE 4u
/* Bi-phase: behind the leader the lengths of one to four halves of a bit, which neighbours of one level
 * join to. */
#define SW_HALVES(count) (1u + (count))

#define SW_FAMILY_TIMES 6u
struct sw_family {
    uint16_t period;                /* frame start to frame start, in 32 ticks */
    uint8_t flags;
    uint8_t carrier_khz;
    uint8_t address_bits;
    uint8_t command_bits;
    uint8_t more_ticks;             /* of the period */
    uint8_t least_frames;           /* however short the press; 0: one, and no more while held */
    uint8_t kind;                   /* SW_COMMAND_FIRST, SW_RC5 or SW_RC6 */
    uint16_t time[SW_DISTINCT_MAX]; /* in ticks of 0.5 us; rc6: in quarters of its unit */
};

#define SW_USUAL_KHZ 38u

/* Bytes of a free family's record. */
#define SW_FREE_BYTES 18u

/* The row of a family: of the table, or of the free family's record at `free`, where that is not 0.
 * Gives 1 if there is one and, of a record, it can be used at all. */
uint8_t sw_family_row(sw_reader read, uint8_t family, uint16_t free, struct sw_family *out);

#endif
