#include "floor.h"

#include "special.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define QUANTILE 0.2         /* over frequency, and over a short time: energy may fill four fifths before the floor lifts */
#define LONG_QUANTILE 0.05   /* over a long time: what leaves a bin for a twentieth of it is a burst and no steady carrier */
#define STEADY_SLOTS 128     /* with fewer slots a bin's own history cannot tell a carrier from a burst */
#define FALLEN 0.3f          /* noise of 7.6 averages is below 0.3 of its mean 3 times in 1000: then something has ended, ... */
#define FOLLOW_DOWN 0.125f   /* ... and the floor follows down at once */
#define FOLLOW (1.0f / 64.0f)/* per slot: about 60 ms, quick against warming up, slow against a burst's onset */

bool wh_noise_floor_init(wh_noise_floor *floor, size_t bins, float least)
{
    floor->bins = bins;
    floor->least = least;
    floor->power = calloc(bins, sizeof *floor->power);
    floor->scratch = malloc((WH_FLOOR_START_SLOTS + 2 * bins) * sizeof *floor->scratch);
    return floor->power && floor->scratch;
}

void wh_noise_floor_free(wh_noise_floor *floor)
{
    free(floor->power);
    free(floor->scratch);
    floor->power = floor->scratch = NULL;
}

static int ascending(const void *a, const void *b)
{
    const float x = *(const float *)a, y = *(const float *)b;
    return (x > y) - (x < y);
}

static float lower_quantile(float *values, size_t count, double share)
{
    qsort(values, count, sizeof *values, ascending);
    return values[(size_t)(share * (double)(count - 1))];
}

/* Per bin: a low quantile over time, scaled to a mean. Per neighbourhood: the lower fifth of those over frequency. A bin far
 * above its neighbourhood is a steady carrier when it was so for a long time, else it is a burst that fills the start. */
void wh_noise_floor_start(wh_noise_floor *floor, const float *spectra, size_t slots, double averages)
{
    const size_t bins = floor->bins;
    float *column = floor->scratch, *over_time = floor->scratch + WH_FLOOR_START_SLOTS, *near = over_time + bins;
    const bool steady = slots >= STEADY_SLOTS;
    const double share = steady ? LONG_QUANTILE : QUANTILE;
    /* A gamma-distributed mean of `averages` powers has its quantile this far below its mean. */
    const float to_mean = (float)(1.0 / fmax(0.05, wh_gamma_upper_quantile(averages, 1.0 - share)));
    for (size_t b = 0; b < bins; b++) {
        for (size_t t = 0; t < slots; t++)
            column[t] = spectra[t * bins + b];
        over_time[b] = lower_quantile(column, slots, share) * to_mean;
    }
    /* Short recordings: a wide burst may fill a neighbourhood for its whole time, so look at the whole band. */
    const size_t reach = steady ? bins / 8 + 4 : bins;
    for (size_t b = 0; b < bins; b++) {
        const size_t from = b > reach ? b - reach : 0, to = b + reach < bins ? b + reach + 1 : bins;
        memcpy(near, over_time + from, (to - from) * sizeof *near);
        const float around = lower_quantile(near, to - from, QUANTILE);
        const float highest = steady ? INFINITY : 1.5f * around;
        floor->power[b] = fmaxf(floor->least, fminf(over_time[b], highest));
    }
}

void wh_noise_floor_follow(wh_noise_floor *floor, const float *restrict spectrum, const unsigned char *restrict held)
{
    float *restrict power = floor->power;
    for (size_t b = 0; b < floor->bins; b++) {
        /* Held bins, and single outliers that no test caught, must not lift the floor. */
        const float bounded = fminf(spectrum[b], 4.0f * power[b]);
        const float pace = spectrum[b] < FALLEN * power[b] ? FOLLOW_DOWN : FOLLOW;
        const float next = power[b] + pace * (bounded - power[b]);
        power[b] = held[b] ? power[b] : fmaxf(floor->least, next);
    }
}
