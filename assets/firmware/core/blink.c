/* The blinks of the status LED: see blink.h. */
#include "blink.h"

uint8_t sw_blink_lit(uint8_t state, uint8_t step)
{
    if (state == SW_BLINK_LEARNING) {
        return !(step & 4u);
    }
    return !(step & 1u) && step < (uint8_t)(2u * state);    /* a flash is a step lit and a step dark */
}
