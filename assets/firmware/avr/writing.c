/* Writing an image: see writing.h. It goes to the slot that is not in use: first that slot's magic byte
 * is taken back, then come body and header, the magic byte last. Until then the old image is the one
 * that counts, whenever the power goes. */
#include "writing.h"
#include <string.h>   /* memcpy */
#include "box.h"
#include "clock.h"
#include "counters.h"
#include "messages.h"
#include "near.h"
#include "samples.h"
#include "sending.h"
#include "store.h"
#include "supply.h"

/* A write that no one goes on with is given up. */
#define GIVE_UP_TICKS 5000u
#define DATA_MAX 64u
#define CALIBRATION_LEAST 900u
#define CALIBRATION_MOST 1300u

enum stage {
    STAGE_NONE,
    STAGE_TAKE_BACK,    /* the old magic byte */
    STAGE_OPEN,         /* waits for data, or the end */
    STAGE_DATA,
    STAGE_HEADER,       /* all but the magic byte */
    STAGE_MAGIC,
    STAGE_CALIBRATION
};

static struct kept {
    uint16_t heard_at;
    uint16_t length;            /* as announced, like `check` */
    uint16_t check;
    uint16_t received;
    uint16_t base;              /* of the slot */
    uint8_t header[SW_SLOT_HEADER];
    uint8_t stage;
    uint8_t number;             /* of the message that has not been answered, like `sequence` */
    uint8_t sequence;
    uint8_t slot;               /* being written */
    uint8_t tried;              /* the one to write next where there is no image */
    uint8_t failed;
} state;

static uint16_t u16(const uint8_t *at)
{
    return at[0] | (uint16_t)((uint16_t)at[1] << 8);
}

uint8_t writing_runs(void)
{
    return state.stage != STAGE_NONE && state.stage != STAGE_CALIBRATION;
}

uint8_t writing_busy(void)
{
    return (state.stage != STAGE_NONE && state.stage != STAGE_OPEN) || store_busy();
}

uint8_t writing_failed(void)
{
    return state.failed;
}

/* The answer to this message comes when its bytes are kept. */
static void answer_later(const struct request *request, enum stage next)
{
    struct kept *my = near(&state);

    my->number = request->number;
    my->sequence = request->sequence;
    my->stage = next;
    my->heard_at = clock_short();
}

uint8_t writing_begin(const struct request *request)
{
    struct kept *my = near(&state);

    if (request->length != 4) {
        return SW_FAULT_LENGTH;
    }
    if (writing_busy()) {
        return SW_FAULT_BUSY;
    }
    if (u16(request->payload) > SW_BODY_MAX) {
        return SW_FAULT_TOO_LONG;
    }
    if (supply_too_low()) {
        return SW_FAULT_SUPPLY;
    }
    sending_stop();
    my->length = u16(request->payload);
    my->check = u16(request->payload + 2);
    my->received = 0;
    /* Without an image the slots take turns: one of them may be worn. */
    my->slot = box_has_image() ? !box.slot_number : my->tried;
    my->tried = !my->slot;
    my->base = my->slot ? SW_SLOT_BYTES : 0;
    my->header[0] = 0xFF;
    store_write(my->base, my->header, 1);
    answer_later(request, STAGE_TAKE_BACK);
    return SW_FAULT_NONE;
}

uint8_t writing_data(const struct request *request)
{
    struct kept *my = near(&state);
    uint8_t bytes = (uint8_t)(request->length - 2u);

    if (request->length < 3 || bytes > DATA_MAX) {
        return SW_FAULT_LENGTH;
    }
    if (writing_busy()) {
        return SW_FAULT_BUSY;
    }
    if (my->stage != STAGE_OPEN || u16(request->payload) != my->received || bytes > my->length - my->received) {
        return SW_FAULT_ORDER;
    }
    memcpy(store_held, request->payload + 2, bytes);
    store_write(my->base + SW_SLOT_HEADER + my->received, store_held, bytes);
    my->received += bytes;
    answer_later(request, STAGE_DATA);
    return SW_FAULT_NONE;
}

/* The write is over, done or not: what is in memory counts again. */
static void close(void)
{
    state.stage = STAGE_NONE;
    box_look();
}

static void put_header(void)
{
    struct kept *my = near(&state);

    my->header[0] = SW_IMAGE_MAGIC;
    my->header[1] = SW_IMAGE_FORMAT;
    my->header[2] = box_has_image() ? (uint8_t)(box.slot.sequence + 1u) : 1;
    my->header[3] = (uint8_t)~my->header[2];
    my->header[4] = (uint8_t)my->length;
    my->header[5] = (uint8_t)(my->length >> 8);
    my->header[6] = (uint8_t)my->check;
    my->header[7] = (uint8_t)(my->check >> 8);
}

uint8_t writing_end(const struct request *request)
{
    struct kept *my = near(&state);
    uint8_t fault;

    if (request->length != 0) {
        return SW_FAULT_LENGTH;
    }
    if (writing_busy()) {
        return SW_FAULT_BUSY;
    }
    if (my->stage != STAGE_OPEN || my->received != my->length) {
        return SW_FAULT_ORDER;
    }
    fault = sw_image_check(store_read, my->base + SW_SLOT_HEADER, my->length) == my->check
                ? sw_image_load(store_read, my->base + SW_SLOT_HEADER, my->length, &box.image)
                : SW_FAULT_CHECK;
    if (fault != SW_FAULT_NONE) {
        close();
        return fault;
    }
    put_header();
    store_write(my->base + 1u, my->header + 1, SW_SLOT_HEADER - 1u);
    answer_later(request, STAGE_HEADER);
    return SW_FAULT_NONE;
}

uint8_t writing_calibrate(const struct request *request)
{
    uint16_t bandgap_mv;

    if (request->length != 2) {
        return SW_FAULT_LENGTH;
    }
    if (writing_busy() || writing_runs()) {
        return SW_FAULT_BUSY;
    }
    bandgap_mv = u16(request->payload);
    if (bandgap_mv && (bandgap_mv < CALIBRATION_LEAST || bandgap_mv > CALIBRATION_MOST)) {
        return SW_FAULT_VALUE;
    }
    store_calibrate(bandgap_mv);
    answer_later(request, STAGE_CALIBRATION);
    return SW_FAULT_NONE;
}

static void answer(const uint8_t *payload, uint8_t payload_length)
{
    link_reply(state.number, state.sequence, payload, payload_length);
}

/* What was to be kept is kept. */
static void go_on(void)
{
    struct kept *my = near(&state);
    uint8_t payload[3] = {SW_FAULT_NONE, my->slot, my->header[2]};

    switch (my->stage) {
    case STAGE_TAKE_BACK:
        my->stage = STAGE_OPEN;
        answer(payload, 2);
        break;
    case STAGE_DATA:
        my->stage = STAGE_OPEN;
        answer(payload, 1);
        break;
    case STAGE_HEADER:
        store_write(my->base, my->header, 1);
        my->stage = STAGE_MAGIC;
        break;
    case STAGE_MAGIC:
        my->failed = 0;
        counters_add(&counters.writes, 1);
        close();
        answer(payload, 3);
        break;
    case STAGE_CALIBRATION:
        my->stage = STAGE_NONE;
        supply_start();
        answer(payload, 1);
        break;
    default:
        break;
    }
}

static void give_up(uint8_t fault)
{
    uint8_t image = writing_runs();

    state.failed = 1;
    state.stage = STAGE_NONE;
    if (image) {
        close();
    }
    answer(&fault, 1);
}

void writing_turn(void)
{
    store_turn();
    if (state.stage == STAGE_OPEN && (uint16_t)(clock_short() - state.heard_at) >= GIVE_UP_TICKS) {
        close();
    }
    if (!writing_busy() || store_busy() || !link_has_room(LINK_REPLY_MAX)) {
        return;
    }
    if (store_fault() == SW_FAULT_NONE) {
        go_on();
    } else {
        give_up(store_fault());
    }
}
