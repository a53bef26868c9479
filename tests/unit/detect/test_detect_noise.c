/* What is not a burst: noise, the spike at 0 Hz, carriers, a band that grows louder. */
#include "outlines.h"

#define NOISE 1e-4

/* Alarms in `seconds` of white noise when `rate_per_s` are allowed. */
static size_t alarms(double sample_rate_hz, double seconds, double rate_per_s, double noise)
{
    outlines all = {0};
    wh_detector_config config = outlines_config(sample_rate_hz);
    config.false_alarms_per_s = rate_per_s;
    wh_detector *detector = wh_detector_create(&config, outlines_take, &all);
    assert_non_null(detector);
    const size_t block = 1 << 16;
    float *iq = malloc(2 * block * sizeof *iq);
    uint64_t seed = 100;
    for (double left = seconds * sample_rate_hz; left > 0.0; left -= (double)block) {
        memset(iq, 0, 2 * block * sizeof *iq);
        air_noise(iq, block, noise, seed++);
        wh_detector_push(detector, iq, block);
    }
    wh_detector_finish(detector);
    wh_detector_destroy(&detector);
    free(iq);
    return all.count;
}

/* Poisson: beyond mean + 4 sqrt(mean) + 3 with less than 1e-4. The stated rate is a bound: tests overlap. */
static void assert_rate(double sample_rate_hz, double seconds, double rate_per_s, double noise)
{
    const double mean = seconds * (rate_per_s > 0.0 ? rate_per_s : 1.0 / 60.0);
    const size_t count = alarms(sample_rate_hz, seconds, rate_per_s, noise);
    if ((double)count > mean + 4.0 * sqrt(mean) + 3.0)
        print_error("%zu alarms in %.0f s at %.0f S/s, %.1f allowed\n", count, seconds, sample_rate_hz, mean);
    assert_true((double)count <= mean + 4.0 * sqrt(mean) + 3.0);
}

static void test_false_alarms(void **state)
{
    (void)state;
    assert_rate(250e3, 30.0, 0.0, NOISE); /* as people run it */
    assert_rate(2400e3, 4.0, 0.0, NOISE);
    assert_rate(250e3, 15.0, 2.0, NOISE); /* as often as the formula can be seen to hold */
    assert_rate(2400e3, 3.0, 5.0, NOISE);
    assert_rate(250e3, 10.0, 0.0, 1e-9); /* very quiet and very loud recordings alike */
    assert_rate(250e3, 10.0, 0.0, 1.0);
}

/* A recording of a few slots knows its floor badly: still nearly none of them, of noise alone, holds a burst. */
static void test_short_recordings(void **state)
{
    (void)state;
    for (size_t ms = 4; ms <= 128; ms *= 2) {
        size_t with = 0;
        for (uint64_t seed = 0; seed < 200; seed++) {
            const size_t samples = (size_t)(1e-3 * (double)ms * 250e3);
            float *iq = air_silence(samples);
            air_noise(iq, samples, NOISE, 1000 * ms + seed);
            const wh_detector_config config = outlines_config(250e3);
            const outlines all = outlines_of(&config, iq, samples, 4096);
            with += all.count > 0;
            free(iq);
        }
        if (with > 10)
            print_error("%zu of 200 recordings of %zu ms hold a burst\n", with, ms);
        assert_true(with <= 10);
    }
}

/* More alarms are allowed, more come: the threshold does follow the rate. */
static void test_threshold_follows_the_rate(void **state)
{
    (void)state;
    assert_true(alarms(250e3, 10.0, 30.0, NOISE) > alarms(250e3, 10.0, 0.01, NOISE));
}

/* A constant at 0 Hz and carriers, there from the first to the last sample. */
static void test_steady_from_the_start(void **state)
{
    (void)state;
    const double rate = 250e3;
    for (double seconds = 0.2; seconds < 4.0; seconds *= 4.0) {
        const size_t samples = (size_t)(seconds * rate);
        float *iq = air_silence(samples);
        air_noise(iq, samples, NOISE, 31);
        air_tone(iq, 0, samples, rate, 0.0, 0.05);
        air_tone(iq, 0, samples, rate, 61e3, 0.1);
        air_tone(iq, 0, samples, rate, -90.1e3, 0.01);
        const wh_detector_config config = outlines_config(rate);
        const outlines all = outlines_of(&config, iq, samples, 4096);
        if (outlines_whole(&all) > 0)
            outlines_print(&all, rate);
        assert_int_equal(outlines_whole(&all), 0);
        free(iq);
    }
}

/* A carrier switched on is told once per length at most, as cut, and no more once the floor has risen to it. A burst beside it
 * is found all the same, and one on top of it that is much louder. */
static void test_carrier_switched_on(void **state)
{
    (void)state;
    const double rate = 250e3;
    const size_t samples = (size_t)(3.0 * rate);
    float *iq = air_silence(samples);
    air_noise(iq, samples, NOISE, 32);
    air_tone(iq, (size_t)(0.6 * rate), samples, rate, 50e3, 0.05);
    const sent_burst beside = {1.9, 10e-3, -50e3, 15e3, 20e3, 20.0}, later = {2.5, 10e-3, -50e3, 15e3, 20e3, 20.0};
    outlines_add(iq, samples, rate, NOISE, &beside);
    outlines_add(iq, samples, rate, NOISE, &later);
    const wh_detector_config config = outlines_config(rate);
    const outlines all = outlines_of(&config, iq, samples, 4096);
    size_t found = 0, cut = 0;
    for (size_t i = 0; i < all.count; i++) {
        found += outlines_fits(&all.item[i], &beside, rate) || outlines_fits(&all.item[i], &later, rate);
        cut += all.item[i].cut;
        if (all.item[i].cut) {
            assert_near((double)all.item[i].start / rate, 0.6, 0.02);
            assert_near(all.item[i].centre_hz, 50e3, 8e3);
            assert_true((double)(all.item[i].end - all.item[i].start) / rate < 0.35 + 0.05);
        }
    }
    if (found != 2 || cut != 1)
        outlines_print(&all, rate);
    assert_int_equal(found, 2);
    assert_int_equal(cut, 1);
    free(iq);
}

/* The noise rises tenfold and stays: whatever is told of that is over after a second, and bursts are found again. When it
 * falls, nothing is told at all. */
static void test_noise_step(void **state)
{
    (void)state;
    const double rate = 250e3;
    for (int up = 0; up < 2; up++) {
        const size_t samples = (size_t)(3.0 * rate), step = (size_t)(1.0 * rate);
        float *iq = air_silence(samples);
        air_noise(iq, step, up ? NOISE : 10.0 * NOISE, 33);
        air_noise(iq + 2 * step, samples - step, up ? 10.0 * NOISE : NOISE, 34);
        const double now = up ? 10.0 * NOISE : NOISE;
        const sent_burst b = {2.4, 10e-3, 40e3, 20e3, 20e3, 15.0};
        outlines_add(iq, samples, rate, now, &b);
        const wh_detector_config config = outlines_config(rate);
        const outlines all = outlines_of(&config, iq, samples, 4096);
        size_t found = 0, others = 0;
        for (size_t i = 0; i < all.count; i++) {
            const double start = (double)all.item[i].start / rate;
            if (outlines_fits(&all.item[i], &b, rate))
                found++;
            else if (!up || start < 0.98 || start > 2.0)
                others++;
        }
        if (found != 1 || others > 0)
            outlines_print(&all, rate);
        assert_int_equal(found, 1);
        assert_int_equal(others, 0);
        free(iq);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_false_alarms),        cmocka_unit_test(test_threshold_follows_the_rate),
        cmocka_unit_test(test_short_recordings),    cmocka_unit_test(test_steady_from_the_start),
        cmocka_unit_test(test_carrier_switched_on), cmocka_unit_test(test_noise_step),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
