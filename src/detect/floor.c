#include "floor.h"

#include "select.h"
#include "special.h"
#include "wide.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define QUANTILE      0.2  /* over frequency: energy may fill four fifths of the neighbourhood before the floor lifts */
#define TIME_QUANTILE 0.05 /* over time: what leaves a bin for a twentieth of it is a burst and no steady carrier */
#define STEADY_SLOTS  128  /* with fewer slots a bin's own history cannot tell a carrier from a burst */
#define LINE_SLOTS    16   /* with still fewer not even a narrow line is told from a burst */
#define LINE_BINS     3    /* a steady carrier's main lobe reaches this far from its peak (Hann: two bins) */
#define LINE_RISE     4.0f /* and stands out by this much */
#define FALLEN        0.3f /* noise of 30 averages is never so far below its mean: then something has ended, ... */
#define FOLLOW_DOWN   0.4f /* ... and the floor follows down at once */
#define FOLLOW        (1.0f / 16.0f) /* of four slots: about 60 ms, quick against warming up, slow against a burst's onset */

bool wh_noise_floor_init(wh_noise_floor *floor, size_t bins, float least)
{
    floor->bins = bins;
    floor->least = least;
    floor->power = calloc(bins, sizeof *floor->power);
    floor->scratch = malloc((WH_FLOOR_START_SLOTS + (STEADY_SLOTS + 2) * bins) * sizeof *floor->scratch);
    return floor->power && floor->scratch;
}

void wh_noise_floor_free(wh_noise_floor *floor)
{
    free(floor->power);
    free(floor->scratch);
    floor->power = floor->scratch = NULL;
}

/* Is this bin part of a narrow line: a peak within LINE_BINS from which the levels fall off at both sides? */
static bool on_a_line(const float *level, size_t bins, size_t b, float around)
{
    if (level[b] < LINE_RISE * around)
        return false;
    size_t peak = b;
    for (size_t i = b > LINE_BINS ? b - LINE_BINS : 0; i < bins && i <= b + LINE_BINS; i++)
        peak = level[i] > level[peak] ? i : peak;
    const float below = peak > LINE_BINS ? level[peak - LINE_BINS] : around;
    const float above = peak + LINE_BINS < bins ? level[peak + LINE_BINS] : around;
    return fmaxf(below, above) * LINE_RISE < level[peak];
}

/* Per bin: a low quantile over time, scaled to a mean. Per neighbourhood: the lower fifth of those over frequency. A bin far
 * above its neighbourhood is a steady carrier when it was so for a long time, or when it is part of a narrow line; else it is
 * a burst that fills a short recording. */
void wh_noise_floor_start(wh_noise_floor *floor, const float *spectra, size_t slots, double averages)
{
    const size_t bins = floor->bins;
    float *column = floor->scratch, *over_time = floor->scratch + WH_FLOOR_START_SLOTS, *near = over_time + bins;
    const bool steady = slots >= STEADY_SLOTS;
    /* A gamma-distributed mean of `averages` powers has its quantile this far below its mean. */
    const float to_mean = (float)(1.0 / fmax(0.05, wh_gamma_upper_quantile(averages, 1.0 - TIME_QUANTILE)));
    for (size_t b = 0; b < bins; b++) {
        for (size_t t = 0; t < slots; t++)
            column[t] = spectra[t * bins + b];
        over_time[b] = wh_quantile(column, slots, TIME_QUANTILE) * to_mean;
    }
    /* Short recordings: a wide burst may fill a neighbourhood for its whole time, and few slots make a bin's own estimate rough.
     * The lower fifth of all cells of the whole band is neither; no bin's floor is taken to be below it. */
    float least = floor->least, around = 0.0f;
    if (!steady) {
        float *cells = near + bins;
        memcpy(cells, spectra, slots * bins * sizeof *cells);
        least = fmaxf(least, wh_quantile(cells, slots * bins, QUANTILE) /
                                 (float)wh_gamma_upper_quantile(averages, 1.0 - QUANTILE));
        memcpy(near, over_time, bins * sizeof *near);
        around = wh_quantile(near, bins, QUANTILE);
    }
    for (size_t b = 0; b < bins; b++) {
        const bool trusted = steady || (slots >= LINE_SLOTS && on_a_line(over_time, bins, b, around));
        floor->power[b] = fmaxf(least, trusted ? over_time[b] : fminf(over_time[b], 1.5f * around));
    }
}

WH_WIDE static void follow(const float *restrict ratio_sum, size_t bins, float least, float *restrict power)
{
    for (size_t b = 0; b < bins; b++) {
        const float ratio = ratio_sum[b] * (1.0f / WH_FLOOR_FOLLOW_SLOTS);
        /* Single outliers that no test caught must not lift the floor. */
        const float bounded = ratio < 4.0f ? ratio : 4.0f, pace = ratio < FALLEN ? FOLLOW_DOWN : FOLLOW;
        const float now = power[b], next = now + now * pace * (bounded - 1.0f);
        power[b] = next > least ? next : least;
    }
}

/* Held bins are few and mostly none: all follow, and what was held gets its floor back. */
void wh_noise_floor_follow(wh_noise_floor *floor, const float *ratio_sum, const unsigned char *held)
{
    const unsigned char *first = memchr(held, 1, floor->bins);
    float *before = floor->scratch;
    if (first)
        memcpy(before, floor->power, floor->bins * sizeof *before);
    follow(ratio_sum, floor->bins, floor->least, floor->power);
    for (size_t b = first ? (size_t)(first - held) : floor->bins; b < floor->bins; b++)
        if (held[b])
            floor->power[b] = before[b];
}
