/* Readings of sensors that do not exist: white noise, and other people's transmitters (keyed bursts with random rates, tones
 * and bits, chirps, pulse trains, carriers), through the receiver with all shipped descriptors. Usage:
 * report_false_readings PROTOCOLS [MINUTES_OF_NOISE [MINUTES_OF_TRAFFIC [SEED]]] */
#include "noise_pool.h"
#include "synth_recording.h"
#include "wheelhark/receiver.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RATE_HZ    2.4e6
#define PART_S     10.0 /* seconds whose bursts are drawn at once */
#define STEPS      3.0  /* of the converter: standard deviation of the noise in each of I and Q */
#define NOISE      (2.0 * STEPS * STEPS / (127.5 * 127.5))
#define CHIPS_MOST 4000
#define BLOCK      NOISE_POOL_BLOCK
#define WAVES      100 /* foreign transmissions in a part: ten a second */
#define BINS       6

static const double edges[BINS] = {0.0, 0.1, 0.5, 0.9, 0.99, 0.999};

typedef struct tally {
    size_t readings[BINS];
} tally;

static void count_reading(void *context, const wh_reading *reading)
{
    tally *t = context;
    for (size_t i = 0; i < BINS; i++)
        t->readings[i] += reading->confidence >= edges[i];
    if (reading->confidence >= 0.5)
        printf("  %s %s at %.4f s: confidence %.5f, copies %u, repaired %u, %.1f dB\n", reading->descriptor,
               reading->sensor, reading->offset_s, reading->confidence, reading->copies, reading->repaired_bits,
               reading->snr_db);
}

static double log_between(wh_rng *rng, double low, double high)
{
    return low * pow(high / low, wh_rng_uniform(rng));
}

/* Chips as others send them: a run-in of alternating chips, then random bits, plain, in Manchester code or in pulse
 * widths. */
static size_t draw_chips(wh_rng *rng, size_t most, uint8_t *chips)
{
    const uint64_t style = wh_rng_below(rng, 3);
    const size_t run_in = wh_rng_below(rng, 100), count = 40 + wh_rng_below(rng, most - 40);
    size_t n = 0;
    while (n < run_in && n < count) {
        chips[n] = n % 2 == 0;
        n++;
    }
    while (n + 3 <= count) {
        const uint8_t bit = (uint8_t)(wh_rng_next(rng) >> 63);
        chips[n++] = style == 0 ? bit : style == 1 ? bit : 1;
        if (style == 1)
            chips[n++] = !bit;
        if (style == 2) {
            chips[n++] = bit;
            chips[n++] = 0;
        }
    }
    return n;
}

static size_t draw_keyed(wh_rng *rng, wh_wave_spec *spec, uint8_t *chips)
{
    spec->radio.modulation = wh_rng_below(rng, 2) ? WH_MOD_FSK : WH_MOD_OOK;
    /* Half of them at the rates and deviations the descriptors listen for, the others anywhere. */
    static const double usual_hz[] = {2e3, 4e3, 8e3, 10e3, 16e3, 19.2e3, 20e3, 25e3, 38.4e3, 50e3};
    spec->radio.chip_rate_hz = wh_rng_below(rng, 2) ? usual_hz[wh_rng_below(rng, sizeof usual_hz / sizeof usual_hz[0])]
                                                    : log_between(rng, 1e3, 50e3);
    if (spec->radio.modulation == WH_MOD_FSK)
        spec->radio.deviation_hz = log_between(rng, 6e3, 70e3);
    const double longest = fmin((double)CHIPS_MOST, fmax(200.0, 0.1 * spec->radio.chip_rate_hz));
    return draw_chips(rng, (size_t)longest, chips);
}

/* A carrier of up to a second that stands or sweeps up to 400 kHz, or pulses of random length, one chip in eight. */
static size_t draw_unkeyed(wh_rng *rng, wh_wave_spec *spec, uint8_t *chips)
{
    const uint64_t style = wh_rng_below(rng, 3);
    spec->radio.modulation = WH_MOD_OOK;
    spec->radio.chip_rate_hz = style == 2 ? log_between(rng, 1e3, 100e3) : 1e3;
    spec->drift_hz = style == 1 ? 800e3 * (wh_rng_uniform(rng) - 0.5) : 0.0;
    const size_t count = (size_t)log_between(rng, 20.0, 1000.0);
    for (size_t i = 0; i < count; i++)
        chips[i] = style < 2 || wh_rng_below(rng, 8) == 0;
    return count;
}

static wh_wave *draw_burst(wh_rng *rng, double start_s)
{
    uint8_t chips[CHIPS_MOST];
    wh_wave_spec spec = {.start_s = start_s, .phase = 2.0 * M_PI * wh_rng_uniform(rng)};
    const size_t count = wh_rng_below(rng, 10) ? draw_keyed(rng, &spec, chips) : draw_unkeyed(rng, &spec, chips);
    spec.carrier_hz = 2e6 * (wh_rng_uniform(rng) - 0.5);
    spec.amplitude =
        fmin(0.5, wh_snr_amplitude(5.0 + 25.0 * wh_rng_uniform(rng), spec.radio.chip_rate_hz, NOISE, RATE_HZ));
    return wh_wave_create(&spec, chips, count);
}

typedef struct air {
    const noise_pool *pool;
    wh_rng rng;
    float signal[2 * BLOCK];
    uint8_t bytes[2 * BLOCK];
    wh_wave *waves[WAVES];
    size_t wave_count, sent;
} air;

/* Samples first .. first + count - 1 of a part. */
static void make_block(air *a, uint64_t first, size_t count)
{
    const double from_s = (double)first / RATE_HZ, to_s = (double)(first + count) / RATE_HZ;
    bool any = false;
    for (size_t i = 0; i < a->wave_count; i++) {
        double begin_s, end_s;
        wh_wave_span(a->waves[i], &begin_s, &end_s);
        if (end_s <= from_s || begin_s >= to_s)
            continue;
        if (!any)
            memset(a->signal, 0, sizeof a->signal);
        any = true;
        wh_wave_add(a->waves[i], RATE_HZ, first, count, a->signal);
    }
    noise_pool_bytes(a->pool, &a->rng, STEPS, any ? a->signal : NULL, count, a->bytes);
}

static bool run_part(wh_receiver *receiver, bool foreign, air *a)
{

    bool ok = true;
    for (a->wave_count = 0; ok && foreign && a->wave_count < WAVES; a->wave_count++) {
        a->waves[a->wave_count] = draw_burst(&a->rng, wh_rng_uniform(&a->rng) * (PART_S - 1.1));
        ok = a->waves[a->wave_count] != NULL;
    }
    a->sent += a->wave_count;
    const uint64_t samples = (uint64_t)(PART_S * RATE_HZ);
    for (uint64_t at = 0; ok && at < samples; at += BLOCK) {
        const size_t count = samples - at < BLOCK ? (size_t)(samples - at) : BLOCK;
        make_block(a, at, count);
        ok = wh_receiver_push(receiver, a->bytes, count) == WH_OK;
    }
    for (size_t i = 0; i < a->wave_count; i++)
        wh_wave_destroy(&a->waves[i]);
    return ok;
}

static bool measure(const wh_descriptor_set *set, const noise_pool *pool, double minutes, bool foreign, uint64_t seed)
{
    tally t = {{0}};
    const wh_receiver_sink sink = {.context = &t, .reading = count_reading};
    wh_receiver_config config;
    wh_receiver_config_defaults(&config);
    config.report_minimum = 0.0;
    const wh_stream stream = {.format = WH_IQ_CU8, .sample_rate_hz = RATE_HZ, .centre_hz = 433.92e6, .name = "air"};
    wh_receiver *receiver = NULL;
    air *a = calloc(1, sizeof *a);
    bool ok = a && wh_receiver_create(&config, set, &sink, &receiver, NULL) == WH_OK &&
              wh_receiver_begin(receiver, &stream, NULL) == WH_OK;
    wh_receiver_stats stats = {0};
    if (ok) {
        a->pool = pool;
        wh_rng_seed(&a->rng, seed);
        for (double at = 0.0; ok && at < 60.0 * minutes; at += PART_S)
            ok = run_part(receiver, foreign, a);
        ok = ok && wh_receiver_finish(receiver) == WH_OK;
        wh_receiver_get_stats(receiver, &stats);
        printf("%s, %.2f hours, seed %llu\n  sent %zu, bursts heard %llu; readings",
               foreign ? "foreign traffic" : "white noise", stats.seconds / 3600.0, (unsigned long long)seed, a->sent,
               (unsigned long long)stats.bursts);
        for (size_t i = 0; i < BINS; i++)
            printf("%s %zu at >= %g", i ? "," : "", t.readings[i], edges[i]);
        printf("\n");
        fflush(stdout);
    }
    wh_receiver_destroy(&receiver);
    free(a);
    return ok;
}

int main(int argc, char **argv)
{
    if (argc < 2) {
        fprintf(stderr, "usage: report_false_readings PROTOCOLS [MINUTES_OF_NOISE [MINUTES_OF_TRAFFIC [SEED]]]\n");
        return 64;
    }
    const double noise = argc > 2 ? strtod(argv[2], NULL) : 30.0, traffic = argc > 3 ? strtod(argv[3], NULL) : 2.0;
    const uint64_t seed = argc > 4 ? strtoull(argv[4], NULL, 10) : 1;
    wh_descriptor_set *set = wh_descriptor_set_create();
    noise_pool *pool = noise_pool_create(seed);
    const bool ok = set && pool && wh_descriptor_set_load_folder(set, argv[1], NULL, NULL) == WH_OK &&
                    measure(set, pool, noise, false, seed) && measure(set, pool, traffic, true, seed + 1);
    if (!ok)
        fprintf(stderr, "%s: no descriptors there, or no memory\n", argv[1]);
    noise_pool_destroy(&pool);
    wh_descriptor_set_destroy(&set);
    return ok ? 0 : 70;
}
