/* What holds whatever is heard: block sizes, beginning anew, and how far back the samples must be kept. */
#include "outlines.h"

#define NOISE   1e-4
#define RATE    250e3
#define SAMPLES ((size_t)(1.2 * RATE))

/* Bursts, weak and strong, one across another, one cut by the end, and a carrier that comes on. */
static float *scene(void)
{
    float *iq = air_silence(SAMPLES);
    air_noise(iq, SAMPLES, NOISE, 51);
    const sent_burst bursts[] = {{0.0, 8e-3, -40e3, 20e3, 20e3, 25.0}, {0.1, 10e-3, 30e3, 20e3, 20e3, 3.0},
                                 {0.2, 30e-3, 50e3, 20e3, 10e3, 12.0}, {0.21, 8e-3, -60e3, 20e3, 20e3, 30.0},
                                 {0.5, 20e-3, 0.0, 40e3, 20e3, 5.0},   {1.195, 10e-3, 10e3, 20e3, 20e3, 20.0}};
    for (size_t i = 0; i < sizeof bursts / sizeof bursts[0]; i++)
        outlines_add(iq, SAMPLES, RATE, NOISE, &bursts[i]);
    air_tone(iq, (size_t)(0.7 * RATE), SAMPLES, RATE, 80e3, 0.02);
    return iq;
}

static void assert_same(const outlines *a, const outlines *b)
{
    assert_int_equal(a->count, b->count);
    for (size_t i = 0; i < a->count; i++) {
        const wh_outline *x = &a->item[i], *y = &b->item[i];
        assert_int_equal(x->start, y->start);
        assert_int_equal(x->end, y->end);
        assert_int_equal(x->cut, y->cut);
        assert_memory_equal(&x->centre_hz, &y->centre_hz, sizeof x->centre_hz);
        assert_memory_equal(&x->width_hz, &y->width_hz, sizeof x->width_hz);
        assert_memory_equal(&x->snr_db, &y->snr_db, sizeof x->snr_db);
        assert_memory_equal(&x->noise_density, &y->noise_density, sizeof x->noise_density);
        assert_memory_equal(&x->power, &y->power, sizeof x->power);
    }
}

static void test_block_sizes(void **state)
{
    (void)state;
    float *iq = scene();
    const wh_detector_config config = outlines_config(RATE);
    const outlines whole = outlines_of(&config, iq, SAMPLES, SAMPLES);
    assert_true(whole.count >= 5);
    static const size_t blocks[] = {1, 7, 255, 256, 257, 4096, 100000};
    for (size_t b = 0; b < sizeof blocks / sizeof blocks[0]; b++) {
        const outlines parts = outlines_of(&config, iq, SAMPLES, blocks[b]);
        assert_same(&whole, &parts);
    }
    free(iq);
}

/* After finish() the detector is as new: the same samples give the same outlines, counted from 0 again. */
static void test_finish_resets(void **state)
{
    (void)state;
    float *iq = scene();
    const wh_detector_config config = outlines_config(RATE);
    const outlines once = outlines_of(&config, iq, SAMPLES, 4096);
    outlines again = {0};
    wh_detector *detector = wh_detector_create(&config, outlines_take, &again);
    wh_detector_finish(detector); /* nothing pushed: nothing told */
    assert_int_equal(again.count, 0);
    float *loud = air_silence(40000);
    air_noise(loud, 40000, 1.0, 5); /* another level, and an end in the middle of a slot */
    outlines_push(detector, loud, 33333, 1000);
    free(loud);
    for (int round = 0; round < 2; round++) {
        again.count = 0;
        outlines_push(detector, iq, SAMPLES, 999);
        assert_same(&once, &again);
    }
    wh_detector_destroy(&detector);
    free(iq);
}

typedef struct watch {
    wh_detector *detector;
    uint64_t horizon, pushed;
    size_t outlines;
} watch;

static void watch_outline(void *context, const wh_outline *outline)
{
    watch *w = context;
    assert_true(outline->start >= w->horizon);
    assert_true(outline->start < outline->end);
    assert_true(outline->end <= w->pushed);
    w->outlines++;
}

/* Nothing before any horizon that was told is asked for, and it is never further behind than the reach. */
static void test_horizon(void **state)
{
    (void)state;
    float *iq = scene();
    static const size_t blocks[] = {100, 1024, 7777};
    for (size_t b = 0; b < 3; b++) {
        const wh_detector_config config = outlines_config(RATE);
        watch w = {0};
        w.detector = wh_detector_create(&config, watch_outline, &w);
        const size_t reach = wh_detector_reach(w.detector);
        for (size_t at = 0; at < SAMPLES; at += blocks[b]) {
            const size_t count = at + blocks[b] < SAMPLES ? blocks[b] : SAMPLES - at;
            w.pushed += count;
            wh_detector_push(w.detector, iq + 2 * at, count);
            const uint64_t horizon = wh_detector_horizon(w.detector);
            assert_true(horizon <= w.pushed);
            assert_true(w.pushed - horizon <= reach + blocks[b]);
            w.horizon = horizon > w.horizon ? horizon : w.horizon;
        }
        assert_true(w.horizon > SAMPLES / 2); /* it does go on */
        wh_detector_finish(w.detector);
        assert_true(w.outlines >= 5);
        assert_int_equal(wh_detector_dropped(w.detector), 0);
        wh_detector_destroy(&w.detector);
    }
    free(iq);
}

/* A comb of tones keyed at random, more than can be followed: the surplus is counted, and the detector lives. */
static void test_too_many(void **state)
{
    (void)state;
    const double rate = 2400e3;
    const size_t samples = (size_t)(0.6 * rate);
    float *iq = air_silence(samples);
    air_noise(iq, samples, NOISE, 61);
    wh_rng rng;
    wh_rng_seed(&rng, 62);
    for (int i = 0; i < 400; i++) {
        const size_t from = (size_t)((0.3 + 0.2 * wh_rng_uniform(&rng)) * rate);
        air_tone(iq, from, from + (size_t)(0.02 * rate), rate, (wh_rng_uniform(&rng) - 0.5) * 2.3e6, 0.02);
    }
    const wh_detector_config config = outlines_config(rate);
    const outlines all = outlines_of(&config, iq, samples, 4096);
    assert_true(all.count > 20);
    for (size_t i = 0; i < all.count; i++)
        assert_true((double)all.item[i].start / rate > 0.28 && (double)all.item[i].end / rate < 0.56);
    free(iq);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_block_sizes),
        cmocka_unit_test(test_finish_resets),
        cmocka_unit_test(test_horizon),
        cmocka_unit_test(test_too_many),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
