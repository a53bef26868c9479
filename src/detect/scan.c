#include "scan.h"

#include "special.h"
#include "spectra.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define DURATIONS 3
#define WIDTHS 3
static const unsigned durations[DURATIONS] = {1, 4, 8};
static const unsigned widths[WIDTHS] = {1, 4, 16};

/* A strong emission's keying spreads far; what is 30 dB below the strongest bin within 250 kHz is its skirt. */
#define SKIRT 1e-3f
#define SKIRT_REACH_HZ 250e3
#define FADE 0.7f /* per slot: the longest test still sees a skirt eight slots after its burst, which then counts 12 dB less */
#define BRIDGE_BINS 2

struct wh_scan {
    size_t bins, newest;
    uint64_t slots;
    float *ratio;      /* [WH_SCAN_SLOTS x bins] power over noise, a ring of slots */
    float *sum;        /* [bins] over the duration under test */
    float *prefix;     /* [bins + 1] */
    float *mean;       /* [bins] mean power over the duration of the hit */
    float *recent;     /* [bins] the strongest of the last slots, fading */
    unsigned char *hit;/* [bins] 0 or the shortest duration */
    size_t skirt_bins;
    float threshold[DURATIONS][WIDTHS]; /* on the mean ratio over the cell */
};

/* Hann bins overlap: neighbours correlate 4/9 in power, next ones 1/36. */
static double effective_bins(unsigned width)
{
    const double w = width;
    return w / (1.0 + 2.0 * (w > 1 ? (w - 1) / w * 4.0 / 9.0 : 0.0) + 2.0 * (w > 2 ? (w - 2) / w / 36.0 : 0.0));
}

wh_scan *wh_scan_create(size_t bins, double bin_hz, double slot_rate_hz, double false_alarms_per_s)
{
    wh_scan *scan = calloc(1, sizeof *scan);
    if (!scan)
        return NULL;
    scan->bins = bins;
    scan->ratio = malloc(WH_SCAN_SLOTS * bins * sizeof *scan->ratio);
    scan->sum = malloc(bins * sizeof *scan->sum);
    scan->prefix = malloc((bins + 1) * sizeof *scan->prefix);
    scan->hit = malloc(bins);
    scan->mean = malloc(bins * sizeof *scan->mean);
    scan->recent = malloc(bins * sizeof *scan->recent);
    if (!scan->mean || !scan->recent || !scan->ratio || !scan->sum || !scan->prefix || !scan->hit) {
        wh_scan_destroy(&scan);
        return NULL;
    }
    scan->skirt_bins = (size_t)(SKIRT_REACH_HZ / bin_hz) + 1;
    /* Every cell of every test may raise the alarm. Overlapping cells are not independent, so this is a bound. */
    const double p = false_alarms_per_s / (slot_rate_hz * (double)bins * DURATIONS * WIDTHS);
    for (unsigned d = 0; d < DURATIONS; d++)
        for (unsigned w = 0; w < WIDTHS; w++)
            scan->threshold[d][w] = (float)wh_gamma_upper_quantile(
                WH_SLOT_AVERAGES * durations[d] * effective_bins(widths[w]), p);
    wh_scan_reset(scan);
    return scan;
}

void wh_scan_destroy(wh_scan **scan)
{
    if (!scan || !*scan)
        return;
    free((*scan)->ratio);
    free((*scan)->sum);
    free((*scan)->prefix);
    free((*scan)->hit);
    free((*scan)->mean);
    free((*scan)->recent);
    free(*scan);
    *scan = NULL;
}

void wh_scan_reset(wh_scan *scan)
{
    scan->slots = 0;
    scan->newest = 0;
    for (size_t i = 0; i < WH_SCAN_SLOTS * scan->bins; i++)
        scan->ratio[i] = 1.0f; /* as if noise had gone before */
    memset(scan->recent, 0, scan->bins * sizeof *scan->recent);
}

static void sum_slots(wh_scan *scan, unsigned slots)
{
    const size_t bins = scan->bins;
    memcpy(scan->sum, scan->ratio + scan->newest * bins, bins * sizeof *scan->sum);
    for (unsigned back = 1; back < slots; back++) {
        const float *restrict row = scan->ratio + (scan->newest + WH_SCAN_SLOTS - back) % WH_SCAN_SLOTS * bins;
        float *restrict sum = scan->sum;
        for (size_t b = 0; b < bins; b++)
            sum[b] += row[b];
    }
}

/* Mark the bins of every cell of one duration whose mean exceeds the threshold of its width. */
static void test_duration(wh_scan *scan, const float *noise, unsigned d)
{
    const size_t bins = scan->bins;
    sum_slots(scan, durations[d]);
    scan->prefix[0] = 0.0f;
    for (size_t b = 0; b < bins; b++)
        scan->prefix[b + 1] = scan->prefix[b] + scan->sum[b];
    for (unsigned w = 0; w < WIDTHS; w++) {
        const size_t width = widths[w];
        const float bar = scan->threshold[d][w] * (float)(durations[d] * width);
        for (size_t b = 0; b + width <= bins; b++) {
            /* The single bin is taken from the sum itself: a difference of prefixes would carry a strong neighbour's rounding. */
            const float sum = width == 1 ? scan->sum[b] : scan->prefix[b + width] - scan->prefix[b];
            if (sum <= bar)
                continue;
            for (size_t i = b; i < b + width; i++)
                if (!scan->hit[i] && scan->sum[i] > (float)durations[d]) {
                    scan->hit[i] = (unsigned char)durations[d];
                    scan->mean[i] = (scan->sum[i] / (float)durations[d] - 1.0f) * noise[i];
                }
        }
    }
}

static void drop_skirts(wh_scan *scan, const float *spectrum)
{
    const size_t bins = scan->bins, reach = scan->skirt_bins;
    for (size_t b = 0; b < bins; b++)
        scan->recent[b] = fmaxf(spectrum[b], FADE * scan->recent[b]);
    for (size_t b = 0; b < bins; b++) {
        if (!scan->hit[b])
            continue;
        const size_t from = b > reach ? b - reach : 0, to = b + reach < bins ? b + reach + 1 : bins;
        float peak = 0.0f;
        for (size_t i = from; i < to; i++)
            peak = fmaxf(peak, scan->recent[i]);
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
        } else if (count < WH_ISLANDS_MAX) {
            islands[count++] = (wh_island){(uint16_t)b, (uint16_t)b, scan->hit[b]};
        }
    }
    return count;
}

size_t wh_scan_slot(wh_scan *scan, const float *spectrum, const float *noise, wh_island *islands)
{
    const size_t bins = scan->bins;
    scan->newest = (scan->newest + 1) % WH_SCAN_SLOTS;
    float *restrict row = scan->ratio + scan->newest * bins;
    for (size_t b = 0; b < bins; b++)
        row[b] = spectrum[b] / noise[b];
    scan->slots++;
    memset(scan->hit, 0, bins);
    for (unsigned d = 0; d < DURATIONS; d++)
        test_duration(scan, noise, d);
    drop_skirts(scan, spectrum);
    return gather(scan, islands);
}

void wh_scan_settle(wh_scan *scan, size_t low, size_t high)
{
    float *row = scan->ratio + scan->newest * scan->bins;
    for (size_t b = low; b <= high && b < scan->bins; b++)
        row[b] = 1.0f;
}
