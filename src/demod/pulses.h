/* Pulses: what is much stronger than the samples around it, and shorter than half a chip, is not the sensor's. */
#ifndef WH_PULSES_H
#define WH_PULSES_H

#include <complex.h>
#include <stdbool.h>
#include <stddef.h>

/* Power of the samples, summed up, two at a time. A zeroed map is empty. */
typedef struct wh_pulse_map {
    size_t pairs, capacity;
    double *once; /* [pairs + 1] */
} wh_pulse_map;

bool wh_pulse_map_make(wh_pulse_map *map, const float complex *samples, size_t count); /* false when memory is out */
void wh_pulse_map_free(wh_pulse_map *map);

/* Copy the samples with all pulses of at most `longest` samples set to zero. Returns how many samples were; 0: nothing was copied.
 * Below 8 samples nothing is looked for: too few to tell a pulse from noise. */
size_t wh_pulses_blank(const wh_pulse_map *map, double longest, const float complex *samples, size_t count,
                       float complex *out);

#endif
