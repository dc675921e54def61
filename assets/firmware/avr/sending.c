/* Sending: see sending.h. */
#include "sending.h"
#include <string.h>   /* memcpy */
#include "box.h"
#include "clock.h"
#include "counters.h"
#include "flash.h" /* SW_APART */
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

SW_APART uint8_t sending_event(const struct sw_event *event)
{
    struct kept *my = near(&state);

    return sw_sender_event(&my->sender, store_read, &box.image, event);
}

uint8_t sending_ask(uint16_t held_ms, uint8_t toggle, const uint8_t *record, uint8_t length)
{
    struct kept *my = near(&state);
    uint8_t fault;

    memcpy(store_held, record, length);
    fault = sw_record_command(store_read, STORE_HELD, length, box_has_image() ? box.image.free_at : 0, &my->asked);
    my->asked_toggle = toggle;
    /* One that can't be sent has written over what was asked before it, which ends therefore. */
    sw_sender_ask(&my->sender, fault == SW_FAULT_NONE ? LINK_COMMAND : SW_NO_COMMAND, held_ms);
    return fault;
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
static uint8_t plan(uint8_t what)
{
    struct kept *my = near(&state);
    uint8_t which = SW_FRAME_AGAIN;

    if (what == SW_SEND_AGAIN) {
        if (my->current.family == SW_FAMILY_RAW) {
            return SW_FAULT_NONE; /* the same frame again, and its record may be gone */
        }
    } else {
        which = SW_FRAME_FIRST;
        my->current_toggle = my->sender.toggle;
        if (my->sender.now.command == LINK_COMMAND) {
            my->current = my->asked;
            my->current_toggle = my->asked_toggle;
        } else if (!sw_image_command(store_read, &box.image, my->sender.now.command, &my->current)) {
            return SW_FAULT_CODE;
        }
    }
    return sw_frame_plan(store_read, &my->current, my->current_toggle, which, &output_frame);
}

/* A press has gone out whole. */
static void tell_sent(void)
{
    struct kept *my = near(&state);

    struct {
        struct head head;
        uint8_t frames;
        uint8_t check[LINK_CHECK];
    } sent;

    sent.frames = my->frames;
    link_tell(SW_SENT, &sent, sizeof sent.frames);
    counters_count(COUNT_SENT);
    my->frames = 0;
}

SW_APART void sending_turn(void)
{
    struct kept *my = near(&state);
    uint8_t what;
    uint16_t now = clock_short();

    for (; my->ticked != now; my->ticked++) {
        sw_sender_tick(&my->sender);
    }
    if (!output_wants()) {
        return;
    }
    what = sw_sender_next(&my->sender, output_frame.row.least_frames);
    if (my->frames && (what == SW_SEND_FIRST || my->sender.now.command == SW_NO_COMMAND)) {
        tell_sent();
    }
    if (what == SW_SEND_NOTHING) {
        return;
    }
    if (plan(what) != SW_FAULT_NONE) {
        sending_finish();
        return;
    }
    if (my->frames != UINT8_MAX) {
        my->frames++;
    }
    output_send(box_has_image() && (box.image.rules.flags & SW_RULES_INFRARED));
}
