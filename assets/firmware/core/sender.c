/* Which command is sent, and how long: see sender.h. */
#include "sender.h"
#include "flash.h" /* SW_APART */

#define EVERY_TICKS (SW_TICKS_PER_S / 20u) /* 50 ms */

void sw_sender_start(struct sw_sender *sender)
{
    sender->held_ticks = 0;
    sender->left_ticks = 0;
    sender->command = SW_NO_COMMAND;
    sender->next = SW_NO_COMMAND;
    sender->button = SW_NO_BUTTON;
    sender->next_button = SW_NO_BUTTON;
    sender->repeats = 0;
    sender->next_repeats = 0;
    sender->every_50ms = 0;
    sender->next_every_50ms = 0;
    sender->held = 0;
    sender->frames = 0;
    sender->toggle = 1; /* the first press turns it to 0 */
    sender->down = SW_NO_BUTTON;
}

/* What waits becomes what is sent. */
static void advance(struct sw_sender *sender)
{
    sender->command = sender->next;
    sender->button = sender->next_button;
    sender->repeats = sender->next_repeats;
    sender->every_50ms = sender->next_every_50ms;
    sender->held = 1;
    sender->frames = 0;
    sender->next = SW_NO_COMMAND;
}

static void wait_for_turn(struct sw_sender *sender, uint8_t command, uint8_t button, uint8_t repeats, uint8_t every)
{
    sender->next = command;
    sender->next_button = button;
    sender->next_repeats = repeats;
    sender->next_every_50ms = every;
    if (sender->command == SW_NO_COMMAND) {
        advance(sender);
    }
}

SW_APART uint8_t sw_sender_event(struct sw_sender *sender, sw_reader read, const struct sw_image *image, const struct sw_event *event)
{
    uint16_t pair;
    uint8_t gesture;

    switch (event->kind) {
    case SW_EVENT_PRESSED:
        sender->down = event->button;
        return SW_NO_COMMAND;
    case SW_EVENT_RELEASED:
        sender->down = SW_NO_BUTTON;
        if (sender->button == event->button) {
            sender->held = 0;
        }
        if (sender->next_button == event->button) {
            sender->next_repeats = 0;
        }
        return SW_NO_COMMAND;
    case SW_EVENT_TAP:
        gesture = SW_GESTURE_TAP;
        break;
    case SW_EVENT_HOLD:
        gesture = SW_GESTURE_HOLD;
        break;
    case SW_EVENT_DOUBLE_TAP:
        gesture = SW_GESTURE_DOUBLE_TAP;
        break;
    default:
        return SW_NO_COMMAND;
    }
    pair = sw_image_pair(read, image, event->button, gesture);
    if (pair == SW_NO_PAIR) {
        return SW_NO_COMMAND;
    }
    /* A tap may be told after its button was let go: then it goes on for no one. */
    wait_for_turn(sender, SW_PAIR_COMMAND(pair), event->button,
                  SW_PAIR_REPEATS(pair) && sender->down == event->button, SW_PAIR_EVERY_50MS(pair));
    return SW_PAIR_COMMAND(pair);
}

void sw_sender_ask(struct sw_sender *sender, uint8_t command, uint16_t held_ticks)
{
    if (command == SW_NO_COMMAND) {
        sender->command = SW_NO_COMMAND;
        sender->next = SW_NO_COMMAND;
        return;
    }
    sender->left_ticks = held_ticks;
    wait_for_turn(sender, command, SW_NO_BUTTON, held_ticks != 0, 0);
}

void sw_sender_tick(struct sw_sender *sender)
{
    if (sender->command == SW_NO_COMMAND || sender->frames == 0) {
        return;
    }
    if (sender->held_ticks != UINT16_MAX) {
        sender->held_ticks++;
    }
    /* While another waits, `left_ticks` may be its own, and this one goes on for no longer anyway. */
    if (sender->button == SW_NO_BUTTON && sender->next == SW_NO_COMMAND && sender->left_ticks != 0) {
        if (--sender->left_ticks == 0) {
            sender->held = 0;
        }
    }
}

static void begin_press(struct sw_sender *sender, struct sw_start *out)
{
    sender->held_ticks = 0;
    sender->frames = 1;
    sender->toggle ^= 1u;
    out->what = SW_SEND_FIRST;
}

void sw_sender_next(struct sw_sender *sender, uint8_t least_frames, struct sw_start *out)
{
    out->what = SW_SEND_NOTHING;
    if (sender->command != SW_NO_COMMAND && sender->frames != 0) {
        uint8_t goes_on = sender->held && sender->repeats && sender->next == SW_NO_COMMAND;
        if (sender->frames < least_frames || (goes_on && !sender->every_50ms && least_frames)) {
            if (sender->frames != UINT8_MAX) {
                sender->frames++;
            }
            out->what = SW_SEND_AGAIN;
        } else if (!goes_on) {
            sender->command = SW_NO_COMMAND;
        } else if (sender->every_50ms && sender->held_ticks >= sender->every_50ms * EVERY_TICKS) {
            begin_press(sender, out);
        }
    }
    if (sender->command == SW_NO_COMMAND && sender->next != SW_NO_COMMAND) {
        advance(sender);
    }
    if (sender->command != SW_NO_COMMAND && sender->frames == 0) {
        begin_press(sender, out);
    }
    out->command = sender->command;
    out->toggle = sender->toggle;
}
