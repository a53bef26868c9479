/* A detector run over an array, and what it told. */
#ifndef WH_TEST_OUTLINES_H
#define WH_TEST_OUTLINES_H

#include "detect.h"

#include "../air.h"
#include "../near.h"

#include <stdio.h>
#include <string.h>

#define OUTLINES_MAX 512

typedef struct outlines {
    size_t count;
    wh_outline item[OUTLINES_MAX];
} outlines;

static inline void outlines_take(void *context, const wh_outline *outline)
{
    outlines *all = context;
    assert_true(all->count < OUTLINES_MAX);
    all->item[all->count++] = *outline;
}

static inline wh_detector_config outlines_config(double rate_hz)
{
    return (wh_detector_config){.sample_rate_hz = rate_hz, .pause_s = 0.0, .longest_s = 0.35};
}

/* Everything in blocks of `block` samples, then finish. */
static inline void outlines_push(wh_detector *detector, const float *iq, size_t samples, size_t block)
{
    for (size_t at = 0; at < samples; at += block)
        wh_detector_push(detector, iq + 2 * at, at + block < samples ? block : samples - at);
    wh_detector_finish(detector);
}

static inline outlines outlines_of(const wh_detector_config *config, const float *iq, size_t samples, size_t block)
{
    outlines all = {0};
    wh_detector *detector = wh_detector_create(config, outlines_take, &all);
    assert_non_null(detector);
    outlines_push(detector, iq, samples, block);
    wh_detector_destroy(&detector);
    assert_null(detector);
    return all;
}

/* Outlines that are not marked as too long. */
static inline size_t outlines_whole(const outlines *all)
{
    size_t count = 0;
    for (size_t i = 0; i < all->count; i++)
        count += !all->item[i].cut;
    return count;
}

static inline void outlines_print(const outlines *all, double rate_hz)
{
    for (size_t i = 0; i < all->count; i++)
        print_message("  %.4f..%.4f s, %.1f +- %.1f kHz, %.1f dB%s\n", (double)all->item[i].start / rate_hz,
                      (double)all->item[i].end / rate_hz, all->item[i].centre_hz / 1e3,
                      0.5 * all->item[i].width_hz / 1e3, all->item[i].snr_db, all->item[i].cut ? ", cut" : "");
}

/* What a sensor sends in these tests: random chips, frequency-shift keyed unless deviation is 0. Times in seconds. */
typedef struct sent_burst {
    double start_s, length_s, carrier_hz, deviation_hz, chip_rate_hz, snr_db;
} sent_burst;

/* Add it to noise of `noise_power` per sample; the amplitude is told. */
static inline double outlines_add(float *iq, size_t samples, double rate_hz, double noise_power, const sent_burst *b)
{
    uint8_t chips[4096];
    const size_t count = (size_t)(b->length_s * b->chip_rate_hz);
    assert_true(count <= sizeof chips);
    air_random_chips(chips, count, 99);
    chips[0] = chips[count - 1] = 1; /* on-off keying: so that its ends are where they are said to be */
    const air_keying keying = {
        rate_hz,       b->chip_rate_hz, b->start_s * rate_hz,
        b->carrier_hz, b->deviation_hz, air_amplitude(b->snr_db, b->chip_rate_hz, noise_power, rate_hz)};
    air_keyed(iq, samples, &keying, chips, count);
    return keying.amplitude;
}

/* Starts and ends are told a slot of a millisecond or so early and late; where something weak came with the burst, its skirt or
 * its fading edge, up to the eight slots that weak things are averaged over, and as many of padding. */
#define GENEROUS_S 18e-3

static inline bool outlines_near(const wh_outline *o, const sent_burst *b, double rate_hz)
{
    return (double)o->start / rate_hz >= b->start_s - GENEROUS_S &&
           (double)o->end / rate_hz <= b->start_s + b->length_s + GENEROUS_S;
}

/* Is this the outline of that burst: all of it, and little more? */
static inline bool outlines_fits(const wh_outline *o, const sent_burst *b, double rate_hz)
{
    const double bin = 6.4e3,
                 keying = b->chip_rate_hz; /* the widest bins; abrupt keying spreads over several chip rates */
    return outlines_near(o, b, rate_hz) && (double)o->start / rate_hz <= b->start_s + 1e-4 &&
           (double)o->end / rate_hz >= b->start_s + b->length_s - 1e-4 &&
           fabs(o->centre_hz - b->carrier_hz) < 2.0 * bin + 2.0 * keying &&
           o->centre_hz + 0.5 * o->width_hz > b->carrier_hz + b->deviation_hz - bin &&
           o->centre_hz - 0.5 * o->width_hz < b->carrier_hz - b->deviation_hz + bin &&
           o->width_hz <= 2.0 * b->deviation_hz + 16.0 * keying + 2.0 * bin && !o->cut;
}

/* Is it a splinter of that burst's keying far from its tones: about the same time, and 13 dB weaker at least? */
static inline bool outlines_splinter(const wh_outline *o, const sent_burst *b, double rate_hz, double power)
{
    return (double)o->start / rate_hz >= b->start_s - 2.0 * GENEROUS_S &&
           (double)o->end / rate_hz <= b->start_s + b->length_s + 2.0 * GENEROUS_S && o->power < 0.05 * power;
}

#endif
