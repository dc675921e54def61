/* Which command is sent, and how long: see sender.h. */
#include "sender.h"
#include <string.h> /* memset */
#include "flash.h"  /* SW_APART */

#define EVERY_TICKS (SW_TICKS_PER_S / 20u) /* 50 ms */

SW_APART void sw_sender_start(struct sw_sender *sender)
{
    memset(sender, 0, sizeof *sender);
    sender->now.command = SW_NO_COMMAND;
    sender->now.button = SW_NO_BUTTON;
    sender->next = sender->now;
    sender->toggle = 1; /* the first press turns it to 0 */
    sender->down = SW_NO_BUTTON;
}

/* What waits becomes what is sent. */
static void advance(struct sw_sender *sender)
{
    sender->now = sender->next;
    sender->held = 1;
    sender->frames = 0;
    sender->next.command = SW_NO_COMMAND;
}

SW_APART static void wait_for_turn(struct sw_sender *sender, uint8_t command, uint8_t button, uint8_t repeats, uint8_t every)
{
    sender->next.command = command;
    sender->next.button = button;
    sender->next.repeats = repeats;
    sender->next.every_50ms = every;
    if (sender->now.command == SW_NO_COMMAND) {
        advance(sender);
    }
}

static void released(struct sw_sender *sender, uint8_t button)
{
    sender->down = SW_NO_BUTTON;
    if (sender->now.button == button) {
        sender->held = 0;
    }
    if (sender->next.button == button) {
        sender->next.repeats = 0;
    }
}

SW_APART uint8_t sw_sender_event(struct sw_sender *sender, sw_reader read, const struct sw_image *image,
                                 const struct sw_event *event)
{
    uint8_t button = event->button;
    uint16_t pair;

    if (event->kind == SW_EVENT_PRESSED) {
        sender->down = button;
        return SW_NO_COMMAND;
    }
    if (event->kind == SW_EVENT_RELEASED) {
        released(sender, button);
        return SW_NO_COMMAND;
    }
    if (event->kind == SW_EVENT_UNDECIDED) {
        return SW_NO_COMMAND;
    }
    pair = sw_image_pair(read, image, button, (uint8_t)(event->kind - SW_EVENT_TAP)); /* the gestures' order */
    if (pair == SW_NO_PAIR) {
        return SW_NO_COMMAND;
    }
    /* A tap may be told after its button was let go: then it goes on for no one. */
    wait_for_turn(sender, SW_PAIR_COMMAND(pair), button, SW_PAIR_REPEATS(pair) && sender->down == button,
                  SW_PAIR_EVERY_50MS(pair));
    return SW_PAIR_COMMAND(pair);
}

void sw_sender_ask(struct sw_sender *sender, uint8_t command, uint16_t held_ticks)
{
    if (command == SW_NO_COMMAND) {
        sender->now.command = SW_NO_COMMAND;
        sender->next.command = SW_NO_COMMAND;
        return;
    }
    sender->left_ticks = held_ticks;
    wait_for_turn(sender, command, SW_NO_BUTTON, held_ticks != 0, 0);
}

void sw_sender_tick(struct sw_sender *sender)
{
    if (sender->now.command == SW_NO_COMMAND || sender->frames == 0) {
        return;
    }
    if (sender->held_ticks != UINT16_MAX) {
        sender->held_ticks++;
    }
    /* While another waits, `left_ticks` may be its own, and this one goes on for no longer anyway. */
    if (sender->now.button == SW_NO_BUTTON && sender->next.command == SW_NO_COMMAND && sender->left_ticks != 0) {
        if (--sender->left_ticks == 0) {
            sender->held = 0;
        }
    }
}

static uint8_t begin_press(struct sw_sender *sender)
{
    sender->held_ticks = 0;
    sender->frames = 1;
    sender->toggle ^= 1u;
    return SW_SEND_FIRST;
}

SW_APART uint8_t sw_sender_next(struct sw_sender *sender, uint8_t least_frames)
{
    if (sender->now.command != SW_NO_COMMAND && sender->frames != 0) {
        uint8_t goes_on = sender->held && sender->now.repeats && sender->next.command == SW_NO_COMMAND;
        if (sender->frames < least_frames || (goes_on && !sender->now.every_50ms && least_frames)) {
            if (sender->frames != UINT8_MAX) {
                sender->frames++;
            }
            return SW_SEND_AGAIN;
        }
        if (goes_on) {
            return sender->now.every_50ms && sender->held_ticks >= sender->now.every_50ms * EVERY_TICKS
                       ? begin_press(sender)
                       : SW_SEND_NOTHING;
        }
        sender->now.command = SW_NO_COMMAND;
    }
    if (sender->now.command == SW_NO_COMMAND && sender->next.command != SW_NO_COMMAND) {
        advance(sender);
    }
    return sender->now.command != SW_NO_COMMAND && sender->frames == 0 ? begin_press(sender) : SW_SEND_NOTHING;
}
