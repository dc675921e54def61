/* Readings of the converter to levels: a level is 1/32 of a 10-bit count at the nominal feed. With
 * the supply as reference a reading is a ratio already; otherwise it is scaled by the feed as the
 * monitor reads it. */
#ifndef SW_LEVEL_H
#define SW_LEVEL_H

#include <stdint.h>

/* The feed monitor, smoothed: a running mean over about 8 readings. */
struct sw_feed {
    uint16_t sum8; /* eight times the mean, in raw readings; 0 before the first */
};

/* Takes one reading of the monitor, 0 to 1023. */
void sw_feed_take(struct sw_feed *feed, uint16_t raw);

/* A reading as a level, as it is: the supply is the reference. */
uint16_t sw_level_plain(uint16_t raw);

/* A reading as a level, scaled by nominal feed / measured feed and held at the top of the scale.
 * `nominal_level` is the monitor's reading at the nominal feed, as a level. Before the monitor was
 * read, or with a feed under a quarter of the nominal, there is no level: SW_LEVEL_NONE. */
uint16_t sw_level_scaled(uint16_t raw, uint16_t nominal_level, const struct sw_feed *feed);

#define SW_LEVEL_NONE 0xFFFFu

#endif
