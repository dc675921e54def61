/* Constant tables: in flash on the box, where RAM is short, plain memory elsewhere. */
#ifndef SW_FLASH_H
#define SW_FLASH_H

#ifdef __AVR__
#include <avr/pgmspace.h>
#define SW_FLASH PROGMEM
#define sw_flash_copy(to, from, bytes) memcpy_P(to, from, bytes)
#else
#include <string.h>
#define SW_FLASH
#define sw_flash_copy(to, from, bytes) memcpy(to, from, bytes)
#endif

#endif
