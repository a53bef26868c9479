/* Pulses go, chips stay. */
#include "pulses.h"

#include "../air.h"
#include "../near.h"

#include <string.h>

#define RATE    400e3
#define CHIP    20.0 /* samples: 20 kchip/s */
#define SAMPLES 4000
#define NOISE   1e-3

/* On or off for every chip of the burst, which fills the samples. */
static float *burst(bool keyed, uint64_t seed)
{
    uint8_t chips[SAMPLES / 20];
    float *iq = air_silence(SAMPLES);
    air_random_chips(chips, sizeof chips, seed);
    const air_keying keying = {.rate_hz = RATE,
                               .chip_rate_hz = RATE / CHIP,
                               .carrier_hz = 7e3,
                               .deviation_hz = keyed ? 0.0 : 40e3,
                               .amplitude = 0.1};
    air_keyed(iq, SAMPLES, &keying, chips, sizeof chips);
    air_noise(iq, SAMPLES, NOISE, seed);
    return iq;
}

static size_t blank(const float *iq, double longest, float complex *out)
{
    wh_pulse_map map = {0};
    const float complex *samples = (const float complex *)(const void *)iq;
    assert_true(wh_pulse_map_make(&map, samples, SAMPLES));
    const size_t count = wh_pulses_blank(&map, longest, samples, SAMPLES, out);
    wh_pulse_map_free(&map);
    return count;
}

/* Alone, a burst at 10 dB over the noise or keyed on and off loses next to nothing: four samples in ten thousand by chance. */
static void test_bursts_stay(void **state)
{
    (void)state;
    static float complex out[SAMPLES];
    for (int keyed = 0; keyed < 2; keyed++) {
        size_t all = 0;
        for (uint64_t seed = 1; seed <= 30; seed++) {
            float *iq = burst(keyed, seed);
            all += blank(iq, 0.5 * CHIP, out);
            free(iq);
        }
        assert_true(all < 30 * SAMPLES / 500);
    }
}

/* A pulse of 8 samples, 20 dB over the burst: three quarters of it go at least, and nothing but it and a sample beside. */
static void test_pulse_goes(void **state)
{
    (void)state;
    static float complex out[SAMPLES];
    for (int keyed = 0; keyed < 2; keyed++) {
        for (uint64_t seed = 1; seed <= 20; seed++) {
            float *iq = burst(keyed, seed);
            const size_t at = 500 + 131 * (size_t)seed;
            air_tone(iq, at, at + 8, RATE, 30e3, 1.0);
            assert_true(blank(iq, 0.5 * CHIP, out) >= 6);
            size_t gone = 0;
            for (size_t i = 0; i < SAMPLES; i++) {
                const bool inside = i + 3 >= at && i < at + 8 + 3;
                gone += out[i] == 0.0f && i >= at && i < at + 8;
                if (out[i] != 0.0f)
                    assert_memory_equal(&out[i], iq + 2 * i, sizeof out[i]); /* as it was */
                else
                    assert_true(inside || i < at - 100 || i > at + 100); /* chance strikes elsewhere */
            }
            assert_true(gone >= 6);
            free(iq);
        }
    }
}

/* What lasts a chip is no pulse, and half a chip of too few samples is none either. */
static void test_limits(void **state)
{
    (void)state;
    static float complex out[SAMPLES];
    float *iq = air_silence(SAMPLES);
    air_noise(iq, SAMPLES, NOISE, 3);
    air_tone(iq, 2000, 2000 + (size_t)CHIP, RATE, 30e3, 1.0);
    const bool any = blank(iq, 0.5 * CHIP, out) > 0;
    size_t gone = 0;
    for (size_t i = 2000; any && i < 2000 + (size_t)CHIP; i++)
        gone += out[i] == 0.0f;
    assert_int_equal(gone, 0);
    assert_int_equal(blank(iq, 7.9, out), 0);
    memset(iq, 0, 2 * SAMPLES * sizeof *iq);
    assert_int_equal(blank(iq, 0.5 * CHIP, out), 0);
    free(iq);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_bursts_stay),
        cmocka_unit_test(test_pulse_goes),
        cmocka_unit_test(test_limits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
