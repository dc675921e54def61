/* A command as marks and spaces: what the families' table, the free family's record or a raw record
 * says, laid out for the output. */
#ifndef SW_PULSE_H
#define SW_PULSE_H

#include <stdint.h>
#include "family.h" /* SW_FAMILY_… of a command */
#include "limits.h"
#include "reader.h"

/* A tick of the output is 0.5 us. Timings are finer, so that a frame's edges do not drift where a
 * family's unit is no whole number of ticks. */
#define SW_TICKS_PER_US 2u
#define SW_TICK_PARTS 256u

/* A command, and where the image says more of it. */
struct sw_command {
    uint32_t command;
    uint16_t address;
    uint16_t record;    /* where the raw record starts, or the free family's */
    uint8_t family;     /* 1 to 9 in the table's order, SW_FAMILY_FREE or SW_FAMILY_RAW */
};

/* One frame: timings by symbol, mark first, the last one a mark. Symbols lie as in a raw record: three
 * bits each, the lowest first. */
#define SW_SYMBOL_BITS 3u
#define SW_SYMBOL_BYTES(count) ((SW_SYMBOL_BITS * (count) + 7u) / 8u)
struct sw_frame {
    struct sw_family row;   /* what it was laid out by: `time` is in `unit`, and by symbol */
    uint32_t gap_ticks;     /* from the last edge to the next frame; 0: sent once */
    uint16_t unit;          /* in 1/256 ticks */
    uint8_t count;          /* timings */
    uint8_t at;             /* the one that comes next */
    uint8_t rest;           /* what rounding has left over so far, in 1/256 ticks */
    uint8_t symbol[SW_SYMBOL_BYTES(SW_TIMINGS_MAX) + 1u]; /* one more: two are read at once */
};

/* Which frame of a press. */
#define SW_FRAME_FIRST 0u
#define SW_FRAME_AGAIN 1u

/* Lays a frame out. Gives a fault of messages.h (SW_FAULT_CODE where it can't be sent: a timing too
 * short for the output, or a frame that has not ended when the next is due). A command that is sent
 * once has the whole frame for both. */
uint8_t sw_frame_plan(sw_reader read, const struct sw_command *command, uint8_t toggle, uint8_t which,
                      struct sw_frame *out);

/* The timing at a place, in 1/256 ticks. */
uint32_t sw_frame_timing(const struct sw_frame *frame, uint8_t at);

/* The output's side of it: from the frame's start on, the ticks from one edge to the next, whole ticks
 * whose sum never strays from the plan by more than half a tick; 0 when the frame is over. */
void sw_frame_start(struct sw_frame *frame);
uint32_t sw_frame_next(struct sw_frame *frame);

/* A raw record begins with how many timings there are, the period in 32 ticks, and how many distinct
 * durations; those durations and the symbols are behind it. */
#define SW_RAW_COUNT 0u
#define SW_RAW_PERIOD 1u
#define SW_RAW_DISTINCT 3u
#define SW_RAW_HEAD 4u

#endif
