/* The EEPROM: see store.h. */
#include "store.h"
#include <avr/io.h>
#include <util/atomic.h>
#include "flash.h" /* SW_APART */
#include "messages.h" /* faults */
#include "near.h"
#include "reader.h"

/* In the tail behind the slots: the value, then its inverse. */
#define CALIBRATION_AT 1008u

uint8_t store_held[STORE_HELD_MAX];

static struct kept {
    const uint8_t *from;
    uint16_t to;
    uint16_t calibration[2];
    uint8_t left;               /* bytes of the run, the last of them the next */
    uint8_t written;            /* the next byte has been written, and not been read back */
    uint8_t fault;
} state;

uint8_t store_read(uint16_t at)
{
    if (at >= STORE_HELD) {
        return store_held[at - STORE_HELD];
    }
    while (EECR & _BV(EEPE)) {
    }
    EEAR = at;
    EECR |= _BV(EERE);
    return EEDR;
}

SW_APART void store_write(uint16_t at, const uint8_t *bytes, uint8_t length)
{
    struct kept *my = near(&state);

    my->to = at;
    my->from = bytes;
    my->left = length;
    my->written = 0;
    my->fault = SW_FAULT_NONE;
}

uint8_t store_busy(void)
{
    return state.left != 0 || (EECR & _BV(EEPE));
}

uint8_t store_fault(void)
{
    return state.fault;
}

void store_turn(void)
{
    struct kept *my = near(&state);
    uint8_t left = my->left;
    uint8_t byte;

    if (left == 0 || (EECR & _BV(EEPE))) {
        return;
    }
    left--;
    byte = my->from[left];
    if (store_read(my->to + left) == byte) { /* it is there, written just now or long since */
        my->left = left;
        my->written = 0;
        return;
    }
    if (my->written) {
        my->fault = SW_FAULT_WORN;
        my->left = 0;
        return;
    }
    EEDR = byte;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        EECR = _BV(EEMPE);      /* erase and write in one; EEPE within four cycles */
        EECR = _BV(EEMPE) | _BV(EEPE);
    }
    my->written = 1;
}

uint16_t store_calibration(void)
{
    uint16_t kept[2];

    sw_read(store_read, CALIBRATION_AT, kept, sizeof kept);
    return kept[1] == (uint16_t)~kept[0] ? kept[0] : 0;
}

void store_calibrate(uint16_t bandgap_mv)
{
    struct kept *my = near(&state);

    my->calibration[0] = bandgap_mv;
    my->calibration[1] = (uint16_t)~bandgap_mv;
    store_write(CALIBRATION_AT, (const uint8_t *)my->calibration, sizeof my->calibration);
}
