/* Reads runs of bytes: see reader.h. */
#include "reader.h"
#include "flash.h" /* SW_APART */

SW_APART void sw_read(sw_reader read, uint16_t at, void *to, uint8_t bytes)
{
    uint8_t *byte = to;
    uint8_t *end = byte + bytes;

    while (byte != end) {
        *byte++ = read(at++);
    }
}

void sw_run_start(struct sw_run *run, uint16_t at, uint16_t end)
{
    run->at = at;
    run->end = end;
    run->bad = 0;
}

SW_APART uint16_t sw_skip(struct sw_run *run, uint16_t bytes)
{
    uint16_t at = run->at;

    if ((uint16_t)(run->end - at) < bytes) {
        run->bad = 1;
    }
    run->at = (uint16_t)(at + bytes);
    return at;
}

void sw_take(sw_reader read, struct sw_run *run, void *to, uint8_t bytes)
{
    uint16_t at = sw_skip(run, bytes);

    if (!run->bad) {
        sw_read(read, at, to, bytes);
    }
}
