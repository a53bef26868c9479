/* What comes out of the air, computed for tests without the generator that the program ships: interleaved I, Q floats. */
#ifndef WH_TEST_AIR_H
#define WH_TEST_AIR_H

#include "rng.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#define AIR_TURN 6.283185307179586476925286766559

static inline float *air_silence(size_t samples)
{
    float *const iq = calloc(2 * samples + 2, sizeof *iq);
    assert_non_null(iq);
    return iq;
}

/* White complex Gaussian noise of `power` per sample. */
static inline void air_noise(float *iq, size_t samples, double power, uint64_t seed)
{
    wh_rng rng;
    wh_rng_seed(&rng, seed);
    const double sigma = sqrt(0.5 * power);
    for (size_t i = 0; i < samples; i++) {
        double pair[2];
        wh_rng_gauss_pair(&rng, pair);
        iq[2 * i] += (float)(sigma * pair[0]);
        iq[2 * i + 1] += (float)(sigma * pair[1]);
    }
}

static inline void air_tone(float *iq, size_t from, size_t to, double rate_hz, double hz, double amplitude)
{
    for (size_t i = from; i < to; i++) {
        const double angle = fmod(AIR_TURN * hz / rate_hz * (double)i, AIR_TURN);
        iq[2 * i] += (float)(amplitude * cos(angle));
        iq[2 * i + 1] += (float)(amplitude * sin(angle));
    }
}

typedef struct air_keying {
    double rate_hz;                  /* samples a second */
    double chip_rate_hz;             /* as sent */
    double start;                    /* first chip's start in samples, any fraction */
    double carrier_hz, deviation_hz; /* deviation 0: on-off keying */
    double amplitude;
} air_keying;

/* Chips on the air, phase-continuous: the phase is summed up from sample to sample, a sample that straddles a chip's edge
 * taking its share of both tones. Returns the end in samples. */
static inline double air_keyed(float *iq, size_t samples, const air_keying *k, const uint8_t *chips, size_t count)
{
    const double chip = k->rate_hz / k->chip_rate_hz, end = k->start + chip * (double)count;
    double angle = 1.0;
    for (size_t i = (size_t)fmax(0.0, floor(k->start)); i < samples && (double)i < end; i++) {
        double on = 0.0, high = 0.0;
        for (int part = 0; part < 16; part++) { /* the mean over the sample's interval, in sixteenths */
            const double at = ((double)i + (part + 0.5) / 16.0 - k->start) / chip;
            if (at < 0.0 || at >= (double)count)
                continue;
            const int one = chips[(size_t)at] != 0;
            on += (k->deviation_hz > 0.0 || one) / 16.0;
            high += (one ? 1.0 : -1.0) / 16.0;
        }
        const double step = AIR_TURN * (k->carrier_hz + high * k->deviation_hz) / k->rate_hz;
        iq[2 * i] += (float)(k->amplitude * on * cos(angle + 0.5 * step));
        iq[2 * i + 1] += (float)(k->amplitude * on * sin(angle + 0.5 * step));
        angle = fmod(angle + step, AIR_TURN);
    }
    return end;
}

/* Amplitude for a ratio of the power while on to the noise in a band as wide as the chip rate. */
static inline double air_amplitude(double snr_db, double chip_rate_hz, double noise_power, double rate_hz)
{
    return sqrt(pow(10.0, snr_db / 10.0) * noise_power * chip_rate_hz / rate_hz);
}

static inline void air_random_chips(uint8_t *chips, size_t count, uint64_t seed)
{
    wh_rng rng;
    wh_rng_seed(&rng, seed);
    for (size_t i = 0; i < count; i++)
        chips[i] = (uint8_t)(wh_rng_next(&rng) >> 40 & 1u);
}

#endif
