/* The recogniser: levels in, one tick a time; presses and gestures out. Integers, no allocation, no
 * clock: a tick is a sample.
 *
 * Per tick: the middle of the last three levels of each wire (a lone spike is gone); the band each
 * lies in; the first wire to leave rest owns the press until both rest again; a band must hold for
 * the dwell, and the levels of that dwell must span no more than the settle limit (a slow press
 * slides through other bands and never settles there); after a press only rest re-arms, unless the
 * rules allow rolling over to the next button. A level outside every band is nothing.
 *
 * Rest is held to the dwell, too: a contact that bounces when it is let go makes no second press. A
 * press ends when rest has held that long, or when its button's band has been left that long, ticks at
 * rest not counted (the finger slid on): what it slid to is not recognised before rest. Where rolling
 * over is allowed, what it slid to is recognised as soon as it has settled; the press ends when its
 * band has been left for two dwells, and the next button may then be recognised without rest. A
 * button that is held when the power comes is not recognised before rest in either case.
 *
 * Gestures. A tap is told at once where its button has neither a hold nor a double tap; else when the
 * button is let go, or when no second tap came in time. A hold is told when the button has been held
 * long enough and its level is still in its band. Two recognitions of one button, the second soon
 * after the first was let go, are a double tap. */
#ifndef SW_RECOGNISER_H
#define SW_RECOGNISER_H

#include <stdint.h>
#include "limits.h"

/* What a level lies in: a button's number, or one of these. */
#define SW_LABEL_REST 16u
#define SW_LABEL_NONE 17u
#define SW_NO_BUTTON 63u

/* An accept band: whole counts, both ends taken. low > high takes nothing. */
struct sw_band {
    uint16_t low;   /* SW_ON_SECOND_WIRE set: of a button on wire 2 */
    uint16_t high;
};
#define SW_ON_SECOND_WIRE 0x8000u

/* Which gestures of a button lead anywhere. */
#define SW_HAS_TAP 1u
#define SW_HAS_HOLD 2u
#define SW_HAS_DOUBLE_TAP 4u

/* What the image says. From `flags` on it is the image's own beginning, byte for byte; what comes first
 * is found from it. The long part comes last: AVR reaches 63 bytes from a pointer. */
#define SW_RULES_SETTINGS 16u
struct sw_rules {
    uint8_t has[SW_BUTTONS_MAX];      /* SW_HAS_… */
    uint8_t wires;
    uint8_t spare;
    uint8_t flags;                    /* SW_RULES_… */
    uint8_t dwell_ticks;              /* 1 to SW_DWELL_MAX_TICKS */
    uint16_t settle_levels;
    uint16_t hold_ticks;
    uint16_t double_ticks;
    uint16_t feed_level;              /* the feed monitor at the nominal feed, as a level; 0 without monitor */
    uint8_t buttons;
    uint8_t pairs;
    uint8_t commands;
    uint8_t mark[2];                  /* tells one vehicle's image from another's */
    uint8_t zero;
    struct sw_band band[SW_WIRES + SW_BUTTONS_MAX]; /* the rest of each wire, then the buttons */
};
#define SW_RULES_REFERENCE 0x03u      /* SW_REFERENCE_… of image.h */
#define SW_RULES_MONITOR 0x04u        /* the feed monitor is fitted */
#define SW_RULES_ROLLOVER 0x08u
#define SW_RULES_TWO_WIRES 0x10u
#define SW_RULES_INFRARED 0x20u       /* the LED on the second pin is sent, too */
#define SW_RULES_ZERO 0x40u
#define SW_RULES_FREE 0x80u           /* a free family follows the pairs */

/* What happened. */
#define SW_EVENT_PRESSED 1u     /* a button was recognised */
#define SW_EVENT_RELEASED 2u    /* it was let go (or rolled over from) */
#define SW_EVENT_TAP 3u
#define SW_EVENT_HOLD 4u
#define SW_EVENT_DOUBLE_TAP 5u
#define SW_EVENT_UNDECIDED 6u   /* a wire left rest for three ticks at least and came back without settling on a button */

struct sw_event {
    uint16_t level;   /* where its button had settled; the last level away from rest for SW_EVENT_UNDECIDED */
    uint16_t ticks;   /* since a wire last left rest, held at 65535 */
    uint8_t kind;
    uint8_t button;   /* SW_NO_BUTTON for SW_EVENT_UNDECIDED */
    uint8_t wire;     /* 1 or 2 */
    uint8_t spare;
};

#define SW_EVENTS_PER_TICK 4u

/* A wire, as the recogniser follows it. */
struct sw_wire {
    uint16_t past[2];                 /* the two levels before, for the spike filter */
    uint16_t level;                   /* of this tick, filtered */
    uint8_t label;                    /* what it lies in */
    uint8_t spare;
};

/* Everything the recogniser remembers. Laid out so that it has no holes on any machine,
 * the long part last. */
struct sw_recogniser {
    struct sw_wire wire[SW_WIRES];
    uint16_t away_ticks;              /* since the owner left rest */
    uint16_t pressed_ticks;           /* since the button was recognised */
    uint16_t since_tap_ticks;         /* since the first tap of a possible double tap ended */
    uint16_t settled_level;
    uint16_t tapped_level;            /* where the first tap had settled */
    uint8_t filled;                   /* how many of a wire's `past` are real, 0 to 2 */
    uint8_t owner;                    /* 0, or the wire that owns the press, 1 or 2 */
    uint8_t label;                    /* of the owner's level at this tick */
    uint8_t run;                      /* ticks the label has held, up to the dwell */
    uint8_t at;                       /* where the ring is written next */
    uint8_t pressed;                  /* the button recognised, or SW_NO_BUTTON */
    uint8_t armed;                    /* a press may be recognised: 1 rest was seen, 2 rolling over */
    uint8_t waiting;                  /* whether the press has not become a gesture yet */
    uint8_t tapped;                   /* the button of the first tap, or SW_NO_BUTTON */
    uint8_t tapped_wire;              /* that button's */
    uint8_t off;                      /* ticks the pressed button's band has been left */
    uint8_t rejected;                 /* whether this tick's level lay outside every band */
    uint8_t told;                     /* events of this tick */
    uint8_t spare;
    struct sw_event event[SW_EVENTS_PER_TICK];
    uint16_t ring[SW_DWELL_MAX_TICKS];/* levels of the current run of one label */
};

void sw_recogniser_start(struct sw_recogniser *recogniser);

/* Takes one sample of each wire as levels (SW_LEVEL_NONE: no reading; it is in no band). What happened is
 * in `event`, in order, as many as `told` says. */
void sw_recogniser_tick(struct sw_recogniser *recogniser, const struct sw_rules *rules,
                        const uint16_t level[SW_WIRES]);

#endif
