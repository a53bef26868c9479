#include "outlines.h"

#define NOISE 1e-4

/* Does every burst have exactly one outline, and are all others splinters of one? Tells which is which otherwise. */
static void assert_explained(const outlines *all, double rate_hz, const sent_burst *bursts, size_t count)
{
    size_t fitting = 0, strange = 0;
    for (size_t k = 0; k < all->count; k++) {
        size_t fits = 0, splinters = 0;
        for (size_t i = 0; i < count; i++)
            fits += outlines_fits(&all->item[k], &bursts[i], rate_hz);
        for (size_t m = 0; m < all->count && fits == 0; m++)
            for (size_t i = 0; i < count; i++)
                splinters += outlines_fits(&all->item[m], &bursts[i], rate_hz) &&
                             outlines_splinter(&all->item[k], &bursts[i], rate_hz, all->item[m].power);
        fitting += fits;
        strange += fits == 0 && splinters == 0;
    }
    if (fitting != count || strange > 0) {
        for (size_t i = 0; i < count; i++)
            print_message("sent: %.4f..%.4f s, %.1f kHz\n", bursts[i].start_s, bursts[i].start_s + bursts[i].length_s,
                          bursts[i].carrier_hz / 1e3);
        outlines_print(all, rate_hz);
    }
    assert_int_equal(fitting, count);
    assert_int_equal(strange, 0);
}

static const wh_outline *strongest(const outlines *all)
{
    const wh_outline *best = &all->item[0];
    for (size_t i = 1; i < all->count; i++)
        if (all->item[i].power > best->power)
            best = &all->item[i];
    return best;
}

/* One burst in half a second of noise, found alone and whole. */
static void one_burst(double rate_hz, const sent_burst *b)
{
    const size_t samples = (size_t)(0.5 * rate_hz);
    float *iq = air_silence(samples);
    air_noise(iq, samples, NOISE, 7);
    const double amplitude = outlines_add(iq, samples, rate_hz, NOISE, b);
    const wh_detector_config config = outlines_config(rate_hz);
    const outlines all = outlines_of(&config, iq, samples, 4096);
    free(iq);
    assert_explained(&all, rate_hz, b, 1);
    /* Levels: the noise's density, and the power of the whole burst (its skirts are left out, and its edges averaged in: in the mean
     * 4 ms lie in slots of 1.1 ms that add up to 5.1 ms, which is 1.1 dB). */
    const wh_outline *o = strongest(&all);
    assert_near(10.0 * log10(o->noise_density / (NOISE / rate_hz)), 0.0, 1.5);
    assert_near(10.0 * log10(o->power / (amplitude * amplitude)), 0.0, 2.2);
}

static const double rates[] = {250e3, 1024e3, 2400e3};

static void test_anywhere_in_the_band(void **state)
{
    (void)state;
    for (size_t r = 0; r < 3; r++) {
        const double edge = 0.5 * rates[r] - 45e3; /* tones 20 kHz off and their skirts just fit */
        for (int place = -4; place <= 4; place++) {
            const sent_burst b = {0.31, 10e-3, edge * place / 4.0, 20e3, 20e3, 15.0};
            one_burst(rates[r], &b);
        }
    }
}

static void test_anywhere_in_time(void **state)
{
    (void)state;
    for (int i = 0; i < 24; i++) {
        const sent_burst b = {0.02 + 0.019371 * i, 8e-3, 40e3, 30e3, 20e3, 18.0};
        one_burst(250e3, &b);
    }
}

static void test_lengths_and_strengths(void **state)
{
    (void)state;
    static const double lengths[] = {4e-3, 10e-3, 40e-3, 150e-3}, snrs[] = {10.0, 20.0, 40.0};
    for (size_t l = 0; l < 4; l++)
        for (size_t s = 0; s < 3; s++) {
            const sent_burst fsk = {0.3, lengths[l], -30e3, 40e3, 20e3, snrs[s]};
            one_burst(1024e3, &fsk);
        }
}

static outlines of_scene(double rate_hz, double seconds, const sent_burst *bursts, size_t count, double noise)
{
    const size_t samples = (size_t)(seconds * rate_hz);
    float *iq = air_silence(samples);
    air_noise(iq, samples, noise, 11);
    for (size_t i = 0; i < count; i++)
        outlines_add(iq, samples, rate_hz, noise > 0.0 ? noise : NOISE, &bursts[i]);
    const wh_detector_config config = outlines_config(rate_hz);
    const outlines all = outlines_of(&config, iq, samples, 4096);
    free(iq);
    return all;
}

static void assert_scene(double rate_hz, double seconds, const sent_burst *bursts, size_t count, double noise)
{
    const outlines all = of_scene(rate_hz, seconds, bursts, count, noise);
    assert_explained(&all, rate_hz, bursts, count);
}

static void test_two_at_once(void **state)
{
    (void)state;
    const sent_burst together[] = {{0.3, 10e-3, -600e3, 20e3, 20e3, 15.0}, {0.3, 10e-3, 600e3, 20e3, 20e3, 25.0}};
    assert_scene(2400e3, 0.5, together, 2, NOISE);
    const sent_burst overlapping[] = {{0.300, 12e-3, -200e3, 15e3, 10e3, 20.0},
                                      {0.306, 20e-3, 200e3, 15e3, 10e3, 20.0}};
    assert_scene(1024e3, 0.5, overlapping, 2, NOISE);
    const sent_burst within[] = {{0.300, 60e-3, -500e3, 40e3, 20e3, 20.0}, {0.320, 8e-3, 300e3, 40e3, 20e3, 15.0}};
    assert_scene(2400e3, 0.5, within, 2, NOISE);
}

/* Copies 20 ms apart stay apart. */
static void test_copies(void **state)
{
    (void)state;
    sent_burst copies[6];
    for (int i = 0; i < 6; i++)
        copies[i] = (sent_burst){0.05 + 0.031 * i, 11e-3, 25e3, 40e3, 20e3, 20.0};
    assert_scene(250e3, 0.5, copies, 6, NOISE);
    assert_scene(2400e3, 0.5, copies, 6, NOISE);
}

/* Keying with pauses is one burst when the pauses are as long as told, and the outline covers it. */
static void test_pauses(void **state)
{
    (void)state;
    const double rate = 250e3, pause_s = 5e-3;
    const size_t samples = (size_t)(0.6 * rate);
    float *iq = air_silence(samples);
    air_noise(iq, samples, NOISE, 3);
    for (int i = 0; i < 5; i++) /* five pulses of 3 ms, 4.5 ms of silence between them */
        air_tone(iq, (size_t)((0.3 + 7.5e-3 * i) * rate), (size_t)((0.303 + 7.5e-3 * i) * rate), rate, 33e3, 0.05);
    wh_detector_config config = outlines_config(rate);
    config.pause_s = pause_s;
    const outlines joined = outlines_of(&config, iq, samples, 4096);
    assert_int_equal(joined.count, 1);
    assert_near((double)joined.item[0].start / rate, 0.3 - 0.5 * GENEROUS_S, 0.5 * GENEROUS_S);
    assert_near((double)joined.item[0].end / rate, 0.333 + 0.5 * GENEROUS_S, 0.5 * GENEROUS_S);
    config.pause_s = 0.0;
    const outlines apart = outlines_of(&config, iq, samples, 4096);
    assert_true(apart.count >= 5); /* a weak edge may be told by itself */
    free(iq);
}

/* Bursts that the recording's start or end cuts, and recordings that are little more than the burst. */
static void test_ends_of_the_recording(void **state)
{
    (void)state;
    const double rate = 250e3;
    const sent_burst first = {0.0, 10e-3, 30e3, 20e3, 20e3, 20.0}, last = {0.5 - 10e-3, 10e-3, 30e3, 20e3, 20e3, 20.0};
    assert_scene(rate, 0.5, &first, 1, NOISE);
    assert_scene(rate, 0.5, &last, 1, NOISE);
    for (double around = 2e-3; around < 40e-3; around *= 2.0) {
        const sent_burst b = {around, 12e-3, 30e3, 20e3, 20e3, 20.0};
        assert_scene(rate, 12e-3 + 2.0 * around, &b, 1, NOISE);
    }
}

/* The recording is the burst, hard at both ends: there is no noise to compare with in time, but there is in the band. */
static void test_nothing_but_the_burst(void **state)
{
    (void)state;
    const sent_burst b = {0.0, 12e-3, 30e3, 20e3, 20e3, 20.0};
    const outlines all = of_scene(1024e3, 12e-3, &b, 1, NOISE);
    assert_true(all.count >= 1);
    assert_int_equal(all.item[0].start, 0);
    assert_true(all.item[0].end >= (uint64_t)(11e-3 * 1024e3));
    assert_true(all.item[0].end <= (uint64_t)(12e-3 * 1024e3));
}

/* Made recordings may hold no noise at all. */
static void test_without_noise(void **state)
{
    (void)state;
    for (size_t r = 0; r < 3; r++) {
        const sent_burst b = {0.2, 10e-3, 40e3, 20e3, 20e3, 20.0};
        const outlines all = of_scene(rates[r], 0.4, &b, 1, 0.0);
        bool found = false;
        for (size_t i = 0; i < all.count; i++) {
            const double start = (double)all.item[i].start / rates[r], end = (double)all.item[i].end / rates[r];
            found = found || (start <= 0.2 && start > 0.19 && end >= 0.21 && end < 0.22 &&
                              fabs(all.item[i].centre_hz - 40e3) < 40e3);
            assert_true(start > 0.18 && end < 0.24); /* nothing where nothing is */
            assert_true(isfinite(all.item[i].snr_db) && isfinite(all.item[i].noise_density) &&
                        isfinite(all.item[i].power));
        }
        if (!found)
            outlines_print(&all, rates[r]);
        assert_true(found);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_anywhere_in_the_band),
        cmocka_unit_test(test_anywhere_in_time),
        cmocka_unit_test(test_lengths_and_strengths),
        cmocka_unit_test(test_two_at_once),
        cmocka_unit_test(test_copies),
        cmocka_unit_test(test_pauses),
        cmocka_unit_test(test_ends_of_the_recording),
        cmocka_unit_test(test_nothing_but_the_burst),
        cmocka_unit_test(test_without_noise),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
