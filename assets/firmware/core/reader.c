/* Reads runs of bytes: see reader.h. */
#include "reader.h"

void sw_read(sw_reader read, uint16_t at, void *to, uint8_t bytes)
{
    uint8_t *byte = to;

    for (; bytes != 0; bytes--) {
        *byte++ = read(at++);
    }
}
