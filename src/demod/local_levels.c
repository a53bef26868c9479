#include "local_levels.h"

#include "select.h"

#include <math.h>

#define HALF_WINDOW                                                                                                    \
    10 /* chips to either side over which levels are averaged: a frame's fading is slower, a pulse may be shorter */
/* Noise counts as raised by what the window's mean exceeds twice the usual noise: ten exponential values exceed it once in 300. */
#define NOISE_GRACE 1.0f
#define ROUGH_STEP  5       /* chips for which one rough look must do */
#define ROUGH_GRACE 2.0f    /* as NOISE_GRACE; a lower quartile strays twice as far as a mean */
#define LN_QUARTILE 0.2877f /* lower quartile of an exponential distribution over its mean, ln 4/3 */
#define ROUGH_LEAST 4
#define AMPLITUDE_DEVIATIONS                                                                                           \
    2.0 /* variance of the window's power, over that of noise and data, from which on it is fading */
/* Bits at random make a chip's power stray by the square of its mean; line codes that balance on and off nearly not at all. */
#define DATA_SHARE  0.5
#define LEAST_POWER 0.02f /* of the whole's: 17 dB down, nothing can be decided */

/* Which value is silent in a chip; NONE: on-off keying while on, and chips hit by something else. */
enum { ZERO_SILENT = 0, ONE_SILENT = 1, NONE = 2 };

static float squared(float complex z)
{
    return crealf(z) * crealf(z) + cimagf(z) * cimagf(z);
}

static float energy(const wh_chips *chips, size_t k)
{
    return squared(chips->value[1][k]) + (chips->keyed ? 0.0f : squared(chips->value[0][k]));
}

static bool is_hit(const wh_chips *chips, size_t k, float hit)
{
    return squared(chips->value[1][k]) > hit || squared(chips->value[0][k]) > hit;
}

/* By what is known of the noise so far (`cost` holds it). ln I0(x) is near x where it matters: compare what the tones' amplitudes are
 * worth over their own noise. */
static void find_silent(const wh_chips *chips, float hit, float bar, float *silent)
{
    const float a = chips->amplitude;
    for (size_t k = chips->first; k < chips->last; k++) {
        const float one = squared(chips->value[1][k]), zero = squared(chips->value[0][k]);
        const float for_one = (2.0f * sqrtf(one) - a) / chips->cost[1][k];
        const float for_zero = chips->keyed ? 0.0f : (2.0f * sqrtf(zero) - a) / chips->cost[0][k];
        const bool is_one = chips->keyed ? one >= bar : for_one > for_zero;
        silent[k] = is_hit(chips, k, hit) ? NONE : !is_one ? ONE_SILENT : chips->keyed ? NONE : ZERO_SILENT;
    }
}

/* Usual noise in a correlation: by the median of what silent values hold, which are exponentially distributed. */
static float usual_noise(const wh_chips *chips, float floor, float bar, float *held)
{
    size_t count = 0;
    for (size_t k = chips->first; k < chips->last; k++) {
        const float one = squared(chips->value[1][k]), zero = squared(chips->value[0][k]);
        if (!chips->keyed || one < bar)
            held[count++] = chips->keyed ? one : fminf(one, zero);
    }
    const float usual = count >= 8 ? wh_quantile(held, count, 0.5) / (float)M_LN2 : 0.0f;
    return fmaxf(fmaxf(floor, usual), 1e-14f);
}

/* A first look at noise that may be stronger than the signal in one tone: half of its chips are then mistaken for on, and the other
 * tone's on chips for noise. Lower quartiles stand that. */
static void rough_noise(const wh_chips *chips, const float *silent, float usual, unsigned v, float *noise)
{
    float held[2 * HALF_WINDOW + ROUGH_STEP];
    for (size_t k = chips->first; k < chips->last; k += ROUGH_STEP) {
        size_t count = 0;
        const size_t from = k > chips->first + HALF_WINDOW ? k - HALF_WINDOW : chips->first;
        for (size_t i = from; i < chips->last && i < k + HALF_WINDOW + ROUGH_STEP; i++)
            if (silent[i] == (float)v)
                held[count++] = squared(chips->value[v][i]);
        const float here = count >= ROUGH_LEAST ? wh_quantile(held, count, 0.25) / LN_QUARTILE : usual;
        for (size_t i = k; i < chips->last && i < k + ROUGH_STEP; i++)
            noise[i] = fmaxf(usual, here - ROUGH_GRACE * usual);
    }
}

/* Noise of value v around every chip: the usual, or what the chips near by in which v is silent hold beyond it. */
static void track_noise(const wh_chips *chips, const float *silent, float usual, unsigned v, float *noise)
{
    double sum = 0.0, count = 0.0;
    size_t from = chips->first, to = chips->first;
    for (size_t k = chips->first; k < chips->last; k++) {
        for (; to < chips->last && to <= k + HALF_WINDOW; to++)
            if (silent[to] == (float)v) {
                sum += (double)squared(chips->value[v][to]);
                count += 1.0;
            }
        for (; from + HALF_WINDOW < k; from++)
            if (silent[from] == (float)v) {
                sum -= (double)squared(chips->value[v][from]);
                count -= 1.0;
            }
        const float here = count > 2.0 ? (float)(sum / count) : usual;
        noise[k] = fmaxf(usual, here - NOISE_GRACE * usual);
    }
}

/* Power of the signal around every chip, relative to the whole's. The window's mean strays by noise and, when keyed, by the data; as
 * far as it strays no more than that it is not believed (James and Stein's shrinkage). `noise`: usual, of all tones together. */
static void track_power(const wh_chips *chips, float hit, float noise, float *level)
{
    const size_t first = chips->first, last = chips->last;
    double mean = 0.0, squares = 0.0, sum = 0.0, count = 0.0;
    size_t from = first, to = first, honest = 0;
    for (size_t k = first; k < last; k++) {
        if (is_hit(chips, k, hit))
            continue;
        mean += (double)(energy(chips, k) - noise);
        honest++;
    }
    mean = honest ? mean / (double)honest : 0.0;
    for (size_t k = first; k < last; k++) {
        for (; to < last && to <= k + HALF_WINDOW; to++)
            if (!is_hit(chips, to, hit)) {
                sum += (double)(energy(chips, to) - noise);
                count += 1.0;
            }
        for (; from + HALF_WINDOW < k; from++)
            if (!is_hit(chips, from, hit)) {
                sum -= (double)(energy(chips, from) - noise);
                count -= 1.0;
            }
        level[k] = count > 2.0 ? (float)(sum / count) : (float)mean;
        squares += ((double)level[k] - mean) * ((double)level[k] - mean) / (double)(last - first);
    }
    /* Variance of one chip's power: noise alone, noise times signal, and on against off. */
    const double data = chips->keyed ? DATA_SHARE * mean * mean : 0.0;
    const double stray =
        ((double)(noise * noise) + 2.0 * fmax(mean, 0.0) * (double)noise + data) / (2.0 * HALF_WINDOW + 1.0);
    const double believed = squares > 0.0 ? fmax(0.0, 1.0 - AMPLITUDE_DEVIATIONS * stray / squares) : 0.0;
    for (size_t k = first; k < last; k++) {
        const double relative = mean > 0.0 ? 1.0 + believed * ((double)level[k] / mean - 1.0) : 1.0;
        level[k] = fmaxf((float)relative, LEAST_POWER);
    }
}

/* What hit a chip is noise to the value that holds it. */
static void weigh(wh_chips *chips, float hit, const float *level)
{
    const float on = chips->amplitude * chips->amplitude, usual_scale = chips->amplitude / chips->noise;
    for (size_t k = chips->first; k < chips->last; k++) {
        const float here = on * level[k];
        for (unsigned v = chips->keyed ? 1 : 0; v < 2; v++) {
            const float held = squared(chips->value[v][k]), noise = chips->cost[v][k] + (held > hit ? held : 0.0f);
            chips->value[v][k] *= sqrtf(here) / noise / usual_scale;
            chips->cost[v][k] = here / noise;
        }
    }
}

void wh_local_levels(wh_chips *chips, float floor, float on_power, float bar)
{
    wh_chips_even_costs(chips);
    const size_t last = chips->last;
    chips->last = last < chips->count ? last : chips->count;
    const float usual = usual_noise(chips, floor, bar, chips->llr), hit = WH_CHIP_HIT * on_power;
    for (size_t k = chips->first; k < chips->last; k++)
        chips->cost[0][k] = chips->cost[1][k] = usual;
    find_silent(chips, hit, bar, chips->llr);
    if (!chips->keyed) {
        rough_noise(chips, chips->llr, usual, 0, chips->cost[0]);
        rough_noise(chips, chips->llr, usual, 1, chips->cost[1]);
        find_silent(chips, hit, bar, chips->llr);
    }
    for (unsigned v = chips->keyed ? 1 : 0; v < 2; v++)
        track_noise(chips, chips->llr, usual, v, chips->cost[v]);
    track_power(chips, hit, (chips->keyed ? 1.0f : 2.0f) * usual, chips->llr);
    if (chips->keyed)
        for (size_t k = chips->first; k < chips->last; k++)
            chips->cost[0][k] = 0.0f;
    weigh(chips, hit, chips->llr);
    chips->last = last;
}
