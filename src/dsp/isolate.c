#include "isolate.h"

#include "mixer.h"
#include "wide.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* liquid's header wants <complex.h> first. */
#include <liquid/liquid.h>

#define HALF_LENGTH  6 /* filter half-length in output samples: flat to 0.8 of the band, see WH_ISOLATED_RATE_HZ */
#define STOP_BAND_DB 60.0f
#define PIECE        2048 /* samples mixed at a time, to be filtered while they are in the cache */
#define LANES        16   /* products added up side by side, which fills vector registers */

/* Mixing and filtering are loops of our own, five times as fast as liquid's oscillator and decimator of version 1.5, which handle
 * one sample at a time; the taps are liquid's. */
struct wh_isolator {
    double rate_hz;
    unsigned factor;
    wh_mixer mixer;
    size_t at;        /* samples fed since the beginning */
    size_t tap_count; /* 2 HALF_LENGTH factor + 1, or 1 */
    float *taps;      /* [tap_count, up to a multiple of LANES: 0] */
    size_t have;      /* mixed samples waiting */
    float *re, *im;   /* [tap_count + PIECE + LANES] */
};

static bool make_taps(wh_isolator *isolator)
{
    isolator->tap_count = isolator->factor > 1 ? 2 * HALF_LENGTH * isolator->factor + 1 : 1;
    isolator->taps = calloc(isolator->tap_count + LANES, sizeof *isolator->taps);
    if (!isolator->taps)
        return false;
    isolator->taps[0] = 1.0f;
    if (isolator->factor == 1)
        return true;
    if (liquid_firdes_kaiser((unsigned)isolator->tap_count, 0.5f / (float)isolator->factor, STOP_BAND_DB, 0.0f,
                             isolator->taps) != LIQUID_OK)
        return false;
    for (size_t i = 0; i < isolator->tap_count; i++) /* liquid's have a gain of `factor` at 0 Hz */
        isolator->taps[i] /= (float)isolator->factor;
    return true;
}

wh_isolator *wh_isolator_create(double sample_rate_hz)
{
    if (!(sample_rate_hz >= 1.0))
        return NULL;
    wh_isolator *isolator = calloc(1, sizeof *isolator);
    if (!isolator)
        return NULL;
    isolator->rate_hz = sample_rate_hz;
    isolator->factor = (unsigned)fmax(1.0, floor(sample_rate_hz / WH_ISOLATED_RATE_HZ + 1e-9));
    const bool made = make_taps(isolator);
    isolator->re = calloc(isolator->tap_count + PIECE + LANES, sizeof *isolator->re);
    isolator->im = calloc(isolator->tap_count + PIECE + LANES, sizeof *isolator->im);
    if (!made || !isolator->re || !isolator->im)
        wh_isolator_destroy(&isolator);
    return isolator;
}

void wh_isolator_destroy(wh_isolator **isolator)
{
    if (!isolator || !*isolator)
        return;
    free((*isolator)->taps);
    free((*isolator)->re);
    free((*isolator)->im);
    free(*isolator);
    *isolator = NULL;
}

unsigned wh_isolator_factor(const wh_isolator *isolator)
{
    return isolator->factor;
}

size_t wh_isolator_margin(const wh_isolator *isolator)
{
    return isolator->tap_count / 2;
}

void wh_isolator_begin(wh_isolator *isolator, double shift_hz)
{
    wh_mixer_begin(&isolator->mixer, 2.0 * M_PI * fmod(shift_hz / isolator->rate_hz, 1.0));
    isolator->at = isolator->have = 0;
}

/* sum[l] += taps[i] x[i] for all i = l, l + LANES, ...: sums side by side, which need not wait for each other. */
static inline void add_products(const float *restrict taps, const float *restrict x, size_t count, float *restrict sum)
{
    for (size_t i = 0; i < count; i += LANES)
        for (size_t l = 0; l < LANES; l++)
            sum[l] += taps[i + l] * x[i + l];
}

static inline float total(float *sum)
{
    for (size_t half = LANES / 2; half > 0; half /= 2)
        for (size_t l = 0; l < half; l++)
            sum[l] += sum[l + half];
    return sum[0];
}

/* Every `factor`th sample of the convolution; the taps read the same both ways. Taps of 0 fill up the last lanes. */
WH_WIDE static void decimate(const float *restrict re, const float *restrict im, const float *restrict taps,
                             size_t tap_count, size_t factor, float *restrict output, size_t count)
{
    for (size_t k = 0; k < count; k++) {
        float a[LANES] = {0.0f}, b[LANES] = {0.0f};
        add_products(taps, re + k * factor, tap_count, a);
        add_products(taps, im + k * factor, tap_count, b);
        output[2 * k] = total(a);
        output[2 * k + 1] = total(b);
    }
}

size_t wh_isolator_feed(wh_isolator *isolator, const float complex *samples, size_t count, float complex *output)
{
    const size_t factor = isolator->factor, taps = isolator->tap_count;
    float *re = isolator->re, *im = isolator->im;
    size_t produced = 0;
    for (size_t done = 0, step; done < count; done += step) {
        step = count - done < PIECE ? count - done : PIECE;
        wh_mixer_run(&isolator->mixer, samples + done, isolator->at, 0.0, step, re + isolator->have,
                     im + isolator->have);
        isolator->at += step;
        isolator->have += step;
        /* What the taps of 0 meet must be a number. */
        memset(re + isolator->have, 0, LANES * sizeof *re);
        memset(im + isolator->have, 0, LANES * sizeof *im);
        const size_t ready = isolator->have < taps ? 0 : (isolator->have - taps) / factor + 1;
        decimate(re, im, isolator->taps, taps, factor, (float *)(output + produced), ready);
        produced += ready;
        isolator->have -= ready * factor;
        memmove(re, re + ready * factor, isolator->have * sizeof *re);
        memmove(im, im + ready * factor, isolator->have * sizeof *im);
    }
    return produced;
}
