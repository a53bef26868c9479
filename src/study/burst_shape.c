#include "burst_shape.h"

#include "channel_filter.h"
#include "select.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define LONGEST_S      0.6  /* of a burst looked at */
#define BAND_MORE      1.15 /* the detector's band is drawn from bins that stand out: keep a little more */
#define BAND_MARGIN_HZ 4e3
#define KEPT_BAND      1.15 /* the skirt of three tenths counts half */
#define EDGE_CLEAR     0.3f /* an edge counts when the other side is left so far, 1 being a tone or level */
#define ON_SHARE       0.3f /* of the power of the louder samples: a carrier is on */
/* Two means of noise of one tone are 0.8 / 0.6 = 1.3 spreads apart, which is not far below; the grid of the edges decides. */
#define TWO_TONES        1.5
#define TWO_LEVELS       1.5
#define COHERENT         0.75 /* of edges on a grid. Random places reach 3 / sqrt(n), 0.5 for 36 */
#define EVIDENCE_LEAST   20.0 /* exp(-20) for one trial rate; a thousand or so are tried for each smoothing */
#define BREAK_RUNS       20.0 /* a run so much longer than usual is no keying but a pause */
#define TONE_CHIPS_LEAST 6    /* of either tone */
#define EDGES_MAX        4096
#define OFF_LEAST        0.06 /* share of off samples that makes on-off keying */

struct wh_shape_finder {
    wh_channel_filter *filter;
    size_t capacity;
    float complex *samples; /* the burst's own band */
    float *level, *wave, *scratch;
    double edge[EDGES_MAX]; /* samples */
    bool rising[EDGES_MAX];
};

wh_shape_finder *wh_shape_finder_create(void)
{
    wh_shape_finder *finder = calloc(1, sizeof *finder);
    if (finder && !(finder->filter = wh_channel_filter_create()))
        wh_shape_finder_destroy(&finder);
    return finder;
}

static void release(wh_shape_finder *finder)
{
    free(finder->samples);
    free(finder->level);
    free(finder->wave);
    free(finder->scratch);
    finder->samples = NULL;
    finder->level = finder->wave = finder->scratch = NULL;
    finder->capacity = 0;
}

void wh_shape_finder_destroy(wh_shape_finder **finder)
{
    if (!finder || !*finder)
        return;
    wh_channel_filter_destroy(&(*finder)->filter);
    release(*finder);
    free(*finder);
    *finder = NULL;
}

static bool reserve(wh_shape_finder *finder, size_t count)
{
    if (count <= finder->capacity)
        return true;
    release(finder);
    finder->samples = malloc(count * sizeof *finder->samples);
    finder->level = malloc(count * sizeof *finder->level);
    finder->wave = malloc(count * sizeof *finder->wave);
    finder->scratch = malloc(count * sizeof *finder->scratch);
    if (!finder->samples || !finder->level || !finder->wave || !finder->scratch) {
        release(finder);
        return false;
    }
    finder->capacity = count;
    return true;
}

/* One trial: a smoothing width and a kind of modulation. */
typedef struct trial {
    wh_modulation modulation;
    size_t count, width;
    double rate_hz;
    float on;              /* power of the louder samples */
    float noise;           /* power of the noise in `level` */
    double lag_re, lag_im; /* mean product of neighbouring samples of noise alone */
    double low, high;      /* the two values of the wave before scaling: Hz, or amplitudes */
    double contrast;
    size_t edges;
} trial;

static float squared(float complex z)
{
    return crealf(z) * crealf(z) + cimagf(z) * cimagf(z);
}

/* level[i]: mean power over `width` samples; wave[i]: frequency over the same samples, turns per sample, by the phase of the summed
 * products of neighbours, in which strong samples count more. What noise alone adds to them would pull both tones to the middle. */
static void smooth(wh_shape_finder *finder, const trial *t, bool frequency)
{
    const float complex *x = finder->samples;
    double re = 0.0, im = 0.0, power = 0.0;
    const double width = (double)t->width;
    const size_t back = t->width / 2;
    for (size_t i = 0; i < t->count + back; i++) {
        if (i > 0 && i < t->count) {
            const float complex p = x[i] * conjf(x[i - 1]);
            re += (double)crealf(p);
            im += (double)cimagf(p);
            power += (double)squared(x[i]);
        }
        if (i > t->width) {
            const size_t j = i - t->width;
            if (j < t->count) {
                const float complex p = x[j] * conjf(x[j - 1]);
                re -= (double)crealf(p);
                im -= (double)cimagf(p);
                power -= (double)squared(x[j]);
            }
        }
        if (i >= back) {
            finder->level[i - back] = (float)(fmax(power, 0.0) / (double)t->width);
            if (frequency)
                finder->wave[i - back] =
                    atan2f((float)(im - width * t->lag_im), (float)(re - width * t->lag_re)) * (float)(0.5 / M_PI);
        }
    }
}

/* Power while something is sent, which may be only a small part of the outline. */
static float louder(wh_shape_finder *finder, const trial *t)
{
    memcpy(finder->scratch, finder->level, t->count * sizeof *finder->scratch);
    const float most = wh_quantile(finder->scratch, t->count, 0.9f);
    return fmaxf(most, 0.5f * wh_quantile(finder->scratch, t->count, 0.99f));
}

/* The two means of what is on, and how far they are apart for their spread. */
static void two_means(const wh_shape_finder *finder, trial *t)
{
    double low = INFINITY, high = -INFINITY;
    const float bar = ON_SHARE * t->on;
    double sum = 0.0, n = 0.0;
    for (size_t i = 0; i < t->count; i++) {
        if (finder->level[i] < bar)
            continue;
        sum += (double)finder->wave[i];
        n += 1.0;
    }
    if (n < 16.0)
        return;
    double split = sum / n, spread = 0.0;
    for (int look = 0; look < 8; look++) {
        double s[2] = {0.0, 0.0}, ss[2] = {0.0, 0.0}, c[2] = {0.0, 0.0};
        for (size_t i = 0; i < t->count; i++) {
            if (finder->level[i] < bar)
                continue;
            const double f = (double)finder->wave[i];
            const unsigned side = f > split;
            s[side] += f;
            ss[side] += f * f;
            c[side] += 1.0;
        }
        if (c[0] < 8.0 || c[1] < 8.0)
            return;
        low = s[0] / c[0];
        high = s[1] / c[1];
        spread = sqrt(fmax(0.0, (ss[0] - s[0] * low + ss[1] - s[1] * high) / n));
        split = 0.5 * (low + high);
    }
    t->low = low;
    t->high = high;
    t->contrast = 0.5 * (high - low) / fmax(spread, 1e-9);
}

/* Deviation and carrier from the middles of runs of two chips and more, where smoothing mixes in nothing of the other tone; from chip
 * middles when there are too few. */
static void tone_medians(wh_shape_finder *finder, trial *t, const wh_edge_grid *grid, double from, double to)
{
    const float split = (float)(0.5 * (t->low + t->high));
    for (unsigned between = 0; between < 2; between++) {
        double found[2];
        size_t least = SIZE_MAX;
        for (unsigned side = 0; side < 2; side++) {
            size_t n = 0;
            const double first = grid->phase + grid->chip * ceil((from - grid->phase) / grid->chip);
            for (double at = first + (between ? 0.5 * grid->chip : 0.0); at < to; at += grid->chip) {
                const double reach = between ? 0.0 : 0.5 * grid->chip;
                if (at - reach < 1.0 || at + reach + 1.0 >= (double)t->count)
                    continue;
                const bool before = finder->wave[(size_t)(at - reach)] > split,
                           after = finder->wave[(size_t)(at + reach)] > split;
                if (before == (side == 1) && after == (side == 1))
                    finder->scratch[n++] = finder->wave[(size_t)(at + 0.5)];
            }
            found[side] = n ? (double)wh_quantile(finder->scratch, n, 0.5f) : 0.0;
            least = n < least ? n : least;
        }
        if (least < TONE_CHIPS_LEAST && between == 0)
            continue;
        t->low = found[0];
        t->high = found[1];
        return;
    }
}

/* Wave of on-off keying: the amplitude, from off to on. */
static void two_levels(wh_shape_finder *finder, trial *t)
{
    const double on = sqrt((double)t->on), off = fmin(0.8 * sqrt((double)t->noise), 0.5 * on);
    const double split = 0.5 * (on + off);
    double s[2] = {0.0, 0.0}, ss[2] = {0.0, 0.0}, c[2] = {0.0, 0.0};
    size_t first = t->count, last = 0;
    for (size_t i = 0; i < t->count; i++) {
        const float a = sqrtf(finder->level[i]);
        finder->wave[i] = a;
        if ((double)a > split) {
            first = i < first ? i : first;
            last = i;
        }
    }
    for (size_t i = first; i <= last && i < t->count; i++) {
        const double a = (double)finder->wave[i];
        const unsigned side = a > split;
        s[side] += a;
        ss[side] += a * a;
        c[side] += 1.0;
    }
    if (c[0] < OFF_LEAST * (c[0] + c[1]) || c[1] < 8.0 || c[0] < 8.0)
        return;
    t->low = s[0] / c[0];
    t->high = s[1] / c[1];
    const double spread = sqrt(fmax(0.0, (ss[0] - s[0] * t->low + ss[1] - s[1] * t->high) / (c[0] + c[1])));
    t->contrast = 0.5 * (t->high - t->low) / fmax(spread, 1e-9);
    t->low = off;
    t->high = on;
}

/* Crossings of the middle that clear both sides of it. Frequency has none while the carrier is off. */
static void find_edges(wh_shape_finder *finder, trial *t)
{
    const float middle = (float)(0.5 * (t->low + t->high)), half = (float)(0.5 * (t->high - t->low));
    const float bar = t->modulation == WH_MOD_FSK ? ON_SHARE * 0.5f * t->on : -1.0f;
    int state = 0;
    double crossing = -1.0;
    t->edges = 0;
    float before = 0.0f;
    for (size_t i = 0; i < t->count && t->edges < EDGES_MAX; i++) {
        if (finder->level[i] < bar) {
            state = 0;
            continue;
        }
        const float u = (finder->wave[i] - middle) / half;
        if (state != 0 && i > 0 && (u > 0.0f) != (before > 0.0f))
            crossing = (double)i - 1.0 + (double)(before / (before - u));
        before = u;
        const int side = u > EDGE_CLEAR ? 1 : u < -EDGE_CLEAR ? -1 : 0;
        if (side == 0 || side == state)
            continue;
        if (state != 0) {
            finder->rising[t->edges] = side > 0;
            finder->edge[t->edges++] = crossing;
        }
        state = side;
    }
}

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* The stretch of keying with the most edges: a pause between copies is no whole number of chips. */
static void longest_stretch(const wh_shape_finder *finder, const trial *t, size_t *from, size_t *to, double *usual,
                            double *shortest)
{
    *from = *to = 0;
    double run[EDGES_MAX];
    for (size_t i = 0; i + 1 < t->edges; i++)
        run[i] = finder->edge[i + 1] - finder->edge[i];
    if (t->edges < 3)
        return;
    qsort(run, t->edges - 1, sizeof *run, by_value);
    *usual = run[(t->edges - 1) / 2];
    *shortest = run[(t->edges - 1) / 8];
    size_t begin = 0;
    for (size_t i = 1; i <= t->edges; i++) {
        if (i < t->edges && finder->edge[i] - finder->edge[i - 1] <= BREAK_RUNS * *usual)
            continue;
        if (i - begin > *to - *from) {
            *from = begin;
            *to = i;
        }
        begin = i;
    }
}

/* Chips of the longest run of chip 0: of the three longest the shortest, so that one missed edge does not count. */
static unsigned zero_run(const wh_shape_finder *finder, size_t from, size_t to, double chip)
{
    double longest[3] = {0.0, 0.0, 0.0};
    for (size_t i = from; i + 1 < to; i++) {
        if (finder->rising[i])
            continue;
        double run = finder->edge[i + 1] - finder->edge[i];
        for (size_t k = 0; k < 3; k++) {
            if (run > longest[k]) {
                const double swap = longest[k];
                longest[k] = run;
                run = swap;
            }
        }
    }
    return (unsigned)lround(fmin(longest[0] < 2.2 * longest[2] ? longest[0] : longest[2], 64.0 * chip) / chip);
}

static void judge(wh_shape_finder *finder, trial *t, wh_burst_shape *best)
{
    find_edges(finder, t);
    size_t from, to;
    double usual = 0.0, shortest = 0.0;
    longest_stretch(finder, t, &from, &to, &usual, &shortest);
    if (to - from < WH_EDGE_GRID_LEAST)
        return;
    wh_edge_grid grid;
    const double least = fmax(t->rate_hz / WH_STUDY_RATE_MOST_HZ, 0.7 * shortest);
    const double most = fmin(t->rate_hz / WH_STUDY_RATE_LEAST_HZ, 1.3 * usual);
    if (!(least < most) || !wh_edge_grid_find(finder->edge + from, to - from, least, most, &grid) ||
        grid.coherence < COHERENT)
        return;
    const double evidence = (double)(to - from) * grid.coherence * grid.coherence;
    if (evidence < EVIDENCE_LEAST || evidence <= best->evidence)
        return;
    const bool fsk = t->modulation == WH_MOD_FSK;
    *best = (wh_burst_shape){
        .found = true,
        .modulation = t->modulation,
        .contrast = t->contrast,
        .evidence = evidence,
        .run_chips = (finder->edge[to - 1] - finder->edge[from]) / grid.chip,
        .zero_run = zero_run(finder, from, to, grid.chip),
    };
    if (fsk) {
        tone_medians(finder, t, &grid, finder->edge[from], finder->edge[to - 1]);
        best->carrier_hz = 0.5 * (t->low + t->high) * t->rate_hz;
        best->deviation_hz = 0.5 * (t->high - t->low) * t->rate_hz;
    }
    grid.chip /= t->rate_hz;
    grid.error /= t->rate_hz;
    grid.phase /= t->rate_hz;
    best->grid = grid;
}

/* Carrier of on-off keying: mean frequency of what is on. */
static double mean_frequency(const wh_shape_finder *finder, size_t count, double rate_hz)
{
    double re = 0.0, im = 0.0;
    for (size_t i = 1; i < count; i++) {
        const float complex p = finder->samples[i] * conjf(finder->samples[i - 1]);
        re += (double)crealf(p);
        im += (double)cimagf(p);
    }
    return atan2(im, re) / (2.0 * M_PI) * rate_hz;
}

bool wh_shape_find(wh_shape_finder *finder, const wh_baseband *baseband, wh_burst_shape *shape)
{
    *shape = (wh_burst_shape){0};
    const double rate = baseband->rate_hz;
    const size_t most = (size_t)(LONGEST_S * rate), count = baseband->count < most ? baseband->count : most;
    if (count < 64)
        return true;
    if (!reserve(finder, count))
        return false;
    const double half = fmin(BAND_MORE * baseband->half_width_hz + BAND_MARGIN_HZ, 0.5 * rate);
    wh_channel_filter_run(finder->filter, baseband->samples, count, rate, baseband->band_centre_hz, half, 0.3 * half,
                          finder->samples);
    const double widest = 0.5 * rate / WH_STUDY_RATE_LEAST_HZ;
    for (size_t width = 2; (double)width <= widest; width *= 2) {
        trial t = {.modulation = WH_MOD_FSK, .count = count, .width = width, .rate_hz = rate};
        t.noise = (float)(baseband->noise_density * fmin(2.2 * half, rate / (double)width));
        /* Noise of density n in a band 2 h around c: n 2 h sinc(2 h / rate) exp(i 2 pi c / rate). */
        const double turn = 2.0 * M_PI * baseband->band_centre_hz / rate, wide = fmin(2.0 * KEPT_BAND * half, rate);
        const double product = baseband->noise_density * rate * sin(M_PI * wide / rate) / M_PI;
        t.lag_re = product * cos(turn);
        t.lag_im = product * sin(turn);
        smooth(finder, &t, true);
        t.on = louder(finder, &t);
        two_means(finder, &t);
        if (t.contrast > TWO_TONES)
            judge(finder, &t, shape);
        trial keyed = t;
        keyed.modulation = WH_MOD_OOK;
        keyed.contrast = 0.0;
        two_levels(finder, &keyed);
        if (keyed.contrast > TWO_LEVELS)
            judge(finder, &keyed, shape);
    }
    if (shape->found && shape->modulation == WH_MOD_OOK)
        shape->carrier_hz = mean_frequency(finder, count, rate);
    return true;
}
