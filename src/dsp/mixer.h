/* Frequency shift: samples times a complex exponential, real and imaginary parts apart. */
#ifndef WH_MIXER_H
#define WH_MIXER_H

#include <complex.h>
#include <stddef.h>

/* Samples between phases taken afresh: long enough that sine and cosine cost nothing, short enough for the first-level cache. */
#define WH_MIXER_BLOCK 256

typedef struct wh_mixer {
    double radians;                               /* per sample */
    float re[WH_MIXER_BLOCK], im[WH_MIXER_BLOCK]; /* exp(-j radians k) */
} wh_mixer;

/* Phase 0 at position 0. */
void wh_mixer_begin(wh_mixer *mixer, double radians);
/* re[i] + j im[i] = samples[i] exp(-j radians (at + i + offset)) for the `count` samples that stand at `at`, 0 <= offset <= 1. How a
 * signal is divided over several calls changes nothing. */
void wh_mixer_run(const wh_mixer *mixer, const float complex *samples, size_t at, double offset, size_t count,
                  float *re, float *im);

#endif
