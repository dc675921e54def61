/* Writing an image: see writing.h. It goes to the slot that is not in use: first that slot's magic byte
 * is taken back, then come body and header, the magic byte last. Until then the old image is the one
 * that counts, whenever the power goes. */
#include "writing.h"
#include <string.h>   /* memcpy */
#include "box.h"
#include "clock.h"
#include "counters.h"
#include "image.h"
#include "link.h"
#include "messages.h"
#include "near.h"
#include "reset.h"
#include "sending.h"
#include "store.h"
#include "supply.h"

/* A write that no one goes on with is given up. */
#define GIVE_UP_TICKS 5000u
#define ERASED 0xFFu
#define CALIBRATION_LEAST 900u
#define CALIBRATION_MOST 1300u

static struct kept {
    struct sw_slot header;  /* length and check as announced */
    uint16_t base;          /* of the slot being written */
    uint16_t received;
    uint16_t heard_at;
    uint8_t left_alone;     /* the slot not written */
    uint8_t open;           /* an image is being written */
    struct head owed;       /* the message whose bytes are being stored; number 0: none */
    uint8_t failed;
} state;

uint8_t writing_runs(void)
{
    return state.open;
}

uint8_t writing_busy(void)
{
    return state.owed.number || store_busy();
}

uint8_t writing_failed(void)
{
    return state.failed;
}

void writing_owes(const struct head *head)
{
    struct kept *my = near(&state);

    my->owed = *head;
    my->heard_at = clock_short();
}

static uint16_t u16(const uint8_t *at)
{
    return at[0] | (uint16_t)((uint16_t)at[1] << 8);
}

uint8_t writing_begin(uint8_t *payload)
{
    struct kept *my = near(&state);

    if (u16(payload) > SW_BODY_MAX) {
        return SW_FAULT_TOO_LONG;
    }
    if (supply_too_low()) {
        return SW_FAULT_SUPPLY;
    }
    sending_stop();
    memcpy(&my->header.length, payload, 4);
    my->received = 0;
    my->open = 1;
    /* Without an image the slots take turns: one of them may be worn. */
    my->left_alone = box_has_image() ? box.slot_number : !my->left_alone;
    my->base = my->left_alone ? 0 : SW_SLOT_BYTES;
    my->header.magic = ERASED;
    store_write(my->base, &my->header.magic, 1);
    return WRITING_ANSWERS;
}

uint8_t writing_data(const uint8_t *payload, uint8_t bytes)
{
    struct kept *my = near(&state);

    if (!my->open || u16(payload) != my->received || bytes > my->header.length - my->received) {
        return SW_FAULT_ORDER;
    }
    memcpy(store_held, payload + 2, bytes);
    store_write(my->base + SW_SLOT_HEADER + my->received, store_held, bytes);
    my->received += bytes;
    return WRITING_ANSWERS;
}

/* The write is over, done or not: what is in memory counts again. */
static void close(void)
{
    state.open = 0;
    /* A heavy image takes some 110 ms to look through, and two in one turn come near the watchdog. */
    watchdog_serve();
    box_look();
}

uint8_t writing_end(uint8_t *payload)
{
    struct kept *my = near(&state);
    uint8_t fault;

    (void)payload;
    if (!my->open || my->received != my->header.length) {
        return SW_FAULT_ORDER;
    }
    fault = sw_image_check(store_read, my->base + SW_SLOT_HEADER, my->header.length) == my->header.check
                ? sw_image_load(store_read, my->base + SW_SLOT_HEADER, my->header.length, &box.image)
                : SW_FAULT_CHECK;
    if (fault != SW_FAULT_NONE) {
        close();
        return fault;
    }
    my->header.magic = SW_IMAGE_MAGIC;
    my->header.format = SW_IMAGE_FORMAT;
    my->header.sequence = box_has_image() ? (uint8_t)(box.slot.sequence + 1u) : 1;
    my->header.inverse = (uint8_t)~my->header.sequence;
    store_write(my->base, &my->header.magic, sizeof my->header);
    return WRITING_ANSWERS;
}

uint8_t writing_calibrate(uint8_t *payload)
{
    uint16_t bandgap_mv;

    if (writing_runs()) {
        return SW_FAULT_BUSY;
    }
    bandgap_mv = u16(payload);
    if (bandgap_mv && (bandgap_mv < CALIBRATION_LEAST || bandgap_mv > CALIBRATION_MOST)) {
        return SW_FAULT_VALUE;
    }
    store_calibrate(bandgap_mv);
    return WRITING_ANSWERS;
}

/* The bytes of the message that is owed an answer are kept, or will never be. */
static void answer(void)
{
    struct kept *my = near(&state);
    struct {
        struct head head;
        uint8_t fault, slot, sequence;
        uint8_t check[LINK_CHECK];
    } reply;
    uint8_t length = 1;

    reply.head = my->owed;
    reply.fault = store_fault();
    reply.slot = !my->left_alone;
    reply.sequence = my->header.sequence;
    my->owed.number = 0;
    if (reply.fault != SW_FAULT_NONE) {
        my->failed = 1;
        if (my->open) {
            close();
        }
    } else if (reply.head.number == SW_WRITE_BEGIN) {
        length = 2;
    } else if (reply.head.number == SW_WRITE_END) {
        my->failed = 0;
        counters_count(COUNT_WRITES);
        close();
        length = 3;
    } else if (reply.head.number == SW_CALIBRATE) {
        supply_start();
    }
    link_reply(&reply, length);
}

void writing_turn(void)
{
    store_turn();
    if (state.owed.number) {
        if (!store_busy() && link_has_room(LINK_REPLY_MAX)) {
            answer();
        }
    } else if (state.open && (uint16_t)(clock_short() - state.heard_at) >= GIVE_UP_TICKS) {
        close();
    }
}
