/* Where the tones are: carrier and deviation from the burst's spectrum. */
#ifndef WH_TONES_H
#define WH_TONES_H

#include "demod.h"
#include "fft.h"

#include <stdbool.h>
#include <stddef.h>

#define WH_TONES_FFT 2048 /* 195 Hz bins at 400 kS/s: resolves tones keyed at 1 kchip/s */

/* The burst's power spectrum, summed up so that the power of any band costs two look-ups. */
typedef struct wh_tone_map {
    double bin_hz;
    float power[WH_TONES_FFT];     /* power per bin, order of frequency */
    double once[WH_TONES_FFT + 1]; /* running sum of power, without what has been masked */
    float hann[WH_TONES_FFT];      /* window, made at the first use; the map starts out zeroed */
    double whole;                  /* power of all, masked or not */
    float raw[WH_TONES_FFT];       /* power per bin before masking */
    float tone[WH_TONES_FFT];      /* scratch: power of a tone keyed at the radio's rate, by search step */
    float partner[WH_TONES_FFT];   /* scratch: strongest tone that may belong to it */
} wh_tone_map;

/* Estimates, Hz relative to the baseband centre. */
typedef struct wh_tones {
    double carrier_hz, deviation_hz;
    double strength; /* of the weaker tone (or the only one): signal power over noise in a band of the chip rate */
    double balance;  /* weaker tone over stronger, 0..1 */
} wh_tones;

bool wh_tone_map_make(wh_tone_map *map, wh_fft *fft, const wh_baseband *baseband);
/* Power that a tone keyed at `width_hz` has at every `step`th bin, into map->tone. Returns how many there are. */
size_t wh_tones_powers(wh_tone_map *map, double width_hz, double noise_density, size_t step);
#define WH_TONES_MAX 4
/* The likeliest places for the radio's tone or pair of tones, best first: several when several transmitters share the baseband.
 * Returns how many, at most `most` <= WH_TONES_MAX; each further one is at least a tenth as strong per tone as the best. */
size_t wh_tones_find(wh_tone_map *map, const wh_baseband *baseband, const wh_radio *radio, size_t most,
                     wh_tones *found);

/* Is there more power outside carrier +- half_width than inside, noise apart? */
bool wh_tones_has_neighbours(const wh_tone_map *map, const wh_baseband *baseband, double carrier_hz,
                             double half_width_hz);

/* Take a transmitter that is understood out of the map: its tones, and as much as their keying can spread around them. `before`: power
 * per bin before its waveform was taken out of the samples; what is left then of its own band counts as far as it is more than such
 * taking out leaves. NULL when it was not. True when something else is left that stands out of the noise. */
bool wh_tones_mask(wh_tone_map *map, const wh_baseband *baseband, const wh_radio *radio, double carrier_hz,
                   double deviation_hz, const float *before);

/* Is there, in what is not masked and not within reach_hz of either tone, a band as wide as the narrowest tone with as much signal as
 * noise? */
bool wh_tones_stand_out(const wh_tone_map *map, const wh_baseband *baseband, const double own_hz[2], double reach_hz);

#endif
