/* Reads runs of bytes: see reader.h. */
#include "reader.h"
#include "flash.h" /* SW_APART */

SW_APART void sw_read(sw_reader read, uint16_t at, void *to, uint8_t bytes)
{
    uint8_t *byte = to;

    for (; bytes != 0; bytes--) {
        *byte++ = read(at++);
    }
}

void sw_run_start(struct sw_run *run, uint16_t at, uint16_t end)
{
    run->at = at;
    run->end = end;
    run->bad = 0;
}

void sw_take(sw_reader read, struct sw_run *run, void *to, uint8_t bytes)
{
    uint16_t at = run->at;

    if ((uint16_t)(run->end - at) < bytes) {
        run->bad = 1;
    }
    if (run->bad) {
        return;
    }
    run->at = (uint16_t)(at + bytes);
    sw_read(read, at, to, bytes);
}
