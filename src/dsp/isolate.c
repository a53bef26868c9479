#include "isolate.h"

#include "mixer.h"
#include "quad.h"
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
#define LANES        8    /* products added up side by side */

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

/* The sums of both halves of an oct, place by place. */
static inline wh_quad fold(const wh_oct *sum)
{
    wh_quad half[2];
    memcpy(half, sum, sizeof half);
    return half[0] + half[1];
}

/* Every `factor`th sample of the convolution; the taps read the same both ways. Taps of 0 fill up the last lanes. Two samples at a time:
 * real and imaginary parts of both make up a quad, so that the lanes of four sums are added up together. */
WH_WIDE static void decimate(const float *restrict re, const float *restrict im, const float *restrict taps,
                             size_t tap_count, size_t factor, float *restrict output, size_t count)
{
    for (size_t k = 0; k < count; k += 2) {
        const size_t from[2] = {k * factor, (k + 1 < count ? k + 1 : k) * factor};
        wh_oct sum[4] = {{0.0f}, {0.0f}, {0.0f}, {0.0f}};
        for (size_t i = 0; i < tap_count; i += LANES) {
            const wh_oct tap = *(const wh_oct_anywhere *)(taps + i);
            sum[0] += tap * *(const wh_oct_anywhere *)(re + from[0] + i);
            sum[1] += tap * *(const wh_oct_anywhere *)(im + from[0] + i);
            sum[2] += tap * *(const wh_oct_anywhere *)(re + from[1] + i);
            sum[3] += tap * *(const wh_oct_anywhere *)(im + from[1] + i);
        }
        const wh_quad a = fold(&sum[0]), b = fold(&sum[1]), c = fold(&sum[2]), d = fold(&sum[3]);
        const wh_quad first = WH_QUAD_PICK(a, b, 0, 4, 1, 5) + WH_QUAD_PICK(a, b, 2, 6, 3, 7);
        const wh_quad second = WH_QUAD_PICK(c, d, 0, 4, 1, 5) + WH_QUAD_PICK(c, d, 2, 6, 3, 7);
        const wh_quad both = WH_QUAD_PICK(first, second, 0, 1, 4, 5) + WH_QUAD_PICK(first, second, 2, 3, 6, 7);
        memcpy(output + 2 * k, &both, (k + 1 < count ? 4 : 2) * sizeof *output);
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
