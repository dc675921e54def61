/* The EEPROM: bytes read at once, and written one by one without anyone waiting, each read back
 * afterwards. Beside the image's two slots it keeps the calibration of the bandgap. */
#ifndef SW_STORE_H
#define SW_STORE_H

#include <stdint.h>

/* Reads a byte: a sw_reader of image.h. While a byte is being written this waits for it, 3.4 ms at
 * most: ask store_busy first. From STORE_HELD on it reads the bytes of store_held instead, so that a
 * record that came over the link is read like the image. */
uint8_t store_read(uint16_t at);
#define STORE_HELD 0x8000u

/* Bytes of the link that outlast their message: those of a write, or a record to be sent. */
#define STORE_HELD_MAX 93u
extern uint8_t store_held[STORE_HELD_MAX];

/* Starts to write a run of bytes, which must stay as they are until it is done. The last is written
 * first: a header's magic byte comes when all behind it is there. */
void store_write(uint16_t at, const uint8_t *bytes, uint8_t length);
uint8_t store_busy(void);
/* Once a turn of the main loop. */
void store_turn(void);
/* How the last run ended: SW_FAULT_NONE or SW_FAULT_WORN. */
uint8_t store_fault(void);

/* What the bandgap was found to be, in millivolts; 0 where no one said. */
uint16_t store_calibration(void);
/* Starts to write it; 0 takes it back. */
void store_calibrate(uint16_t bandgap_mv);

#endif
