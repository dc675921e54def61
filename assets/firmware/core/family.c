/* The families' table: see family.h. */
#include "family.h"
#include "flash.h" /* the table is a constant */

/* A duration given in 1/1000 us as 1/256 ticks of 0.5 us, rounded; known when compiled. */
#define PARTS(ns) (uint32_t)(((ns) * 512uLL + 500u) / 1000u)
#define TICKS(us) (uint32_t)((us) * 2uL)

/* Every bit a mark of one unit, then a space of one or three. */
#define ONE_OR_THREE 1, 1, 1, 3
/* The mark tells: one unit or two. */
#define ONE_OR_TWO 1, 1, 2, 1
/* Both halves of a bit are a unit: SW_BI_PHASE says so. */
#define HALVES 0, 0, 0, 0

#define FIXED(value) SW_HOLDS(SW_HOLDS_FIXED, value)
#define TOGGLE SW_HOLDS(SW_HOLDS_TOGGLE, 0u)
#define ADDRESS(from) SW_HOLDS(SW_HOLDS_ADDRESS, from)
#define NOT_ADDRESS SW_HOLDS(SW_HOLDS_ADDRESS_INVERSE, 0u)
#define COMMAND SW_HOLDS(SW_HOLDS_COMMAND, 0u)
#define NOT_COMMAND(from) SW_HOLDS(SW_HOLDS_COMMAND_INVERSE, from)
#define END {0, 0}

static const struct sw_family table[SW_FAMILIES] SW_FLASH = {
    /* nec */
    {PARTS(562500u), TICKS(108000), 16, 8, ONE_OR_THREE, SW_STOP_MARK | SW_REPEAT_SHORT, 1, 38, 8, 8,
     {{ADDRESS(0u), 8}, {NOT_ADDRESS, 8}, {COMMAND, 8}, {NOT_COMMAND(0u), 8}, END}},
    /* nec16 */
    {PARTS(562500u), TICKS(108000), 16, 8, ONE_OR_THREE, SW_STOP_MARK | SW_REPEAT_SHORT, 1, 38, 16, 8,
     {{ADDRESS(0u), 16}, {COMMAND, 8}, {NOT_COMMAND(0u), 8}, END, END}},
    /* rc5 */
    {PARTS(889000u), TICKS(113778), 0, 0, HALVES, SW_BI_PHASE | SW_HIGH_FIRST, 1, 36, 5, 7,
     {{FIXED(1u), 1}, {NOT_COMMAND(6u), 1}, {TOGGLE, 1}, {ADDRESS(0u), 5}, {COMMAND, 6}}},
    /* rc6: 240 units from frame to frame are 213333 1/3 ticks */
    {PARTS(444444u), 213333uL, 6, 2, HALVES, SW_BI_PHASE | SW_ONE_OPENS_WITH_MARK | SW_HIGH_FIRST, 1, 36, 8,
     8, {{FIXED(1u), 1}, {FIXED(0u), 3}, {TOGGLE, 1 | SW_DOUBLE}, {ADDRESS(0u), 8}, {COMMAND, 8}}},
    /* sirc12 */
    {PARTS(600000u), TICKS(45000), 4, 1, ONE_OR_TWO, 0, 3, 40, 5, 7,
     {{COMMAND, 7}, {ADDRESS(0u), 5}, END, END, END}},
    /* sirc15 */
    {PARTS(600000u), TICKS(45000), 4, 1, ONE_OR_TWO, 0, 3, 40, 8, 7,
     {{COMMAND, 7}, {ADDRESS(0u), 8}, END, END, END}},
    /* sirc20: the extended byte is the address's upper eight bits */
    {PARTS(600000u), TICKS(45000), 4, 1, ONE_OR_TWO, 0, 3, 40, 13, 7,
     {{COMMAND, 7}, {ADDRESS(0u), 13}, END, END, END}},
    /* aeha: the parity is the command's lowest four bits */
    {PARTS(425000u), TICKS(130000), 8, 4, ONE_OR_THREE, SW_STOP_MARK, 1, 38, 16, 32,
     {{ADDRESS(0u), 16}, {COMMAND, 32}, END, END, END}},
    /* pd16 */
    {PARTS(525000u), TICKS(60000), 16, 8, ONE_OR_THREE, SW_STOP_MARK | SW_REPEAT_BARE, 1, 38, 8, 8,
     {{ADDRESS(0u), 8}, {COMMAND, 8}, END, END, END}},
};

uint8_t sw_family_row(uint8_t family, struct sw_family *out)
{
    uint8_t *to = (uint8_t *)out;
    const uint8_t *from;
    uint8_t i;

    if (family == 0 || family > SW_FAMILIES) {
        return 0;
    }
    from = (const uint8_t *)&table[family - 1u];
    for (i = 0; i < sizeof *out; i++) {
        to[i] = sw_flash_u8(from + i);
    }
    return 1;
}
