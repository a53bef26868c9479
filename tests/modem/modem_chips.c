#include "modem_chips.h"

#include "demod.h"
#include "modem_theory.h"
#include "rng.h"
#include "synth_wave.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define RATE_HZ 400e3
/* Known chips: a wrong place among fifteen passes for the right one less than once in 10^6 bursts at 4 dB */
#define KNOWN       64
#define COUNTED     400
#define CHIPS       (KNOWN + COUNTED)
#define SILENCE_S   2e-3
#define LAG         7 /* chips by which the demodulator's idea of the start may be off */
#define KNOWN_RIGHT 0.7

typedef struct chip_judge {
    const uint8_t *sent; /* [CHIPS] */
    double start_s, chip_s;
    bool found;
    size_t
        known_wrong; /* of the emission taken: several ways of looking at the burst may be offered, the best counts */
    size_t errors;
} chip_judge;

static size_t differ(const wh_chips *chips, const uint8_t *sent, long first, size_t from, size_t to)
{
    size_t wrong = 0;
    for (size_t k = from; k < to; k++) {
        const long at = first + (long)k;
        const bool one = at >= 0 && (size_t)at < chips->count && chips->llr[at] > 0.0f;
        wrong += one != (sent[k] != 0);
    }
    return wrong;
}

static void judge_chips(void *context, const wh_chips *chips)
{
    chip_judge *judge = context;
    const long guess = lround((judge->start_s - chips->start_s) / chips->chip_s);
    size_t least = KNOWN;
    long place = 0;
    for (long first = guess - LAG; first <= guess + LAG; first++) {
        const size_t wrong = differ(chips, judge->sent, first, 0, KNOWN);
        if (wrong < least) {
            least = wrong;
            place = first;
        }
    }
    if ((double)least > (1.0 - KNOWN_RIGHT) * KNOWN || (judge->found && least >= judge->known_wrong))
        return;
    judge->found = true;
    judge->known_wrong = least;
    judge->errors = differ(chips, judge->sent, place, KNOWN, CHIPS);
}

static bool run_burst(wh_demod *demod, const wh_radio *radio, double on_db, wh_rng *rng, float *samples, size_t count,
                      modem_chip_count *total)
{
    uint8_t sent[CHIPS];
    for (size_t k = 0; k < CHIPS; k++)
        sent[k] = (uint8_t)(wh_rng_next(rng) & 1u);
    const double noise_density = 1.0 / RATE_HZ; /* one unit of power over all samples */
    const wh_wave_spec spec = {
        .radio = *radio,
        .carrier_hz = 4e3 * (wh_rng_uniform(rng) - 0.5),
        .start_s = SILENCE_S + wh_rng_uniform(rng) / radio->chip_rate_hz,
        .amplitude = sqrt(modem_ratio(on_db) * noise_density * radio->chip_rate_hz),
        .phase = 2.0 * M_PI * wh_rng_uniform(rng),
    };
    wh_wave *wave = wh_wave_create(&spec, sent, CHIPS);
    if (!wave)
        return false;
    for (size_t i = 0; i < count; i++) {
        double pair[2];
        wh_rng_gauss_pair(rng, pair);
        samples[2 * i] = (float)(pair[0] * M_SQRT1_2);
        samples[2 * i + 1] = (float)(pair[1] * M_SQRT1_2);
    }
    wh_wave_add(wave, RATE_HZ, 0, count, samples);
    wh_wave_destroy(&wave);
    const wh_baseband baseband = {(const float complex *)(const void *)samples, count, RATE_HZ, noise_density,
                                  radio->deviation_hz + radio->chip_rate_hz,    0.0};
    const wh_demod_limits limits = {.shortest_chips = CHIPS / 2, .zero_run = radio->modulation == WH_MOD_OOK ? 16 : 1};
    chip_judge judge = {.sent = sent, .start_s = spec.start_s, .chip_s = 1.0 / radio->chip_rate_hz};
    if (wh_demod_load(demod, &baseband) == WH_DEMOD_OK &&
        wh_demod_run(demod, radio, &limits, judge_chips, &judge) == WH_DEMOD_NO_MEMORY)
        return false;
    total->bursts++;
    total->lost += !judge.found;
    total->chips += judge.found ? COUNTED : 0;
    total->errors += judge.errors;
    return true;
}

bool modem_chip_errors(const wh_radio *radio, double on_db, size_t bursts, uint64_t seed, modem_chip_count *total)
{
    *total = (modem_chip_count){0};
    wh_rng rng;
    wh_rng_seed(&rng, seed);
    const size_t count = (size_t)ceil((2.0 * SILENCE_S + (CHIPS + 1) / radio->chip_rate_hz) * RATE_HZ);
    float *samples = malloc(2 * count * sizeof *samples);
    wh_demod *demod = wh_demod_create();
    bool ok = samples && demod;
    for (size_t i = 0; ok && i < bursts; i++)
        ok = run_burst(demod, radio, on_db, &rng, samples, count, total);
    wh_demod_destroy(&demod);
    free(samples);
    return ok;
}
