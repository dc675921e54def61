/* The image in use: see box.h. */
#include "box.h"
#include "converter.h"
#include "messages.h" /* SW_FAULT_NONE */
#include "samples.h"
#include "sending.h"
#include "store.h"

struct box box;

void box_look(void)
{
    sending_stop();
    box.slot_number = sw_slot_choose(store_read, &box.slot, &box.damaged);
    if (box.slot_number != SW_NO_SLOT && sw_image_load(store_read, sw_slot_body(box.slot_number), box.slot.length,
                                                       &box.image) != SW_FAULT_NONE) {
        box.slot_number = SW_NO_SLOT;
        box.damaged = 1;
    }
    if (box.slot_number != SW_NO_SLOT) {
        converter_reference(box.image.rules.flags & SW_RULES_REFERENCE, box.image.rules.flags & SW_RULES_MONITOR);
    }
    samples_restart();
}

uint8_t box_has_image(void)
{
    return box.slot_number != SW_NO_SLOT;
}
