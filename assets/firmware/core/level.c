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
    uint32_t level;

    /* The monitor's level would be SW_LEVEL_PER_COUNT / 8 times the sum: 16 sums are four of those. */
    if (feed->sum8 == 0u || feed->sum8 < (nominal_level + 15u) / 16u)
        return SW_LEVEL_NONE;
    level = (uint32_t)(uint16_t)(8u * raw) * nominal_level / feed->sum8;
    return level > TOP_LEVEL ? (uint16_t)TOP_LEVEL : (uint16_t)level;
}
