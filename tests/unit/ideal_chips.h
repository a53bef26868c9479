/* Soft chips as a perfect demodulator would give them, for tests of what reads them. */
#ifndef WH_TEST_IDEAL_CHIPS_H
#define WH_TEST_IDEAL_CHIPS_H

#include "chips.h"
#include "rng.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

/* The log-likelihood ratio of a clean chip of amplitude 1, roughly: ln I0(2 / 0.1). */
#define IDEAL_NOISE 0.1f
#define IDEAL_LLR   17.6f

static inline void ideal_put(wh_chips *chips, size_t at, unsigned value)
{
    chips->value[0][at] = value || chips->keyed ? 0.0f : 1.0f;
    chips->value[1][at] = value ? 1.0f : 0.0f;
    chips->llr[at] = value ? IDEAL_LLR : -IDEAL_LLR;
}

/* Chips first .. first + count - 1 of the emission from `sent`; `pad` silent chips (llr 0) at either side. */
static inline void ideal_chips(wh_chips *chips, const uint8_t *sent, size_t count, size_t pad, bool keyed)
{
    assert_true(wh_chips_reserve(chips, count + 2 * pad));
    chips->count = count + 2 * pad;
    chips->first = pad;
    chips->last = pad + count;
    chips->keyed = keyed;
    chips->coherent = false;
    chips->amplitude = 1.0f;
    chips->noise = IDEAL_NOISE;
    wh_chips_even_costs(chips);
    chips->start_s = 0.0;
    chips->chip_s = 1e-4;
    for (unsigned a = 0; a < 2; a++)
        for (unsigned b = 0; b < 2; b++)
            chips->turn[a][b] = 1.0f;
    for (size_t k = 0; k < chips->count; k++) {
        chips->value[0][k] = chips->value[1][k] = 0.0f;
        chips->llr[k] = 0.0f;
    }
    for (size_t k = 0; k < count; k++)
        ideal_put(chips, pad + k, sent[k]);
}

/* Gaussian noise of the stated variance on every correlation, and the chips' own llr from that. */
static inline void ideal_noise(wh_chips *chips, double variance, uint64_t seed)
{
    static const unsigned char zero[1] = {0}, one[1] = {1};
    wh_rng rng;
    wh_rng_seed(&rng, seed);
    chips->noise = (float)variance;
    wh_chips_even_costs(chips);
    for (size_t k = 0; k < chips->count; k++) {
        for (unsigned v = chips->keyed ? 1 : 0; v < 2; v++) {
            double pair[2];
            wh_rng_gauss_pair(&rng, pair);
            chips->value[v][k] += (float)(sqrt(0.5 * variance) * pair[0]) + (float)(sqrt(0.5 * variance) * pair[1]) * I;
        }
    }
    for (size_t k = 0; k < chips->count; k++)
        chips->llr[k] = wh_chips_likelihood(chips, k, one, 1) - wh_chips_likelihood(chips, k, zero, 1);
}

/* A carrier whose phase does not run on from chip to chip: every chip turned by an angle of its own. */
static inline void ideal_turn(wh_chips *chips, uint64_t seed)
{
    wh_rng rng;
    wh_rng_seed(&rng, seed);
    for (size_t k = 0; k < chips->count; k++) {
        const double angle = 2.0 * M_PI * wh_rng_uniform(&rng);
        const float complex turn = (float)cos(angle) + (float)sin(angle) * I;
        chips->value[0][k] *= turn;
        chips->value[1][k] *= turn;
    }
}

static inline void ideal_random(uint8_t *bits, size_t count, uint64_t seed)
{
    wh_rng rng;
    wh_rng_seed(&rng, seed);
    for (size_t i = 0; i < count; i++)
        bits[i] = (uint8_t)(wh_rng_next(&rng) >> 33 & 1u);
}

#endif
