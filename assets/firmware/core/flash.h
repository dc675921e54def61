/* What is done for the box's flash and RAM, and is nothing elsewhere. */
#ifndef SW_FLASH_H
#define SW_FLASH_H

/* SW_FLASH: a constant table, in flash and not in RAM.
 * SW_APART: a function of its own, where the compiler would have put it into each that calls it, or into
 * the only one. There it would share that one's stack frame and registers: a frame longer than a displacement
 * reaches costs four bytes an access, and a value that finds no register costs as much. */
#ifdef __AVR__
#include <avr/pgmspace.h>
#define SW_FLASH PROGMEM
#define SW_APART __attribute__((noinline))
#define sw_flash_copy(to, from, bytes) memcpy_P(to, from, bytes)
#else
#include <string.h>
#define SW_FLASH
#define SW_APART
#define sw_flash_copy(to, from, bytes) memcpy(to, from, bytes)
#endif

#endif
