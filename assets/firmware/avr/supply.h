/* The supply, as the chip's bandgap tells it: plus or minus 9 % until it was calibrated with a meter. */
#ifndef SW_SUPPLY_H
#define SW_SUPPLY_H

#include <stdint.h>

/* Reads the calibration. */
void supply_start(void);
uint8_t supply_calibrated(void);
/* Millivolts; 0 where it can't be measured: the reference is not the supply, or not named. */
uint16_t supply_mv(void);
/* Whether it is known to be too low to write safely. */
uint8_t supply_too_low(void);

#endif
