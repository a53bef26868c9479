#include "chips.h"

#include "special.h"

#include <math.h>
#include <stdlib.h>

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

/* A known waveform of energy E and unknown phase in noise: ln p = ln I0(2 A |z| / noise) - A^2 n / noise + const, where z
 * is the sum of the n correlations turned to a common phase (Proakis, Digital Communications, noncoherent detection). */
float wh_chips_likelihood(const wh_chips *chips, size_t at, const unsigned char *pattern, size_t count)
{
    const double scale = 2.0 * (double)chips->amplitude / (double)chips->noise;
    double sum = 0.0, cost = 0.0;
    float complex z = 0.0f, turn = 1.0f;
    for (size_t i = 0; i < count; i++) {
        const unsigned value = pattern[i] & 1u;
        const float complex y = chips->value[value][at + i];
        if (i > 0)
            turn *= conjf(chips->turn[pattern[i - 1] & 1u][value]);
        if (chips->coherent)
            z += y * turn;
        else if (value || !chips->keyed)
            sum += wh_ln_bessel_i0(scale * (double)wh_magnitude(y));
        cost += (double)chips->cost[value][at + i];
    }
    if (chips->coherent)
        sum = wh_ln_bessel_i0(scale * (double)wh_magnitude(z));
    return (float)(sum - cost);
}
