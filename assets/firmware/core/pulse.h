/* A command as marks and spaces: what the families' table, the free family's record or a raw record
 * says, laid out for the output. */
#ifndef SW_PULSE_H
#define SW_PULSE_H

#include <stdint.h>
#include "image.h"
#include "limits.h"

/* A tick of the output is 0.5 us; timings are kept in 1/256 of one, so that a frame's edges do not
 * drift where a family's unit is no whole number of ticks. */
#define SW_TICKS_PER_US 2u
#define SW_TICK_PARTS 256u

/* One frame: timings by symbol, mark first, the last one a mark. */
struct sw_frame {
    uint32_t timing[SW_DISTINCT_MAX];               /* in 1/256 ticks */
    uint32_t period_ticks;                          /* frame start to frame start; 0: sent once */
    uint8_t symbol[(SW_TIMINGS_MAX + 1u) / 2u];     /* two timings a byte, the first in the low half */
    uint8_t count;                                  /* timings */
    uint8_t least_frames;                           /* however short the press; 0: one, and no more while held */
    uint8_t carrier_khz;                            /* for the infrared LED */
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

/* The output's side of it: gives the ticks from one edge to the next, whole ticks whose sum never
 * strays from the plan by more than half a tick. */
struct sw_walk {
    uint16_t rest;  /* what rounding has left over so far, in 1/256 ticks */
    uint8_t at;
};
void sw_walk_start(struct sw_walk *walk);
/* Ticks of the next timing; 0 when the frame is over. */
uint32_t sw_walk_next(struct sw_walk *walk, const struct sw_frame *frame);
/* Ticks from the frame's last edge to the start of the next frame; 0 if there is none. `spent` is the
 * sum of what sw_walk_next gave. */
uint32_t sw_walk_gap(const struct sw_frame *frame, uint32_t spent);

/* For the image reader. A raw record: how many timings, the period, how many distinct durations, those
 * durations, and for each timing which one it is. */
#define SW_RAW_COUNT 0u
#define SW_RAW_PERIOD 1u
#define SW_RAW_DISTINCT 3u
#define SW_RAW_DURATIONS 4u
/* Which duration the timing at a place is. */
uint8_t sw_raw_symbol(sw_reader read, uint16_t record, uint8_t at);
/* How wide the free family's fields are, in its record. */
#define SW_FREE_ADDRESS_BITS 16u
#define SW_FREE_COMMAND_BITS 17u
/* Whether the free family's record can be used at all. */
uint8_t sw_free_holds(sw_reader read, uint16_t record);

#endif
