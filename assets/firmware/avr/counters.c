/* Counters: see counters.h. They lie behind all other variables, where the memory of a bootloader, at
 * the start and at the end of the RAM, does not reach. */
#include "counters.h"
#include <string.h>   /* memset */

#define CHECK_START 0x5A3Cu
#define KEEP_EVERY_TICKS 250u

struct counters counters __attribute__((section(".noinit")));
static uint16_t check __attribute__((section(".noinit")));

static uint8_t rejects;
static uint8_t kept_at;

static uint16_t sum(void)
{
    const uint16_t *word = (const uint16_t *)&counters;
    uint16_t total = CHECK_START;
    uint8_t i;

    for (i = 0; i < sizeof counters / sizeof *word; i++) {
        total = (uint16_t)(total << 1 | total >> 15) + word[i]; /* turned, so that places count */
    }
    return total;
}

uint8_t counters_survived(void)
{
    return check == sum();
}

void counters_clear(void)
{
    memset(&counters, 0, sizeof counters);
    check = sum();
}

void counters_add(uint16_t *counter, uint8_t more)
{
    *counter = *counter > UINT16_MAX - more ? UINT16_MAX : *counter + more;
    check = sum();
}

void counters_reject(void)
{
    if (rejects != UINT8_MAX) {
        rejects++;
    }
}

void counters_turn(uint8_t now)
{
    if (!rejects || (uint8_t)(now - kept_at) < KEEP_EVERY_TICKS) {
        return;
    }
    kept_at = now;
    counters.rejected = counters.rejected > UINT32_MAX - rejects ? UINT32_MAX : counters.rejected + rejects;
    rejects = 0;
    check = sum();
}

void counters_loop(uint32_t half_us)
{
    uint16_t us = half_us / 2u > UINT16_MAX ? UINT16_MAX : (uint16_t)(half_us / 2u);

    if (us > counters.longest_loop_us) {
        counters.longest_loop_us = us;
        check = sum();
    }
}
