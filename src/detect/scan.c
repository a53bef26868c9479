#include "scan.h"

#include "skirts.h"
#include "special.h"
#include "spectra.h"
#include "wide.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PAST_ROWS (WH_SCAN_PAST / 4)
#define DURATIONS 3
#define WIDTHS    3
static const unsigned durations[DURATIONS] = {1, 4, 8};
static const unsigned widths[WIDTHS] = {1, 4, 16};

/* A strong emission's keying spreads far; what is 30 dB below the strongest bin within 250 kHz is its skirt. */
#define SKIRT          1e-3f
#define SKIRT_REACH_HZ 250e3
/* Per slot. A skirt of one slot counts an eighth in the longest test; what is remembered of its burst must fade more slowly. */
#define FADE        0.78f
#define BRIDGE_BINS 2
#define WIDE_STEP   4 /* bins from one run of sixteen to the next: one in between misses an eighth of what it looks for */

struct wh_scan {
    size_t bins, newest;
    uint64_t slot;      /* number of the newest */
    uint64_t *settled;  /* [bins] number of the last slot that was settled */
    float *ratio;       /* [WH_SCAN_SLOTS x bins] power over noise, a ring of slots */
    float *pair, *quad; /* [WH_SCAN_SLOTS x bins] rings as well: sums over the last two and the last four slots */
    float *octet;       /* [bins] sum over the last eight */
    float *past;        /* [PAST_ROWS x bins] a ring of sums over four slots, without skirts: what came before */
    float *four;        /* [bins] sums of four neighbouring bins of the duration under test */
    float *sixteen;     /* [bins] and of sixteen */
    float *mean;        /* [bins] mean power over the duration of the hit */
    float *recent;      /* [bins] the strongest of the last slots, fading */
    float *lift;        /* [bins] by how much skirts lift the noise in the duration under test */
    unsigned char *hit; /* [bins] 0 or the shortest duration */
    size_t skirt_bins;
    wh_skirts skirts;
    float threshold[DURATIONS][WIDTHS]; /* on the mean ratio over the cell */
};

/* Bins share some of their energy with their neighbours. */
static double effective_bins(unsigned width)
{
    static const double shared[] = WH_SLOT_BIN_CORRELATIONS;
    const double w = width;
    double sum = 1.0;
    for (unsigned apart = 1; apart <= sizeof shared / sizeof shared[0] && apart < width; apart++)
        sum += 2.0 * (w - apart) / w * shared[apart - 1];
    return w / sum;
}

wh_scan *wh_scan_create(size_t bins, double bin_hz, double slot_rate_hz, double false_alarms_per_s)
{
    wh_scan *scan = calloc(1, sizeof *scan);
    if (!scan)
        return NULL;
    scan->bins = bins;
    scan->ratio = malloc(WH_SCAN_SLOTS * bins * sizeof *scan->ratio);
    scan->pair = malloc(WH_SCAN_SLOTS * bins * sizeof *scan->pair);
    scan->quad = malloc(WH_SCAN_SLOTS * bins * sizeof *scan->quad);
    scan->octet = malloc(bins * sizeof *scan->octet);
    scan->past = malloc(PAST_ROWS * bins * sizeof *scan->past);
    scan->four = malloc(bins * sizeof *scan->four);
    scan->sixteen = malloc(bins * sizeof *scan->sixteen);
    scan->hit = malloc(bins);
    scan->mean = malloc(bins * sizeof *scan->mean);
    scan->recent = malloc(bins * sizeof *scan->recent);
    scan->lift = malloc(bins * sizeof *scan->lift);
    scan->settled = malloc(bins * sizeof *scan->settled);
    const bool ready = wh_skirts_init(&scan->skirts, bins, bin_hz);
    if (!ready || !scan->mean || !scan->recent || !scan->lift || !scan->past || !scan->settled || !scan->ratio ||
        !scan->pair || !scan->quad || !scan->octet || !scan->four || !scan->sixteen || !scan->hit) {
        wh_scan_destroy(&scan);
        return NULL;
    }
    scan->skirt_bins = (size_t)(SKIRT_REACH_HZ / bin_hz) + 1;
    /* Every cell of every test may raise the alarm. Overlapping cells are not independent, so this is a bound. */
    const double p = false_alarms_per_s / (slot_rate_hz * (double)bins * DURATIONS * WIDTHS);
    for (unsigned d = 0; d < DURATIONS; d++)
        for (unsigned w = 0; w < WIDTHS; w++)
            scan->threshold[d][w] =
                (float)wh_gamma_upper_quantile(WH_SLOT_AVERAGES * durations[d] * effective_bins(widths[w]), p);
    wh_scan_reset(scan);
    return scan;
}

void wh_scan_destroy(wh_scan **scan)
{
    if (!scan || !*scan)
        return;
    free((*scan)->ratio);
    free((*scan)->pair);
    free((*scan)->quad);
    free((*scan)->octet);
    free((*scan)->four);
    free((*scan)->sixteen);
    free((*scan)->hit);
    free((*scan)->mean);
    free((*scan)->recent);
    wh_skirts_free(&(*scan)->skirts);
    free((*scan)->lift);
    free((*scan)->past);
    free((*scan)->settled);
    free(*scan);
    *scan = NULL;
}

void wh_scan_reset(wh_scan *scan)
{
    scan->newest = 0;
    scan->slot = WH_SCAN_PAST - 1; /* what is asked for never lies below 0 */
    memset(scan->settled, 0, scan->bins * sizeof *scan->settled);
    for (size_t i = 0; i < PAST_ROWS * scan->bins; i++)
        scan->past[i] = 4.0f;
    for (size_t i = 0; i < WH_SCAN_SLOTS * scan->bins; i++) { /* as if noise had gone before */
        scan->ratio[i] = 1.0f;
        scan->pair[i] = 2.0f;
        scan->quad[i] = 4.0f;
    }
    memset(scan->recent, 0, scan->bins * sizeof *scan->recent);
}

static size_t row(const wh_scan *scan, size_t back)
{
    return (scan->newest + WH_SCAN_SLOTS - back) % WH_SCAN_SLOTS * scan->bins;
}

/* fours: how many before the four slots that the newest belongs to. */
static float *past_row(const wh_scan *scan, size_t fours)
{
    return scan->past + (scan->slot / 4 - fours) % PAST_ROWS * scan->bins;
}

/* Each sum is made of two of the next shorter ones, and never by taking away what has left: no rounding stays behind. */
WH_WIDE static void enter_ratio(const float *restrict spectrum, const float *restrict noise, size_t bins,
                                const float *restrict ratio_before, float *restrict ratio, float *restrict pair)
{
    for (size_t b = 0; b < bins; b++) {
        ratio[b] = spectrum[b] / noise[b];
        pair[b] = ratio[b] + ratio_before[b];
    }
}

WH_WIDE static void enter_sums(const float *restrict pair, const float *restrict pair_before,
                               const float *restrict quad_before, size_t bins, float *restrict quad,
                               float *restrict octet)
{
    for (size_t b = 0; b < bins; b++) {
        quad[b] = pair[b] + pair_before[b];
        octet[b] = quad[b] + quad_before[b];
    }
}

/* What rises over the floor only: a steady carrier is part of the floor and has no skirts that come and go. */
WH_WIDE static void fade(const float *restrict spectrum, const float *restrict noise, size_t bins,
                         float *restrict recent)
{
    for (size_t b = 0; b < bins; b++) {
        const float faded = FADE * recent[b], risen = spectrum[b] - noise[b];
        recent[b] = risen > faded ? risen : faded;
    }
}

/* Sums over every run of four bins and of sixteen; is any of them, or any single bin, above its bar? Hardly ever, and all else is
 * skipped then. Whole arrays without a branch take a tenth of the time of testing cell by cell, and every run of sixteen less than
 * every fourth. */
WH_WIDE static bool any_above(const float *restrict sum, size_t bins, const float bar[WIDTHS], float *restrict four,
                              float *restrict sixteen)
{
    const float bar_one = bar[0], bar_four = bar[1], bar_sixteen = bar[2];
    int above = 0;
    for (size_t b = 0; b < bins - 3; b++) {
        four[b] = (sum[b] + sum[b + 1]) + (sum[b + 2] + sum[b + 3]);
        above |= (sum[b] > bar_one) | (four[b] > bar_four);
    }
    for (size_t b = bins - 3; b < bins; b++)
        above |= sum[b] > bar_one;
    for (size_t b = 0; b < bins - 15; b++) {
        sixteen[b] = (four[b] + four[b + 4]) + (four[b + 8] + four[b + 12]);
        above |= sixteen[b] > bar_sixteen;
    }
    return above != 0;
}

/* The cell's sum with noise in place of what is marked already: one strong bin must not draw its neighbours in. */
static float without_marked(const wh_scan *scan, const float *sum, float slots, size_t from, size_t width)
{
    float rest = 0.0f;
    for (size_t i = from; i < from + width; i++)
        rest += scan->hit[i] ? slots : sum[i];
    return rest;
}

/* Mark the bins of the cells of one width whose sum exceeds the bar. cells[i] begins at bin i. */
static void mark_cells(wh_scan *scan, const float *cells, unsigned w, float bar, const float *sum, const float *noise,
                       unsigned d)
{
    const size_t step = widths[w] == 16 ? WIDE_STEP : 1;
    const float slots = (float)durations[d];
    for (size_t b = 0; b + widths[w] <= scan->bins; b += step) {
        if (cells[b] <= bar)
            continue;
        const float lift = fmaxf(scan->lift[b], scan->lift[b + widths[w] - 1]), lifted = lift * bar;
        if (cells[b] <= lifted || (w > 0 && without_marked(scan, sum, slots, b, widths[w]) <= lifted))
            continue;
        for (size_t i = b; i < b + widths[w]; i++)
            if (!scan->hit[i] && sum[i] > lift * slots) {
                scan->hit[i] = (unsigned char)durations[d];
                scan->mean[i] = (sum[i] / slots - 1.0f) * noise[i];
            }
    }
}

/* Test one duration; is anything above the threshold of its width? */
static bool test_duration(wh_scan *scan, const float *sum, const float *noise, unsigned d)
{
    float bar[WIDTHS];
    for (unsigned w = 0; w < WIDTHS; w++)
        bar[w] = scan->threshold[d][w] * (float)(durations[d] * widths[w]);
    if (!any_above(sum, scan->bins, bar, scan->four, scan->sixteen))
        return false;
    wh_skirts_lift(&scan->skirts, sum, durations[d], scan->recent, noise, scan->settled, scan->slot, scan->lift);
    const float *const cells[WIDTHS] = {sum, scan->four, scan->sixteen};
    for (unsigned w = 0; w < WIDTHS; w++)
        mark_cells(scan, cells[w], w, bar[w], sum, noise, d);
    return true;
}

static void drop_skirts(wh_scan *scan)
{
    const size_t bins = scan->bins, reach = scan->skirt_bins;
    for (size_t b = 0; b < bins; b++) {
        if (!scan->hit[b])
            continue;
        const size_t from = b > reach ? b - reach : 0, to = b + reach < bins ? b + reach + 1 : bins;
        float peak = 0.0f;
        for (size_t i = from; i < to; i++)
            peak = scan->recent[i] > peak ? scan->recent[i] : peak;
        if (scan->mean[b] < SKIRT * peak)
            scan->hit[b] = 0;
    }
}

static size_t gather(const wh_scan *scan, wh_island *islands)
{
    size_t count = 0;
    for (size_t b = 0; b < scan->bins; b++) {
        if (!scan->hit[b])
            continue;
        wh_island *last = count ? &islands[count - 1] : NULL;
        if (last && b - last->high <= BRIDGE_BINS + 1) {
            last->high = (uint16_t)b;
            if (scan->hit[b] < last->slots)
                last->slots = scan->hit[b];
            last->power += (double)scan->mean[b];
        } else if (count < WH_ISLANDS_MAX) {
            islands[count++] = (wh_island){(uint16_t)b, (uint16_t)b, scan->hit[b], (double)scan->mean[b]};
        }
    }
    return count;
}

size_t wh_scan_slot(wh_scan *scan, const float *spectrum, const float *noise, wh_island *islands)
{
    scan->slot++;
    scan->newest = (scan->newest + 1) % WH_SCAN_SLOTS;
    float *ratio = scan->ratio + row(scan, 0), *pair = scan->pair + row(scan, 0), *quad = scan->quad + row(scan, 0);
    enter_ratio(spectrum, noise, scan->bins, scan->ratio + row(scan, 1), ratio, pair);
    enter_sums(pair, scan->pair + row(scan, 2), scan->quad + row(scan, 4), scan->bins, quad, scan->octet);
    fade(spectrum, noise, scan->bins, scan->recent);
    const float *const sums[DURATIONS] = {ratio, quad, scan->octet};
    bool hit = false;
    memset(scan->hit, 0, scan->bins);
    for (unsigned d = 0; d < DURATIONS; d++)
        hit |= test_duration(scan, sums[d], noise, d);
    if (!hit)
        return 0;
    drop_skirts(scan);
    return gather(scan, islands);
}

const float *wh_scan_last_four(const wh_scan *scan)
{
    return scan->quad + row(scan, 0);
}

void wh_scan_end_four(wh_scan *scan, const float *noise, unsigned char *held)
{
    const float *quad = scan->quad + row(scan, 0);
    float *past = past_row(scan, 0);
    memcpy(past, quad, scan->bins * sizeof *past);
    if (!wh_skirts_lift(&scan->skirts, quad, 4, scan->recent, noise, scan->settled, scan->slot, scan->lift))
        return;
    for (size_t b = 0; b < scan->bins; b++) {
        past[b] = fmaxf(4.0f, past[b] / scan->lift[b]);
        held[b] |= scan->lift[b] > 1.0f;
    }
}

double wh_scan_past(const wh_scan *scan, size_t low, size_t high, size_t back)
{
    const float *ratio = scan->ratio + row(scan, back);
    double sum = 0.0;
    for (size_t b = low; b <= high; b++)
        sum += (double)ratio[b];
    return sum / (double)(high - low + 1);
}

double wh_scan_past_four(const wh_scan *scan, size_t low, size_t high, size_t fours)
{
    const float *past = past_row(scan, fours);
    double sum = 0.0;
    for (size_t b = low; b <= high; b++)
        sum += (double)past[b];
    return 0.25 * sum / (double)(high - low + 1);
}

void wh_scan_settle(wh_scan *scan, size_t low, size_t high)
{
    const float *ratio_before = scan->ratio + row(scan, 1), *pair_before = scan->pair + row(scan, 2);
    float *ratio = scan->ratio + row(scan, 0), *pair = scan->pair + row(scan, 0), *quad = scan->quad + row(scan, 0);
    for (size_t b = low; b <= high && b < scan->bins; b++) {
        scan->settled[b] = scan->slot;
        ratio[b] = 1.0f;
        pair[b] = 1.0f + ratio_before[b];
        quad[b] = pair[b] + pair_before[b];
    }
}
