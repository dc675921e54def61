/* Readings to levels. */
#include "level.h"
#include "limits.h"

#define TOP_LEVEL (SW_LEVEL_PER_COUNT * (SW_COUNT_TOP + 1u) - 1u)

void sw_feed_take(struct sw_feed *feed, uint16_t raw)
{
    if (feed->sum8 == 0u)
        feed->sum8 = (uint16_t)(8u * raw);
    else
        feed->sum8 = (uint16_t)(feed->sum8 - (feed->sum8 + 4u) / 8u + raw);
}

uint16_t sw_level_plain(uint16_t raw)
{
    return (uint16_t)(raw * SW_LEVEL_PER_COUNT);
}

uint16_t sw_level_scaled(uint16_t raw, uint16_t nominal_level, const struct sw_feed *feed)
{
    /* 1023 readings of 8 in 1/32 counts stay below 32768. */
    uint16_t measured = (uint16_t)(feed->sum8 * (SW_LEVEL_PER_COUNT / 8u));
    uint32_t level;

    if (measured == 0u || measured < nominal_level / 4u)
        return SW_LEVEL_NONE;
    /* 1023 * 32 * 32767 stays below 2^32. */
    level = (uint32_t)raw * SW_LEVEL_PER_COUNT * nominal_level / measured;
    return level > TOP_LEVEL ? (uint16_t)TOP_LEVEL : (uint16_t)level;
}
