/* Sending: see sending.h. */
#include "sending.h"
#include <string.h>   /* memcpy */
#include "box.h"
#include "clock.h"
#include "counters.h"
#include "link.h"
#include "messages.h"
#include "output.h"
#include "sender.h"
#include "store.h"

/* The number under which the sender knows the link's command: behind all of an image's. */
#define LINK_COMMAND 254u
#define HEADER_BYTES 16u        /* an image's body before its bands */
#define BAND_BYTES 4u
#define PAIR_BYTES 2u

static struct sw_sender sender;
static struct sw_command current;       /* being sent */
static struct sw_command asked;         /* over the link */
static uint8_t current_toggle, asked_toggle;
static uint8_t frames;                  /* of the current press that went out or are going out */
static uint32_t ticked;

void sending_start(void)
{
    sw_sender_start(&sender);
}

uint8_t sending_event(const struct sw_event *event)
{
    return sw_sender_event(&sender, store_read, box.body, event);
}

/* Where the image keeps its free family's record; 0 without one. */
static uint16_t free_family(void)
{
    if (!box_has_image() || !box.settings.has_free) {
        return 0;
    }
    return box.body + HEADER_BYTES + BAND_BYTES * (box.rules.wires + box.rules.buttons) +
           PAIR_BYTES * box.settings.pairs;
}

uint8_t sending_ask(uint16_t held_ms, uint8_t toggle, const uint8_t *record, uint8_t length)
{
    struct sw_command command;
    uint8_t fault;

    memcpy(store_held, record, length);
    fault = sw_record_command(store_read, STORE_HELD, length, free_family(), &command);
    if (fault != SW_FAULT_NONE) {
        return fault;
    }
    asked = command;
    asked_toggle = toggle;
    sw_sender_ask(&sender, LINK_COMMAND, held_ms);
    return SW_FAULT_NONE;
}

void sending_finish(void)
{
    sw_sender_ask(&sender, SW_NO_COMMAND, 0);
}

void sending_stop(void)
{
    output_release();
    sw_sender_start(&sender);
    frames = 0;
}

/* Lays out the frame that starts a press, or the one that goes on with it. */
static uint8_t plan(const struct sw_start *start)
{
    if (start->what == SW_SEND_AGAIN) {
        if (current.family == SW_FAMILY_RAW) {
            return SW_FAULT_NONE; /* the same frame again, and its record may be gone */
        }
        return sw_frame_plan(store_read, &current, current_toggle, SW_FRAME_AGAIN, &output_frame);
    }
    if (start->command == LINK_COMMAND) {
        current = asked;
        current_toggle = asked_toggle;
    } else {
        current_toggle = start->toggle;
        if (!sw_image_command(store_read, box.body, start->command, &current)) {
            return SW_FAULT_CODE;
        }
    }
    return sw_frame_plan(store_read, &current, current_toggle, SW_FRAME_FIRST, &output_frame);
}

/* A press has gone out whole. */
static void tell_sent(void)
{
    link_tell(SW_SENT, &frames, 1);
    counters_add(&counters.sent, 1);
    frames = 0;
}

void sending_turn(void)
{
    struct sw_start start;
    uint32_t now = clock_ticks();

    for (; ticked != now; ticked++) {
        sw_sender_tick(&sender);
    }
    if (!output_wants()) {
        return;
    }
    sw_sender_next(&sender, output_frame.least_frames, &start);
    if (frames && (start.what == SW_SEND_FIRST || sender.command == SW_NO_COMMAND)) {
        tell_sent();
    }
    if (start.what == SW_SEND_NOTHING) {
        return;
    }
    if (plan(&start) != SW_FAULT_NONE) {
        sending_finish();
        return;
    }
    if (frames != UINT8_MAX) {
        frames++;
    }
    output_send(box_has_image() && box.settings.infrared);
}
