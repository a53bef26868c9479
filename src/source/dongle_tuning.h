/* What an RTL2832U dongle can be set to. Pure arithmetic. */
#ifndef WH_DONGLE_TUNING_H
#define WH_DONGLE_TUNING_H

#include "wheelhark/status.h"

#include <stdint.h>

/* Rates the chip's resampler makes: 225001..300000 and 900001..3200000 samples per second. */
wh_status wh_dongle_rate(double wanted_hz, uint32_t *rate, wh_error *error);
/* The legal rate closest to `wanted_hz`. */
uint32_t wh_dongle_nearest_rate(double wanted_hz);
/* The entry of gains[count] (tenths of a dB, any order) closest to `wanted_db`; the lower one of two equally close. */
int wh_dongle_nearest_gain(const int *gains, int count, double wanted_db);
/* Bytes of one USB transfer: about 20 ms, a multiple of the 16384 bytes the driver recommends. */
uint32_t wh_dongle_transfer_bytes(double rate_hz);

#endif
