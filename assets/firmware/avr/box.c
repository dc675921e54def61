/* The image in use: see box.h. */
#include "box.h"
#include "messages.h" /* SW_FAULT_NONE */
#include "samples.h"
#include "sending.h"
#include "store.h"

struct box box;

void box_look(void)
{
    sending_stop();
    box.slot_number = sw_slot_choose(store_read, &box.slot, &box.damaged);
    box.body = box.slot.base + SW_SLOT_HEADER;
    if (box.slot_number != SW_NO_SLOT && sw_image_valid(store_read, box.body, box.slot.length) != SW_FAULT_NONE) {
        box.slot_number = SW_NO_SLOT;
        box.damaged = 1;
    }
    if (box.slot_number != SW_NO_SLOT) {
        sw_image_settings(store_read, box.body, &box.settings);
        sw_image_rules(store_read, box.body, &box.rules);
        samples_reference(box.settings.reference, box.settings.feed_monitor);
    }
    samples_restart();
}

uint8_t box_has_image(void)
{
    return box.slot_number != SW_NO_SLOT;
}
