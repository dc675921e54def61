/* Sending: see sending.h. */
#include "sending.h"
#include <string.h>   /* memcpy */
#include "box.h"
#include "clock.h"
#include "counters.h"
#include "link.h"
#include "messages.h"
#include "near.h"
#include "output.h"
#include "sender.h"
#include "store.h"

/* The number under which the sender knows the link's command: behind all of an image's. */
#define LINK_COMMAND 254u

static struct kept {
    struct sw_sender sender;
    struct sw_command current;  /* being sent */
    struct sw_command asked;    /* over the link */
    uint16_t ticked;
    uint8_t current_toggle;
    uint8_t asked_toggle;
    uint8_t frames;             /* of the current press that went out or are going out */
} state;

void sending_start(void)
{
    struct kept *my = near(&state);

    sw_sender_start(&my->sender);
}

uint8_t sending_event(const struct sw_event *event)
{
    struct kept *my = near(&state);

    return sw_sender_event(&my->sender, store_read, &box.image, event);
}

uint8_t sending_ask(uint16_t held_ms, uint8_t toggle, const uint8_t *record, uint8_t length)
{
    struct kept *my = near(&state);
    struct sw_command command;
    uint8_t fault;

    memcpy(store_held, record, length);
    fault = sw_record_command(store_read, STORE_HELD, length, box_has_image() ? box.image.free_at : 0, &command);
    if (fault != SW_FAULT_NONE) {
        return fault;
    }
    my->asked = command;
    my->asked_toggle = toggle;
    sw_sender_ask(&my->sender, LINK_COMMAND, held_ms);
    return SW_FAULT_NONE;
}

void sending_finish(void)
{
    struct kept *my = near(&state);

    sw_sender_ask(&my->sender, SW_NO_COMMAND, 0);
}

void sending_stop(void)
{
    struct kept *my = near(&state);

    output_release();
    sw_sender_start(&my->sender);
    my->frames = 0;
}

/* Lays out the frame that starts a press, or the one that goes on with it. */
static uint8_t plan(const struct sw_start *start)
{
    struct kept *my = near(&state);

    if (start->what == SW_SEND_AGAIN) {
        if (my->current.family == SW_FAMILY_RAW) {
            return SW_FAULT_NONE; /* the same frame again, and its record may be gone */
        }
        return sw_frame_plan(store_read, &my->current, my->current_toggle, SW_FRAME_AGAIN, &output_frame);
    }
    if (start->command == LINK_COMMAND) {
        my->current = my->asked;
        my->current_toggle = my->asked_toggle;
    } else {
        my->current_toggle = start->toggle;
        if (!sw_image_command(store_read, &box.image, start->command, &my->current)) {
            return SW_FAULT_CODE;
        }
    }
    return sw_frame_plan(store_read, &my->current, my->current_toggle, SW_FRAME_FIRST, &output_frame);
}

/* A press has gone out whole. */
static void tell_sent(void)
{
    struct kept *my = near(&state);

    link_tell(SW_SENT, &my->frames, 1);
    counters_add(&counters.sent, 1);
    my->frames = 0;
}

void sending_turn(void)
{
    struct kept *my = near(&state);
    struct sw_start start;
    uint16_t now = clock_short();

    for (; my->ticked != now; my->ticked++) {
        sw_sender_tick(&my->sender);
    }
    if (!output_wants()) {
        return;
    }
    sw_sender_next(&my->sender, output_frame.row.least_frames, &start);
    if (my->frames && (start.what == SW_SEND_FIRST || my->sender.command == SW_NO_COMMAND)) {
        tell_sent();
    }
    if (start.what == SW_SEND_NOTHING) {
        return;
    }
    if (plan(&start) != SW_FAULT_NONE) {
        sending_finish();
        return;
    }
    if (my->frames != UINT8_MAX) {
        my->frames++;
    }
    output_send(box_has_image() && (box.image.rules.flags & SW_RULES_INFRARED));
}
