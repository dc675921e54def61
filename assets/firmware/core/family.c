/* The families' table, and the free family's record: see family.h. */
#include "family.h"
#include "flash.h"    /* the table is a constant */

/* A free family's record: its times, then what a sw_family begins with. */
#define FREE_TIMES_BYTES (2u * SW_FAMILY_TIMES)
#define FREE_REST_BYTES (SW_FREE_BYTES - FREE_TIMES_BYTES)

#define FREE_ZERO 0xC0u
#define FREE_KHZ_LEAST 20u
#define FREE_KHZ_MOST 100u
#define ADDRESS_BITS_MOST 16u
#define COMMAND_BITS_MOST 32u

/* A unit's ticks of 0.5 us, for units that are whole ones. */
#define UNIT(ns) ((ns) / 500u)
/* The period's two parts. */
#define US(us) TICKS((us) * 2uL)
#define TICKS(ticks) (uint16_t)((ticks) / 32uL)
#define MORE_US(us) MORE_TICKS((us) * 2uL)
#define MORE_TICKS(ticks) (uint8_t)((ticks) % 32uL)

/* Each with its leader. Every bit a mark of one unit, then a space of one or three. */
#define ONE_OR_THREE(unit, mark, space) {(mark) * (unit), (space) * (unit), unit, unit, unit, 3u * (unit)}
/* The mark tells: one unit or two. */
#define ONE_OR_TWO(unit, mark, space) {(mark) * (unit), (space) * (unit), unit, unit, 2u * (unit), unit}
/* Bi-phase: what halves of bits join to. */
#define HALVES(unit, mark, space) {(mark) * (unit), (space) * (unit), unit, 2u * (unit), 3u * (unit), 4u * (unit)}

/* From frame to frame 240 units of 444 4/9 us. */
#define RC6_TICKS 213333uL

/* A sw_family with the times a family has. */
struct row {
    uint16_t period;
    uint8_t flags, carrier_khz, address_bits, command_bits, more_ticks, least_frames, kind;
    uint16_t time[SW_FAMILY_TIMES];
};

/* In the columns of the structure: period, flags, carrier, bits of address and command, the period's rest,
 * least frames, kind, times. */
static const struct row table[SW_FAMILIES] SW_FLASH = {
    /* nec */
    {US(108000), SW_STOP_MARK | SW_ADDRESS_INVERSE | SW_COMMAND_INVERSE | SW_REPEAT_SHORT, 38, 8, 8,
     MORE_US(108000), 1, 0, ONE_OR_THREE(UNIT(562500u), 16u, 8u)},
    /* nec16 */
    {US(108000), SW_STOP_MARK | SW_COMMAND_INVERSE | SW_REPEAT_SHORT, 38, 16, 8, MORE_US(108000), 1, 0,
     ONE_OR_THREE(UNIT(562500u), 16u, 8u)},
    /* rc5 */
    {US(113778), SW_HIGH_FIRST, 36, 5, 7, MORE_US(113778), 1, SW_RC5, HALVES(UNIT(889000u), 0u, 0u)},
    /* rc6 */
    {TICKS(RC6_TICKS), SW_HIGH_FIRST, 36, 8, 8, MORE_TICKS(RC6_TICKS), 1, SW_RC6, HALVES(4u, 6u, 2u)},
    /* sirc12 */
    {US(45000), 0, 40, 5, 7, MORE_US(45000), 3, SW_COMMAND_FIRST, ONE_OR_TWO(UNIT(600000u), 4u, 1u)},
    /* sirc15 */
    {US(45000), 0, 40, 8, 7, MORE_US(45000), 3, SW_COMMAND_FIRST, ONE_OR_TWO(UNIT(600000u), 4u, 1u)},
    /* sirc20: the extended byte is the address's upper eight bits */
    {US(45000), 0, 40, 13, 7, MORE_US(45000), 3, SW_COMMAND_FIRST, ONE_OR_TWO(UNIT(600000u), 4u, 1u)},
    /* aeha: the parity is the command's lowest four bits */
    {US(130000), SW_STOP_MARK, 38, 16, 32, MORE_US(130000), 1, 0, ONE_OR_THREE(UNIT(425000u), 8u, 4u)},
    /* pd16 */
    {US(60000), SW_STOP_MARK | SW_REPEAT_BARE, 38, 8, 8, MORE_US(60000), 1, 0,
     ONE_OR_THREE(UNIT(525000u), 16u, 8u)},
};

/* Whether the output can keep up with what only a short frame is sure to have. */
static uint8_t short_holds(const struct sw_family *row)
{
    return row->time[SW_LEADER + 1u] / 2u >= SW_LEAST_TICKS && row->time[SW_ZERO] >= SW_LEAST_TICKS;
}

/* Whether the record of a free family can be used at all. */
static uint8_t free_holds(const struct sw_family *row)
{
    return (row->time[SW_LEADER] == 0) == (row->time[SW_LEADER + 1u] == 0) && (row->flags & FREE_ZERO) == 0 &&
           row->carrier_khz >= FREE_KHZ_LEAST && row->carrier_khz <= FREE_KHZ_MOST &&
           row->address_bits <= ADDRESS_BITS_MOST && row->command_bits != 0 &&
           row->command_bits <= COMMAND_BITS_MOST &&
           ((row->flags & SW_REPEAT) != SW_REPEAT_SHORT || short_holds(row));
}

static uint8_t free_row(sw_reader read, uint16_t record, struct sw_family *out)
{
    sw_read(read, record, out->time, FREE_TIMES_BYTES);
    sw_read(read, (uint16_t)(record + FREE_TIMES_BYTES), out, FREE_REST_BYTES);
    if (out->carrier_khz == 0) {
        out->carrier_khz = SW_USUAL_KHZ;
    }
    out->more_ticks = 0;
    out->least_frames = 1;
    out->kind = 0;
    return free_holds(out);
}

uint8_t sw_family_row(sw_reader read, uint8_t family, uint16_t free, struct sw_family *out)
{
    if (family == SW_FAMILY_FREE && free) {
        return free_row(read, free, out);
    }
    family--;
    if (family >= SW_FAMILIES) {
        return 0;
    }
    sw_flash_copy(out, &table[family], sizeof table[0]);
    return 1;
}
