/* Bursts on the air, computed here and not by the shipped generator, and what the demodulator makes of them. */
#ifndef WH_TEST_DEMODULATED_H
#define WH_TEST_DEMODULATED_H

#include "demod.h"

#include "../air.h"
#include "../near.h"

#include <string.h>

#define NOISE     1e-3 /* power per sample */
#define CHIPS_MAX 2048

typedef struct burst {
    wh_radio radio; /* what the receiver is told */
    double rate_hz; /* samples a second */
    double carrier_hz, rate_error, deviation_error, snr_db;
    double start; /* in chips */
    size_t count;
    uint8_t chips[CHIPS_MAX];
    uint64_t seed;
} burst;

static inline double burst_chip_rate(const burst *b)
{
    return b->radio.chip_rate_hz * (1.0 + b->rate_error);
}

/* Random bits in chips of both kinds, Manchester-like, so that on-off keying pauses briefly only. */
static inline void burst_fill(burst *b, size_t chips, uint64_t seed)
{
    uint8_t bits[CHIPS_MAX];
    assert_true(chips <= CHIPS_MAX && chips % 2 == 0);
    air_random_chips(bits, chips / 2, seed);
    bits[0] = 1; /* the first chip is on, and so is the last */
    bits[chips / 2 - 1] = 0;
    for (size_t i = 0; i < chips / 2; i++) {
        b->chips[2 * i] = bits[i];
        b->chips[2 * i + 1] = !bits[i];
    }
    b->count = chips;
    b->seed = seed;
}

/* Samples with noise: the burst with `tail` chips of noise behind it. The caller frees. */
static inline float *burst_air(const burst *b, double tail, size_t *samples)
{
    const double chip = b->rate_hz / burst_chip_rate(b);
    *samples = (size_t)(chip * (b->start + (double)b->count + tail));
    float *iq = air_silence(*samples);
    const bool low = b->radio.low_tone_is_one;
    uint8_t chips[CHIPS_MAX];
    for (size_t i = 0; i < b->count; i++)
        chips[i] = b->chips[i] != low;
    const air_keying keying = {.rate_hz = b->rate_hz,
                               .chip_rate_hz = burst_chip_rate(b),
                               .start = b->start * chip,
                               .carrier_hz = b->carrier_hz,
                               .deviation_hz = b->radio.deviation_hz * (1.0 + b->deviation_error),
                               .amplitude = air_amplitude(b->snr_db, burst_chip_rate(b), NOISE, b->rate_hz)};
    air_keyed(iq, *samples, &keying, chips, b->count);
    air_noise(iq, *samples, NOISE, b->seed + 1000);
    return iq;
}

/* The emission that explains the burst best, and how many there were. */
typedef struct told {
    const burst *b;
    size_t emissions;
    bool any;
    size_t wrong;      /* hard chips */
    double late_chips; /* of the first chip, in chips */
    double carrier_hz, deviation_hz, rate_error, snr_db;
    double last_start_s;
} told;

static inline void assert_sound(const wh_chips *chips)
{
    assert_true(chips->count <= chips->capacity);
    assert_true(chips->first < chips->last && chips->last <= chips->count);
    assert_true(chips->chip_s > 0.0 && isfinite(chips->start_s) && isfinite(chips->carrier_hz) &&
                isfinite(chips->snr_db));
    assert_true(chips->amplitude >= 0.0f && chips->noise > 0.0f);
    for (size_t k = 0; k < chips->count; k++) {
        assert_true(isfinite(chips->llr[k]));
        for (int v = 0; v < 2; v++)
            assert_true(isfinite(crealf(chips->value[v][k])) && isfinite(cimagf(chips->value[v][k])));
        assert_true(!chips->keyed || cabsf(chips->value[0][k]) == 0.0f);
    }
}

static inline void told_take(void *context, const wh_chips *chips)
{
    told *t = context;
    assert_sound(chips);
    t->emissions++;
    if (!t->b)
        return;
    const double start_s = t->b->start / burst_chip_rate(t->b), at = (start_s - chips->start_s) / chips->chip_s;
    if (at < -0.5 || at + (double)t->b->count > (double)chips->count + 0.5)
        return;
    const size_t first = (size_t)(at + 0.5);
    size_t wrong = 0;
    for (size_t i = 0; i < t->b->count && first + i < chips->count; i++)
        wrong += (chips->llr[first + i] > 0.0f) != (t->b->chips[i] == 1);
    if (t->any && wrong >= t->wrong)
        return;
    t->any = true;
    t->wrong = wrong;
    t->late_chips = (double)first - at;
    t->carrier_hz = chips->carrier_hz;
    t->deviation_hz = chips->deviation_hz;
    t->rate_error = chips->rate_error;
    t->snr_db = chips->snr_db;
}

static inline wh_demod_verdict demod_samples(const float *iq, size_t samples, const burst *b, double half_width_hz,
                                             wh_chips_fn give, void *context)
{
    wh_demod *demod = wh_demod_create();
    assert_non_null(demod);
    const wh_baseband baseband = {(const float complex *)(const void *)iq, samples, b->rate_hz, NOISE / b->rate_hz,
                                  half_width_hz, 0.0};
    const wh_demod_limits limits = {.shortest_chips = (unsigned)(b->count / 2), .zero_run = 2};
    wh_demod_verdict verdict = wh_demod_load(demod, &baseband);
    if (verdict == WH_DEMOD_OK)
        verdict = wh_demod_run(demod, &b->radio, &limits, give, context);
    wh_demod_destroy(&demod);
    assert_null(demod);
    return verdict;
}

static inline double burst_half_width(const burst *b)
{
    return fabs(b->carrier_hz) + b->radio.deviation_hz * (1.0 + fabs(b->deviation_error)) + b->radio.chip_rate_hz;
}

static inline told demodulated(const burst *b)
{
    size_t samples;
    float *iq = burst_air(b, 30.0, &samples);
    told t = {.b = b};
    const wh_demod_verdict verdict = demod_samples(iq, samples, b, burst_half_width(b), told_take, &t);
    free(iq);
    assert_int_equal(verdict == WH_DEMOD_OK, t.emissions > 0);
    return t;
}

#endif
