/* Take a transmission whose chips are known out of the samples. */
#ifndef WH_SUBTRACT_H
#define WH_SUBTRACT_H

#include "chips.h"
#include "demod.h"

#include <complex.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define WH_KNOWN_WAVE_CHIPS 1024

/* One emission as decided chip by chip; samples and radians per sample of the baseband it was found in. */
typedef struct wh_known_wave {
    double start, chip;
    double turn[2]; /* frequency of a chip of value 0 and 1 */
    bool keyed;     /* a 0 has no carrier */
    size_t count;
    uint8_t value[WH_KNOWN_WAVE_CHIPS];
} wh_known_wave;

/* The emission of `chips`, first to last; `tone_hz` of a 0 and of a 1. Longer ones than WH_KNOWN_WAVE_CHIPS are cut. */
void wh_known_wave_of(const wh_chips *chips, const double tone_hz[2], double rate_hz, wh_known_wave *wave);

/* From every chip what its samples hold of its tone, whatever amplitude and phase: of a phase-continuous transmission
 * nothing is left but what the edges, known to a fraction of a sample, leave behind, 15 to 20 dB down; of others at
 * least the chip rate away most. */
void wh_subtract(float complex *samples, size_t count, const wh_known_wave *wave);

#define WH_KNOWN_WAVES 8 /* copies in one burst that can be taken out of it */

/* What is to be taken out of one burst. Starts out zeroed. */
typedef struct wh_known_waves {
    size_t count;
    wh_known_wave wave[WH_KNOWN_WAVES];
    float complex *left; /* [capacity], owned: the burst without what was taken out */
    size_t capacity;
} wh_known_waves;

void wh_known_waves_free(wh_known_waves *waves);
/* As wh_known_wave_of; beyond WH_KNOWN_WAVES nothing is added. */
void wh_known_waves_add(wh_known_waves *waves, const wh_chips *chips, const double tone_hz[2], double rate_hz);
/* Take all out: the baseband's samples are from now on those that are left, owned by `waves`, which is then empty.
 * False when it is empty or memory is out. */
bool wh_known_waves_take_out(wh_known_waves *waves, wh_baseband *baseband);

#endif
