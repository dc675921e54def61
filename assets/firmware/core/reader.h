/* How the image is read: byte by byte through a function, so that it can lie anywhere. Numbers lie low
 * byte first, in memory as in the image, so that bytes are copied and not put together. */
#ifndef SW_READER_H
#define SW_READER_H

#include <stdint.h>

/* Gives the byte at an offset, counted over both slots and the tail. */
typedef uint8_t (*sw_reader)(uint16_t offset);

/* Copies bytes from an offset on. */
void sw_read(sw_reader read, uint16_t at, void *to, uint8_t bytes);

/* Bytes that are taken one after another. Once something was wrong with them `bad` stays set, and no
 * more is read: whoever takes looks at it last. */
struct sw_run {
    uint16_t at;
    uint16_t end;   /* behind the last byte there is */
    uint8_t bad;
};
void sw_run_start(struct sw_run *run, uint16_t at, uint16_t end);
/* Leaves bytes behind. Gives where they are. */
uint16_t sw_skip(struct sw_run *run, uint16_t bytes);
/* Takes bytes; leaves `to` as it is where they are not there. */
void sw_take(sw_reader read, struct sw_run *run, void *to, uint8_t bytes);

#endif
