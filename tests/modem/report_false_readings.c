/* Readings of sensors that do not exist: white noise, and bursts of other people's transmitters with random keying,
 * rates, tones and bits, through the receiver with all shipped descriptors. Usage: report_false_readings PROTOCOLS
 * [MINUTES [SEED]] */
#include "rng.h"
#include "synth_recording.h"
#include "wheelhark/receiver.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RATE_HZ    2.4e6
#define PART_S     10.0                          /* seconds synthesised at once */
#define BURSTS_S   10.0                          /* foreign bursts a second */
#define NOISE      (2.0 * 9.0 / (127.5 * 127.5)) /* 3 steps of the converter in each of I and Q */
#define CHIPS_MOST 4000
#define BLOCK      65536
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

static wh_wave *draw_burst(wh_rng *rng, double start_s)
{
    uint8_t chips[CHIPS_MOST];
    wh_wave_spec spec = {.start_s = start_s, .phase = 2.0 * M_PI * wh_rng_uniform(rng)};
    spec.radio.modulation = wh_rng_below(rng, 2) ? WH_MOD_FSK : WH_MOD_OOK;
    /* Half of them at the rates and deviations the descriptors listen for, the others anywhere. */
    static const double usual_hz[] = {2e3, 4e3, 8e3, 10e3, 16e3, 19.2e3, 20e3, 25e3, 38.4e3, 50e3};
    spec.radio.chip_rate_hz = wh_rng_below(rng, 2) ? usual_hz[wh_rng_below(rng, sizeof usual_hz / sizeof usual_hz[0])]
                                                   : log_between(rng, 1e3, 50e3);
    if (spec.radio.modulation == WH_MOD_FSK)
        spec.radio.deviation_hz = log_between(rng, 6e3, 70e3);
    spec.carrier_hz = 2e6 * (wh_rng_uniform(rng) - 0.5);
    const double longest = fmin((double)CHIPS_MOST, fmax(200.0, 0.1 * spec.radio.chip_rate_hz));
    const size_t count = draw_chips(rng, (size_t)longest, chips);
    spec.amplitude =
        fmin(0.5, wh_snr_amplitude(5.0 + 25.0 * wh_rng_uniform(rng), spec.radio.chip_rate_hz, NOISE, RATE_HZ));
    return wh_wave_create(&spec, chips, count);
}

static bool push_part(wh_receiver *receiver, const wh_recording_burst *bursts, size_t count, uint64_t seed)
{
    const wh_recording_spec spec = {.format = WH_IQ_CU8,
                                    .sample_rate_hz = RATE_HZ,
                                    .samples = (uint64_t)(PART_S * RATE_HZ),
                                    .noise_power = NOISE,
                                    .seed = seed};
    wh_recording *recording = NULL;
    uint8_t *block = malloc(2 * BLOCK);
    bool ok = block && wh_recording_create(&spec, bursts, count, &recording, NULL) == WH_OK;
    for (size_t got = 1; ok && got > 0;) {
        got = wh_recording_read_native(recording, block, BLOCK);
        ok = wh_receiver_push(receiver, block, got) == WH_OK;
    }
    wh_recording_destroy(&recording);
    free(block);
    return ok;
}

static bool run_part(wh_receiver *receiver, bool foreign, wh_rng *rng, size_t *sent)
{
    enum { MOST = (int)(BURSTS_S * PART_S) };
    wh_recording_burst *bursts = calloc(MOST, sizeof *bursts);
    bool ok = bursts != NULL;
    size_t count = 0;
    for (; ok && foreign && count < MOST; count++) {
        bursts[count].wave = draw_burst(rng, wh_rng_uniform(rng) * (PART_S - 0.3));
        ok = bursts[count].wave != NULL;
    }
    *sent += count;
    ok = ok && push_part(receiver, bursts, count, wh_rng_next(rng));
    for (size_t i = 0; i < count; i++)
        wh_wave_destroy(&bursts[i].wave);
    free(bursts);
    return ok;
}

static bool measure(const wh_descriptor_set *set, double minutes, bool foreign, uint64_t seed)
{
    tally t = {{0}};
    const wh_receiver_sink sink = {.context = &t, .reading = count_reading};
    wh_receiver_config config;
    wh_receiver_config_defaults(&config);
    config.report_minimum = 0.0;
    const wh_stream stream = {.format = WH_IQ_CU8, .sample_rate_hz = RATE_HZ, .centre_hz = 433.92e6, .name = "air"};
    wh_receiver *receiver = NULL;
    wh_rng rng;
    wh_rng_seed(&rng, seed);
    printf("%s, %.1f minutes\n", foreign ? "foreign bursts" : "white noise", minutes);
    bool ok = wh_receiver_create(&config, set, &sink, &receiver, NULL) == WH_OK &&
              wh_receiver_begin(receiver, &stream, NULL) == WH_OK;
    size_t sent = 0;
    for (double at = 0.0; ok && at < 60.0 * minutes; at += PART_S)
        ok = run_part(receiver, foreign, &rng, &sent);
    if (ok)
        ok = wh_receiver_finish(receiver) == WH_OK;
    wh_receiver_stats stats = {0};
    if (ok)
        wh_receiver_get_stats(receiver, &stats);
    wh_receiver_destroy(&receiver);
    printf("  sent %zu, bursts heard %llu; readings", sent, (unsigned long long)stats.bursts);
    for (size_t i = 0; i < BINS; i++)
        printf("%s %zu at >= %g", i ? "," : "", t.readings[i], edges[i]);
    printf("\n");
    fflush(stdout);
    return ok;
}

int main(int argc, char **argv)
{
    if (argc < 2) {
        fprintf(stderr, "usage: report_false_readings PROTOCOLS [MINUTES [SEED]]\n");
        return 64;
    }
    const double minutes = argc > 2 ? strtod(argv[2], NULL) : 2.0;
    const uint64_t seed = argc > 3 ? strtoull(argv[3], NULL, 10) : 1;
    wh_descriptor_set *set = wh_descriptor_set_create();
    const bool ok = set && wh_descriptor_set_load_folder(set, argv[1], NULL, NULL) == WH_OK &&
                    measure(set, minutes, false, seed) && measure(set, minutes, true, seed + 1);
    if (!ok)
        fprintf(stderr, "%s: no descriptors there, or no memory\n", argv[1]);
    wh_descriptor_set_destroy(&set);
    return ok ? 0 : 70;
}
