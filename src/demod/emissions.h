/* Emissions: contiguous stretches of carrier inside an outline, from the energy in the radio's tones. */
#ifndef WH_EMISSIONS_H
#define WH_EMISSIONS_H

#include <stddef.h>

#define WH_EMISSIONS_MAX 32
#define WH_EMISSION_CHIP 8 /* energy samples per chip */

typedef struct wh_emission {
    size_t first, last; /* samples [first, last) of the energy array */
} wh_emission;

/* Level that the smoothed energy reaches while somebody sends (noise included). scratch[2 * count]. */
float wh_emissions_level(const float *energy, size_t count, size_t smooth, float *scratch);

/* energy[count]: power over time; `noise`: its mean without signal; smoothing and pauses in samples. A pause longer than
 * `pause` divides. Returns how many were found, in order of time, at most WH_EMISSIONS_MAX. scratch[2 * count]. */
size_t wh_emissions_find(const float *energy, size_t count, float noise, size_t smooth, size_t pause, float *scratch,
                         wh_emission *found);

#endif
