/* Counters: see counters.h. They lie behind all other variables, where the memory of a bootloader, at
 * the start and at the end of the RAM, does not reach. */
#include "counters.h"
#include <string.h>   /* memset */

#define CHECK_START 0x5A3Cu

uint16_t counters[COUNTERS] __attribute__((section(".noinit")));
static uint16_t check __attribute__((section(".noinit")));

static uint16_t sum(void)
{
    uint16_t total = CHECK_START;
    uint8_t i;

    for (i = 0; i < COUNTERS; i++) {
        total = (uint16_t)(total << 1 | total >> 15) + counters[i]; /* turned, so that places count */
    }
    return total;
}

uint8_t counters_survived(void)
{
    return check == sum();
}

void counters_clear(void)
{
    memset(counters, 0, sizeof counters);
    check = sum();
}

void counters_count(uint8_t which)
{
    uint16_t *counter = &counters[which];

    if (*counter != UINT16_MAX) {
        ++*counter;
    } else if (which == COUNT_REJECTED && counter[1] != UINT16_MAX) {
        *counter = 0;
        ++counter[1];
    }
    check = sum();
}

half_us counters_turn(half_us began)
{
    half_us now = clock_half_us();
    half_us took_us = (now - began) / 2u;

    if (took_us > counters[COUNT_LONGEST_LOOP_US]) {
        counters[COUNT_LONGEST_LOOP_US] = took_us > UINT16_MAX ? UINT16_MAX : (uint16_t)took_us;
        check = sum();
    }
    return now;
}
