#include "detect.h"

#include "floor.h"
#include "scan.h"
#include "select.h"
#include "spectra.h"
#include "tracks.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define DEFAULT_FALSE_ALARMS (1.0 / 60.0)
#define MATE_REACH_HZ        300e3 /* two tones 80 kHz off the centre, 50 kchip/s keying, and a bin or two */
#define SKIRT_REACH_HZ       60e3  /* side lobes of keying at 20 kchip/s down to the fourth; beyond, see skirts.h */
#define COVER_REACH_HZ                                                                                                 \
    180e3 /* a weak emission so near a strong one shares its outline; with both no wider than what is isolated */
#define PAD_SLOTS      1 /* the first and the last slot may hold only a part of the burst ... */
#define WEAK_PAD_SLOTS 8 /* ... and a weak one is noticed late */
#define HIDDEN_SLOTS   8 /* more where it begins or ends beside something much stronger */
#define NEAR_BINS      8 /* around an emission that tell its noise */
#define LINE_RISE      4.0 /* floor over noise that makes a bin a steady carrier's: the floor itself is known to a tenth */
#define LINE_REACH_HZ  250e3
#define STEADY_BINS    6 /* no wider than this, and there from end to end: a carrier or the tuner's spike at 0 Hz */

struct wh_detector {
    wh_detector_config config;
    size_t bins;
    uint64_t slot_samples;
    uint64_t samples, slot; /* pushed; next slot to judge */
    wh_spectra *spectra;
    wh_scan *scan;
    wh_noise_floor floor;
    wh_tracks tracks;
    float *start_spectra; /* [WH_FLOOR_START_SLOTS x bins]: held back until the floor is known */
    size_t start_slots;
    bool started, finishing;
    unsigned char *held;
    float *near; /* [bins] scratch */
    wh_outline_fn found;
    void *context;
};

static void take_spectrum(void *context, const float *spectrum);

wh_detector *wh_detector_create(const wh_detector_config *config, wh_outline_fn found, void *context)
{
    wh_detector *detector = calloc(1, sizeof *detector);
    if (!detector)
        return NULL;
    detector->config = *config;
    if (!(detector->config.false_alarms_per_s > 0.0))
        detector->config.false_alarms_per_s = DEFAULT_FALSE_ALARMS;
    detector->found = found;
    detector->context = context;
    const double rate = config->sample_rate_hz;
    const size_t bins = wh_spectra_size(rate);
    detector->bins = bins;
    detector->slot_samples = wh_spectra_slot(bins);
    const double slot_rate = rate / (double)detector->slot_samples, bin_hz = rate / (double)bins;
    detector->spectra = wh_spectra_create(bins, take_spectrum, detector);
    detector->scan = wh_scan_create(bins, bin_hz, slot_rate, detector->config.false_alarms_per_s);
    detector->start_spectra = malloc(WH_FLOOR_START_SLOTS * bins * sizeof(float));
    detector->held = calloc(bins, 1);
    detector->near = malloc(bins * sizeof *detector->near);
    /* -120 dB of full scale: below anything eight bits can hold, above rounding. */
    const bool floor_ready = wh_noise_floor_init(&detector->floor, bins, 1e-12f);
    if (!detector->spectra || !detector->scan || !detector->start_spectra || !detector->held || !detector->near ||
        !floor_ready) {
        wh_detector_destroy(&detector);
        return NULL;
    }
    const uint64_t hang = 2 + (uint64_t)ceil(config->pause_s * slot_rate);
    wh_tracks_init(&detector->tracks, hang, (uint64_t)ceil(config->longest_s * slot_rate),
                   (size_t)(MATE_REACH_HZ / bin_hz) + 1, (size_t)(SKIRT_REACH_HZ / bin_hz) + 1,
                   (size_t)(COVER_REACH_HZ / bin_hz) + 1);
    return detector;
}

void wh_detector_destroy(wh_detector **detector)
{
    if (!detector || !*detector)
        return;
    wh_spectra_destroy(&(*detector)->spectra);
    wh_scan_destroy(&(*detector)->scan);
    wh_noise_floor_free(&(*detector)->floor);
    free((*detector)->start_spectra);
    free((*detector)->held);
    free((*detector)->near);
    free(*detector);
    *detector = NULL;
}

static uint64_t pad_slots(const wh_track *emission)
{
    const uint64_t pad = PAD_SLOTS + (wh_track_is_plain(emission) ? 0 : wh_track_doubt(emission));
    return pad < WEAK_PAD_SLOTS ? pad : WEAK_PAD_SLOTS;
}

/* White noise of density n makes n x rate in every bin. The lower half of the bins in and around the emission speaks for it: some may
 * hold a steady carrier. A track cut for its length has already lifted the floor to itself. */
static double noise_density(wh_detector *detector, const wh_track *emission)
{
    if (emission->cut && emission->present > 0)
        return emission->noise / (double)emission->present / (double)(emission->high - emission->low + 1) /
               detector->config.sample_rate_hz;
    const size_t from = emission->low > NEAR_BINS ? emission->low - NEAR_BINS : 0;
    const size_t to = emission->high + NEAR_BINS < detector->bins ? emission->high + NEAR_BINS + 1 : detector->bins;
    memcpy(detector->near, detector->floor.power + from, (to - from) * sizeof *detector->near);
    return (double)wh_quantile(detector->near, to - from, 0.4) / detector->config.sample_rate_hz;
}

/* Bins near the emission whose floor stands out of the noise: somebody was sending there before, and still is. */
static void find_lines(const wh_detector *detector, const wh_track *emission, wh_outline *outline)
{
    const float *floor = detector->floor.power;
    const float bar = (float)(LINE_RISE * outline->noise_density * detector->config.sample_rate_hz);
    const double bin_hz = detector->config.sample_rate_hz / (double)detector->bins;
    const size_t reach = (size_t)(LINE_REACH_HZ / bin_hz), middle = (emission->low + emission->high) / 2;
    float power[WH_LINES_MAX];
    for (size_t b = middle > reach ? middle - reach : 0; b < detector->bins && b <= middle + reach; b++) {
        const bool peak = floor[b] > bar && (b == 0 || floor[b] >= floor[b - 1]) &&
                          (b + 1 == detector->bins || floor[b] > floor[b + 1]);
        if (!peak || emission->cut)
            continue;
        if (outline->line_count == WH_LINES_MAX && power[WH_LINES_MAX - 1] >= floor[b])
            continue;
        unsigned at = outline->line_count < WH_LINES_MAX ? outline->line_count++ : WH_LINES_MAX - 1;
        for (; at > 0 && power[at - 1] < floor[b]; at--) {
            power[at] = power[at - 1];
            outline->line_hz[at] = outline->line_hz[at - 1];
        }
        power[at] = floor[b];
        outline->line_hz[at] = ((double)b - 0.5 * (double)detector->bins) * bin_hz;
    }
}

static void give_outline(void *context, const wh_track *emission)
{
    wh_detector *detector = context;
    const double bin_hz = detector->config.sample_rate_hz / (double)detector->bins;
    const uint64_t pad = pad_slots(emission);
    const uint64_t before = pad + (emission->hidden_before ? HIDDEN_SLOTS : 0);
    const uint64_t end =
        (emission->last + 1 + pad + (emission->hidden_after ? HIDDEN_SLOTS : 0)) * detector->slot_samples;
    /* Not "all samples pushed": that would depend on the block size. */
    const uint64_t seen = detector->finishing ? detector->samples : (detector->slot + 1) * detector->slot_samples;
    const size_t low = emission->skirt_low, high = emission->skirt_high;
    const double width = (double)(high - low + 1);
    const double present = (double)(emission->present ? emission->present : 1);
    const double noise = emission->noise > 0.0 ? emission->noise : 1e-12;
    /* Whole-band means over a slot add up to bins x variance (Parseval with a window of unit energy). */
    wh_outline outline = {
        .start = emission->start > before ? (emission->start - before) * detector->slot_samples : 0,
        .end = end < seen ? end : seen,
        .centre_hz = (0.5 * (double)(low + high) - 0.5 * (double)detector->bins) * bin_hz,
        .width_hz = width * bin_hz,
        .snr_db = 10.0 * log10(fmax(emission->excess / noise, 1e-3)),
        .held_db = 10.0 * log10(fmax(emission->held, 1e-3)),
        .noise_density = noise_density(detector, emission),
        .power = emission->excess / present / (double)detector->bins,
        .cut = emission->cut || (detector->slot < WH_FLOOR_START_SLOTS && width <= STEADY_BINS &&
                                 emission->start == 0 && emission->last + 1 >= detector->slot),
    };
    find_lines(detector, emission, &outline);
    detector->found(detector->context, &outline);
}

static void judge_slot(wh_detector *detector, const float *spectrum)
{
    wh_island islands[WH_ISLANDS_MAX];
    const size_t count = wh_scan_slot(detector->scan, spectrum, detector->floor.power, islands);
    wh_tracks_slot(&detector->tracks, detector->slot, islands, count, spectrum, detector->floor.power, detector->scan,
                   detector->held, detector->bins, give_outline, detector);
    detector->slot++;
    if (detector->slot % WH_FLOOR_FOLLOW_SLOTS != 0)
        return;
    wh_scan_end_four(detector->scan, detector->floor.power, detector->held);
    wh_noise_floor_follow(&detector->floor, wh_scan_last_four(detector->scan), detector->held);
}

static void begin_judging(wh_detector *detector)
{
    wh_noise_floor_start(&detector->floor, detector->start_spectra, detector->start_slots, WH_SLOT_AVERAGES);
    detector->started = true;
    for (size_t i = 0; i < detector->start_slots; i++)
        judge_slot(detector, detector->start_spectra + i * detector->bins);
}

static void take_spectrum(void *context, const float *spectrum)
{
    wh_detector *detector = context;
    if (detector->started) {
        judge_slot(detector, spectrum);
        return;
    }
    memcpy(detector->start_spectra + detector->start_slots * detector->bins, spectrum,
           detector->bins * sizeof *spectrum);
    if (++detector->start_slots == WH_FLOOR_START_SLOTS)
        begin_judging(detector);
}

void wh_detector_push_native(wh_detector *detector, wh_iq_format format, const void *samples, size_t count)
{
    detector->samples += count;
    wh_spectra_push(detector->spectra, format, samples, count);
}

void wh_detector_push(wh_detector *detector, const float *iq, size_t count)
{
    wh_detector_push_native(detector, WH_IQ_CF32, iq, count);
}

void wh_detector_finish(wh_detector *detector)
{
    wh_spectra_finish(detector->spectra);
    detector->finishing = true;
    if (!detector->started && detector->start_slots > 0)
        begin_judging(detector);
    wh_tracks_finish(&detector->tracks, give_outline, detector);
    const wh_tracks fresh = detector->tracks;
    wh_tracks_init(&detector->tracks, fresh.hang_slots, fresh.longest_slots, fresh.mate_bins, fresh.skirt_bins,
                   fresh.cover_bins);
    detector->tracks.dropped = fresh.dropped;
    wh_scan_reset(detector->scan);
    detector->started = detector->finishing = false;
    detector->start_slots = 0;
    detector->samples = detector->slot = 0;
}

uint64_t wh_detector_horizon(const wh_detector *detector)
{
    if (!detector->started)
        return 0;
    /* A weak emission not yet noticed may have begun as long ago as is remembered, and more for its padding. */
    const uint64_t back = WH_SCAN_PAST + WH_SCAN_SLOTS, pad = WEAK_PAD_SLOTS + HIDDEN_SLOTS + WH_TRACKS_COVER_SLOTS + 1;
    const uint64_t earliest = wh_tracks_earliest(&detector->tracks, detector->slot > back ? detector->slot - back : 0);
    return earliest > pad ? (earliest - pad) * detector->slot_samples : 0;
}

size_t wh_detector_reach(const wh_detector *detector)
{
    const uint64_t slots = WH_FLOOR_START_SLOTS + detector->tracks.longest_slots + detector->tracks.hang_slots +
                           WH_SCAN_PAST + 2 * WH_SCAN_SLOTS + WEAK_PAD_SLOTS + HIDDEN_SLOTS +
                           2 * WH_TRACKS_COVER_SLOTS + WH_TRACK_SILENT_SLOTS + 32;
    return (size_t)(slots * detector->slot_samples);
}

uint64_t wh_detector_dropped(const wh_detector *detector)
{
    return detector->tracks.dropped;
}
