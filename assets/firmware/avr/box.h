/* The image in use, and what it says. */
#ifndef SW_BOX_H
#define SW_BOX_H

#include <stdint.h>
#include "image.h"
#include "recogniser.h"

struct box {
    struct sw_image image;
    struct sw_slot slot;
    uint8_t slot_number;    /* 0, 1 or SW_NO_SLOT: no image, and nothing above means anything */
    uint8_t damaged;        /* a slot begins like an image, and is none */
};
extern struct box box;

/* Looks for an image and takes it into use, its reference, too. What runs on the old one is stopped. */
void box_look(void);
uint8_t box_has_image(void);

#endif
