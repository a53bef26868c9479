#include "burst_shape.h"

#include "../air.h"
#include "../near.h"

#include <string.h>

#define RATE    400e3
#define SAMPLES 60000
#define NOISE   1e-4

/* The shape of random Manchester chips (or any others) with noise around. */
static wh_burst_shape shape_of(double chip_rate_hz, double deviation_hz, double snr_db, size_t chip_count)
{
    float *iq = air_silence(SAMPLES);
    air_noise(iq, SAMPLES, NOISE, 5);
    uint8_t chips[2000];
    air_random_chips(chips, chip_count / 2, (uint64_t)chip_rate_hz);
    for (size_t i = chip_count / 2; i-- > 0;) {
        chips[2 * i] = chips[i];
        chips[2 * i + 1] = !chips[2 * i];
    }
    const air_keying keying = {RATE, chip_rate_hz, 2000.0,
                               3e3,  deviation_hz, air_amplitude(snr_db, chip_rate_hz, NOISE, RATE)};
    air_keyed(iq, SAMPLES, &keying, chips, chip_count);
    const wh_baseband baseband = {(const float complex *)(const void *)iq, SAMPLES, RATE, NOISE / RATE,
                                  deviation_hz + 1.5 * chip_rate_hz + 2e3, 0.0};
    wh_shape_finder *finder = wh_shape_finder_create();
    assert_non_null(finder);
    wh_burst_shape shape;
    assert_true(wh_shape_find(finder, &baseband, &shape));
    wh_shape_finder_destroy(&finder);
    assert_null(finder);
    free(iq);
    return shape;
}

static void test_tells_two_tones(void **state)
{
    (void)state;
    const double rates[] = {5e3, 9.6e3, 20e3, 38.4e3, 50e3};
    for (size_t i = 0; i < sizeof rates / sizeof rates[0]; i++) {
        const wh_burst_shape shape = shape_of(rates[i], 40e3, 23.0, 200);
        assert_true(shape.found);
        assert_int_equal(shape.modulation, WH_MOD_FSK);
        assert_near(1.0 / shape.grid.chip, rates[i], 0.005 * rates[i]);
        assert_near(shape.deviation_hz, 40e3, 3e3);
        assert_near(shape.carrier_hz, 3e3, 2e3);
        assert_int_equal(shape.zero_run, 2);
    }
}

static void test_tells_on_off_keying(void **state)
{
    (void)state;
    const double rates[] = {1.5e3, 4e3, 10e3, 20e3, 40e3};
    for (size_t i = 0; i < sizeof rates / sizeof rates[0]; i++) {
        const wh_burst_shape shape = shape_of(rates[i], 0.0, 23.0, 180);
        assert_true(shape.found);
        assert_int_equal(shape.modulation, WH_MOD_OOK);
        assert_near(1.0 / shape.grid.chip, rates[i], 0.005 * rates[i]);
        assert_near(shape.carrier_hz, 3e3, 0.2 * rates[i] + 500.0);
        assert_int_equal(shape.zero_run, 2);
    }
}

static void test_invents_nothing(void **state)
{
    (void)state;
    assert_false(shape_of(20e3, 40e3, -20.0, 200).found); /* noise */
    assert_false(shape_of(20e3, 40e3, 23.0, 8).found);    /* too short */
    /* A bare carrier. */
    float *iq = air_silence(SAMPLES);
    air_noise(iq, SAMPLES, NOISE, 6);
    air_tone(iq, 0, SAMPLES, RATE, 12e3, 0.1);
    const wh_baseband baseband = {(const float complex *)(const void *)iq, SAMPLES, RATE, NOISE / RATE, 20e3, 0.0};
    wh_shape_finder *finder = wh_shape_finder_create();
    wh_burst_shape shape;
    assert_true(wh_shape_find(finder, &baseband, &shape));
    assert_false(shape.found);
    /* Nothing at all, and next to nothing. */
    memset(iq, 0, 2 * SAMPLES * sizeof *iq);
    assert_true(wh_shape_find(finder, &baseband, &shape));
    assert_false(shape.found);
    const wh_baseband tiny = {(const float complex *)(const void *)iq, 5, RATE, 0.0, 0.0, 0.0};
    assert_true(wh_shape_find(finder, &tiny, &shape));
    assert_false(shape.found);
    wh_shape_finder_destroy(&finder);
    free(iq);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_tells_two_tones),
        cmocka_unit_test(test_tells_on_off_keying),
        cmocka_unit_test(test_invents_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
