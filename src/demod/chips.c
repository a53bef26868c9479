#include "chips.h"

#include "special.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

bool wh_chips_reserve(wh_chips *chips, size_t count)
{
    if (count <= chips->capacity)
        return true;
    float *llr = realloc(chips->llr, count * sizeof *llr);
    if (llr)
        chips->llr = llr;
    float complex *zero = realloc(chips->value[0], count * sizeof *zero);
    if (zero)
        chips->value[0] = zero;
    float complex *one = realloc(chips->value[1], count * sizeof *one);
    if (one)
        chips->value[1] = one;
    bool costs = true;
    for (unsigned v = 0; v < 2; v++) {
        float *cost = realloc(chips->cost[v], count * sizeof *cost);
        if (cost)
            chips->cost[v] = cost;
        costs = costs && cost;
    }
    if (!llr || !zero || !one || !costs)
        return false;
    chips->capacity = count;
    return true;
}

void wh_chips_free(wh_chips *chips)
{
    free(chips->llr);
    free(chips->value[0]);
    free(chips->value[1]);
    free(chips->cost[0]);
    free(chips->cost[1]);
    *chips = (wh_chips){0};
}

void wh_chips_even_costs(wh_chips *chips)
{
    const float on = chips->amplitude * chips->amplitude / chips->noise;
    for (size_t k = 0; k < chips->count; k++) {
        chips->cost[0][k] = chips->keyed ? 0.0f : on;
        chips->cost[1][k] = on;
    }
}

#define PIECE 128 /* places at a time */

/* scale times the magnitude of the pattern's chips turned to a common phase and added. */
static void sum_patterns(const wh_chips *chips, size_t at, const unsigned char *pattern, size_t length, float scale,
                         size_t count, float *magnitude)
{
    float re[PIECE] = {0.0f}, im[PIECE] = {0.0f};
    float complex turn = 1.0f;
    for (size_t i = 0; i < length; i++) {
        if (i > 0)
            turn *= conjf(chips->turn[pattern[i - 1] & 1u][pattern[i] & 1u]);
        const float *y = (const float *)(chips->value[pattern[i] & 1u] + at + i);
        const float turn_re = crealf(turn), turn_im = cimagf(turn);
        for (size_t k = 0; k < count; k++, y += 2 * length) {
            re[k] += y[0] * turn_re - y[1] * turn_im;
            im[k] += y[0] * turn_im + y[1] * turn_re;
        }
    }
    for (size_t k = 0; k < count; k++)
        magnitude[k] = scale * sqrtf(re[k] * re[k] + im[k] * im[k]);
}

/* The same of one chip in each. */
static void take_chip(const wh_chips *chips, size_t at, unsigned value, size_t length, float scale, size_t count,
                      float *magnitude)
{
    const float *y = (const float *)(chips->value[value] + at);
    for (size_t k = 0; k < count; k++, y += 2 * length)
        magnitude[k] = scale * sqrtf(y[0] * y[0] + y[1] * y[1]);
}

static void take_costs(const wh_chips *chips, size_t at, const unsigned char *pattern, size_t length, size_t count,
                       float *likelihood)
{
    for (size_t i = 0; i < length; i++) {
        const float *cost = chips->cost[pattern[i] & 1u] + at + i;
        for (size_t k = 0; k < count; k++)
            likelihood[k] -= cost[k * length];
    }
}

/* A known waveform of energy E and unknown phase in noise: ln p = ln I0(2 A |z| / noise) - A^2 n / noise + const, where z
 * is the sum of the n correlations turned to a common phase (Proakis, Digital Communications, noncoherent detection). */
void wh_chips_likelihoods(const wh_chips *chips, size_t at, const unsigned char *pattern, size_t length, size_t count,
                          float *likelihood)
{
    const float scale = 2.0f * chips->amplitude / chips->noise;
    for (size_t done = 0, piece; done < count; done += piece, at += piece * length, likelihood += piece) {
        piece = count - done < PIECE ? count - done : PIECE;
        if (chips->coherent) {
            sum_patterns(chips, at, pattern, length, scale, piece, likelihood);
            wh_ln_bessel_i0s(likelihood, piece);
        } else {
            memset(likelihood, 0, piece * sizeof *likelihood);
            for (size_t i = 0; i < length; i++) {
                float chip[PIECE];
                if (chips->keyed && !(pattern[i] & 1u))
                    continue;
                take_chip(chips, at + i, pattern[i] & 1u, length, scale, piece, chip);
                wh_ln_bessel_i0s(chip, piece);
                for (size_t k = 0; k < piece; k++)
                    likelihood[k] += chip[k];
            }
        }
        take_costs(chips, at, pattern, length, piece, likelihood);
    }
}
