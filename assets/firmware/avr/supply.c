/* The supply: see supply.h. */
#include "supply.h"
#include "converter.h"
#include "store.h"

#define BANDGAP_MV 1100u        /* typical; datasheet 8161D, table 28-7 */
#define WRITE_LEAST_MV 4500u
#define WRITE_LEAST_UNCALIBRATED_MV 4100u

static uint16_t calibration;

void supply_start(void)
{
    calibration = store_calibration();
}

uint8_t supply_calibrated(void)
{
    return calibration != 0;
}

uint16_t supply_mv(void)
{
    uint16_t reading = converter_bandgap();

    return reading ? (uint16_t)(((uint32_t)(4u * (calibration ? calibration : BANDGAP_MV)) << 8) / reading) : 0;
}

uint8_t supply_too_low(void)
{
    uint16_t mv = supply_mv();

    return mv != 0 && mv < (calibration ? WRITE_LEAST_MV : WRITE_LEAST_UNCALIBRATED_MV);
}
