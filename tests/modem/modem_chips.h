/* Chip errors of the demodulator alone: bursts of known chips straight at baseband, no detector, no filter, no
 * framing. */
#ifndef MODEM_CHIPS_H
#define MODEM_CHIPS_H

#include "radio.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct modem_chip_count {
    size_t chips, errors;
    size_t bursts, lost; /* bursts whose chips could not be found; none of their chips are counted */
} modem_chip_count;

/* `bursts` bursts of random chips at on_db (energy of an on chip over N0), chip rate exact, carrier within +-2 kHz
 * of the middle, any timing and phase. The first chips of a burst are known and only serve to tell which chip is
 * which. False when memory is out. */
bool modem_chip_errors(const wh_radio *radio, double on_db, size_t bursts, uint64_t seed, modem_chip_count *count);

#endif
