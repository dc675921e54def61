/* The EEPROM: see store.h. */
#include "store.h"
#include <avr/io.h>
#include <util/atomic.h>
#include "messages.h" /* faults */
#include "near.h"

/* In the tail behind the slots: the value, then its inverse. */
#define CALIBRATION_AT 1008u
#define ERASED 0xFFFFu

uint8_t store_held[STORE_HELD_MAX];

static struct kept {
    const uint8_t *from;
    uint16_t to;
    uint16_t calibration[2];
    uint8_t left;
    uint8_t written;            /* the byte at `to` has been written, and not been read back */
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

void store_write(uint16_t at, const uint8_t *bytes, uint8_t length)
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

    if (my->left == 0 || (EECR & _BV(EEPE))) {
        return;
    }
    if (store_read(my->to) == *my->from) { /* it is there, written just now or long since */
        my->to++;
        my->from++;
        my->left--;
        my->written = 0;
        return;
    }
    if (my->written) {
        my->fault = SW_FAULT_WORN;
        my->left = 0;
        return;
    }
    EEDR = *my->from;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        EECR = _BV(EEMPE);      /* erase and write in one; EEPE within four cycles */
        EECR = _BV(EEMPE) | _BV(EEPE);
    }
    my->written = 1;
}

static uint16_t word(uint16_t at)
{
    uint16_t low = store_read(at);

    return low | (uint16_t)((uint16_t)store_read(at + 1u) << 8);
}

uint16_t store_calibration(void)
{
    uint16_t value = word(CALIBRATION_AT);

    return word(CALIBRATION_AT + 2u) == (uint16_t)~value ? value : 0;
}

void store_calibrate(uint16_t bandgap_mv)
{
    struct kept *my = near(&state);

    my->calibration[0] = bandgap_mv ? bandgap_mv : ERASED;
    my->calibration[1] = bandgap_mv ? (uint16_t)~bandgap_mv : ERASED;
    store_write(CALIBRATION_AT, (const uint8_t *)my->calibration, sizeof my->calibration);
}
