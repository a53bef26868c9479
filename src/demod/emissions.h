/* Emissions: contiguous stretches of carrier inside an outline, from the energy in the radio's tones. */
#ifndef WH_EMISSIONS_H
#define WH_EMISSIONS_H

#include <stddef.h>

#define WH_EMISSIONS_MAX 32
#define WH_EMISSION_CHIP 8 /* energy samples per chip */

typedef struct wh_emission {
    size_t first, last; /* samples [first, last) of the energy array */
} wh_emission;

/* A stride that meets all places of the chip in turn. Neighbouring samples share most of their chip: three of them tell hardly more
 * than one, and selecting among all took a tenth of the demodulator's time. */
#define WH_EMISSION_STRIDE 3

/* The value at a share 0..1 of the way through every `stride`th value (fewer when there are very many), sorted. count >= 1, scratch[count]. */
float wh_emissions_quantile(const float *level, size_t count, size_t stride, double share, float *scratch);

/* Level that the smoothed energy reaches while somebody sends (noise included). scratch[2 * count]. */
float wh_emissions_level(const float *energy, size_t count, size_t smooth, float *scratch);

/* energy[count]: power over time; `noise`: its mean without signal; smoothing and pauses in samples, taken to the next half chip. A pause longer than
 * `pause` divides. Returns how many were found, in order of time, at most WH_EMISSIONS_MAX. scratch[2 * count]. */
size_t wh_emissions_find(const float *energy, size_t count, float noise, size_t smooth, size_t pause, float *scratch,
                         wh_emission *found);

#endif
