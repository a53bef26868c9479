/* Of many kinds of radio the one that sent a burst is among the likeliest, and never far less like it than another. */
#include "demodulated.h"

#include "likeness.h"
#include "rng.h"

#define RADIOS 200
#define LOOKS  120 /* bursts a level */

static wh_radio radios[RADIOS];

/* Rates from 4 to 40 kchip/s, deviations from 15 to 60 kHz, evenly over their logarithms; one in four on-off keyed. */
static int draw_radios(void **state)
{
    (void)state;
    wh_rng rng;
    wh_rng_seed(&rng, 12);
    for (size_t i = 0; i < RADIOS; i++) {
        const bool keyed = i % 4 == 3;
        const double rate = (keyed ? 4e3 : 8e3) * pow(keyed ? 4.0 : 5.0, wh_rng_uniform(&rng));
        radios[i] = (wh_radio){.modulation = keyed ? WH_MOD_OOK : WH_MOD_FSK,
                               .chip_rate_hz = rate,
                               .rate_tolerance = 0.05,
                               .deviation_hz = keyed ? 0.0 : 15e3 * pow(4.0, wh_rng_uniform(&rng)),
                               .deviation_tolerance = keyed ? 0.0 : 0.25};
    }
    return 0;
}

typedef struct ranked {
    size_t before;   /* radios likelier than the burst's own */
    double own, top; /* likeness */
} ranked;

static ranked rank(const burst *b)
{
    size_t samples;
    float *iq = burst_air(b, 60.0, &samples);
    wh_fft *fft = wh_fft_create(WH_TONES_FFT, 1);
    wh_tone_map *map = calloc(1, sizeof *map);
    wh_likeness *likeness = wh_likeness_create();
    assert_true(fft && map && likeness);
    const wh_baseband baseband = {
        (const float complex *)(const void *)iq, samples, b->rate_hz, NOISE / b->rate_hz, burst_half_width(b), 0.0};
    assert_true(wh_tone_map_make(map, fft, &baseband));
    wh_likeness_begin(likeness, map, &baseband);
    ranked r = {.own = wh_likeness_of(likeness, &b->radio)};
    for (size_t i = 0; i < RADIOS; i++) {
        const double other = wh_likeness_of(likeness, &radios[i]);
        r.before += other > r.own;
        r.top = fmax(r.top, other);
    }
    wh_likeness_destroy(&likeness);
    wh_fft_destroy(&fft);
    free(map);
    free(iq);
    return r;
}

/* Random data in chips of both kinds in pairs, the same with a payload of one bit only, or chips at random. */
static burst burst_of(size_t own, double snr_db, uint64_t seed)
{
    burst b = {.radio = radios[own],
               .rate_hz = seed % 3 ? 400e3 : 250e3,
               .carrier_hz = 1e3 * ((double)(seed % 7) - 3.0),
               .rate_error = 0.045 * ((double)(seed % 5) - 2.0) / 2.0,
               .deviation_error = radios[own].deviation_hz > 0.0 ? 0.2 * ((double)(seed % 3) - 1.0) : 0.0,
               .snr_db = snr_db,
               .start = 45.3};
    burst_fill(&b, 220, seed);
    if (seed % 4 == 1)
        for (size_t i = 60; i < b.count; i++)
            b.chips[i] = i % 2;
    if (seed % 4 == 2)
        air_random_chips(b.chips, b.count, seed);
    return b;
}

/* Shares of the likeliest's likeness, and likenesses, below which the receiver does not try (pipeline/burst_work.c). */
#define UNLIKE      0.07
#define UNLIKE_MOST 6.0

/* From what just can be decoded on. Of 5600 bursts (LOOKS 800) the least share was 0.09, at 6 dB. */
static void test_own_radio_is_never_far_behind(void **state)
{
    (void)state;
    for (int snr = 6; snr <= 30; snr += snr < 12 ? 2 : 6)
        for (size_t i = 0; i < LOOKS; i++) {
            const burst b = burst_of((i * 37 + 11) % RADIOS, snr, 1000 * (uint64_t)snr + i);
            const ranked r = rank(&b);
            if (r.own < fmin(UNLIKE * r.top, UNLIKE_MOST))
                print_message("%d dB, burst %zu: %.1f of %.1f\n", snr, i, r.own, r.top);
            assert_true(r.own >= fmin(UNLIKE * r.top, UNLIKE_MOST));
        }
}

/* Of 200 radios one in twelve is on average among those that have to be tried first. */
static void test_own_radio_is_among_the_first(void **state)
{
    (void)state;
    for (int snr = 8; snr <= 20; snr += 4) {
        size_t late = 0;
        for (size_t i = 0; i < LOOKS; i++) {
            const burst b = burst_of((i * 53 + 7) % RADIOS, snr, 777 + 1000 * (uint64_t)snr + i);
            late += rank(&b).before >= RADIOS / 12;
        }
        assert_true(late <= LOOKS / 25);
    }
}

static void test_nothing_there(void **state)
{
    (void)state;
    const float complex silence[64] = {0};
    wh_fft *fft = wh_fft_create(WH_TONES_FFT, 1);
    wh_tone_map *map = calloc(1, sizeof *map);
    wh_likeness *likeness = wh_likeness_create();
    assert_true(fft && map && likeness);
    const wh_baseband baseband = {silence, 64, 400e3, 1e-9, 100e3, 0.0};
    assert_true(wh_tone_map_make(map, fft, &baseband));
    wh_likeness_begin(likeness, map, &baseband);
    for (size_t i = 0; i < RADIOS; i++)
        assert_true(wh_likeness_of(likeness, &radios[i]) == 0.0);
    wh_likeness_destroy(&likeness);
    assert_null(likeness);
    wh_fft_destroy(&fft);
    free(map);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_own_radio_is_never_far_behind),
        cmocka_unit_test(test_own_radio_is_among_the_first),
        cmocka_unit_test(test_nothing_there),
    };
    return cmocka_run_group_tests(tests, draw_radios, NULL);
}
