/* Constant tables: in flash on the box, where RAM is short, plain memory elsewhere. */
#ifndef SW_FLASH_H
#define SW_FLASH_H

#include <stdint.h>

#ifdef __AVR__
#include <avr/pgmspace.h>
#define SW_FLASH PROGMEM
#define sw_flash_u8(address) pgm_read_byte(address)
#define sw_flash_u16(address) pgm_read_word(address)
#define sw_flash_u32(address) pgm_read_dword(address)
#else
#define SW_FLASH
#define sw_flash_u8(address) (*(const uint8_t *)(address))
#define sw_flash_u16(address) (*(const uint16_t *)(address))
#define sw_flash_u32(address) (*(const uint32_t *)(address))
#endif

#endif
