/* What the output does with gestures: which command starts, how long it goes on, what waits. Knows
 * no timer: the output asks it when a frame may start.
 *
 * A command is sent at least as often as its family wants, and on while its button is held if its
 * pair says so. One command may wait; a later one takes its place. What waits ends the one being sent
 * as soon as that has been sent often enough. */
#ifndef SW_SENDER_H
#define SW_SENDER_H

#include <stdint.h>
#include "image.h"
#include "recogniser.h"

#define SW_NO_COMMAND 255u

/* A command's turn to be sent. */
struct sw_turn {
    uint8_t command;        /* or SW_NO_COMMAND: no one's turn */
    uint8_t button;         /* whose press it is; SW_NO_BUTTON for the link's */
    uint8_t repeats;        /* goes on while held */
    uint8_t every_50ms;
};

struct sw_sender {
    uint16_t held_ticks;    /* since the command started */
    uint16_t left_ticks;    /* for a command sent over the link: how long it is held */
    struct sw_turn now;     /* being sent */
    struct sw_turn next;    /* waits for the one being sent */
    uint8_t held;           /* whether the one being sent still is */
    uint8_t frames;         /* frames begun of the current press */
    uint8_t toggle;         /* the toggle bit of the current press */
    uint8_t down;           /* the button that is down, or SW_NO_BUTTON */
};

void sw_sender_start(struct sw_sender *sender);

/* Takes what the recogniser said; looks the pair up in the image. Gives the number of the command
 * that this event asks for, or SW_NO_COMMAND. */
uint8_t sw_sender_event(struct sw_sender *sender, sw_reader read, const struct sw_image *image,
                        const struct sw_event *event);

/* Asks for a command over the link, held for so long; replaces what waits. SW_NO_COMMAND stops: no
 * further frame begins. */
void sw_sender_ask(struct sw_sender *sender, uint8_t command, uint16_t held_ticks);

/* One tick later. */
void sw_sender_tick(struct sw_sender *sender);

/* The output is free, or a frame has ended and its gap runs: what starts next. */
#define SW_SEND_NOTHING 0u
#define SW_SEND_FIRST 1u    /* a new press: the first frame */
#define SW_SEND_AGAIN 2u    /* the same press: the frame for "held" after the family's own gap */
/* Begins what it answers: ask once a frame. It is of the command `now`, and starts when the gap of the
 * frame before is over. `least_frames` is of the frame sent last. */
uint8_t sw_sender_next(struct sw_sender *sender, uint8_t least_frames);

#endif
