/* Chips to complex samples: phase-continuous frequency-shift keying or on-off keying. */
#ifndef WH_SYNTH_WAVE_H
#define WH_SYNTH_WAVE_H

#include "radio.h"

#include <stddef.h>
#include <stdint.h>

/* One burst as a function of time. Nothing in it is rounded to samples: chip boundaries, start and drift are exact. */
typedef struct wh_wave_spec {
    wh_radio radio;
    double rate_error;      /* fraction: 0.03 = chips 3 % faster than nominal */
    double deviation_error; /* fraction: 0.1 = tones 10 % further apart */
    double carrier_hz;      /* baseband frequency of the centre at the start of the burst */
    double drift_hz;        /* how far the centre moves from the first chip to the last, linearly */
    double start_s;         /* start of the first chip */
    double edge_s;          /* duration of each transition, raised cosine, centred on its boundary; 0: abrupt.
                               At most one chip */
    double amplitude;       /* while on; 1 = full scale */
    double phase;           /* of the carrier at the start, radians */
} wh_wave_spec;

typedef struct wh_wave wh_wave;

/* Copies `chips` (one 0/1 per byte, >= 1). NULL when memory is out or the specification makes no sense. */
wh_wave *wh_wave_create(const wh_wave_spec *spec, const uint8_t *chips, size_t count);
void wh_wave_destroy(wh_wave **wave);
/* End of the last chip minus start of the first, seconds. */
double wh_wave_duration(const wh_wave *wave);
/* Instants before which and from which on the burst is silent, edges included. */
void wh_wave_span(const wh_wave *wave, double *begin_s, double *end_s);
/* The occupied band in baseband: the carrier or both tones, drift included, and one chip rate on either side (the main
 * lobe of the keying). */
void wh_wave_band(const wh_wave *wave, double *low_hz, double *high_hz);
/* Add samples number first .. first + count - 1, taken at number / sample_rate_hz, to interleaved floats iq[2 * count]. The
 * result does not depend on how the samples are divided into calls. */
void wh_wave_add(const wh_wave *wave, double sample_rate_hz, uint64_t first, size_t count, float *iq);

#endif
