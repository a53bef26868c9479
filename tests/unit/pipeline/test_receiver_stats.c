/* Counting: what was told and what was counted agree, damaged samples are counted, everything not decoded has a reason. */
#include "yard_scene.h"

#include <string.h>

static yard some_sensors(void)
{
    yard y = yard_create(1.0);
    static const char *const kinds[] = {"demo-fsk-manchester", "demo-ook-manchester", "demo-fsk-nrz",
                                        "demo-fsk-biphase-mark"};
    for (int i = 0; i < 8; i++) {
        const wh_descriptor *d = wh_descriptor_set_find(set, kinds[i % 4]);
        const wh_transmission t = {.start_s = 0.02 + 0.11 * i,
                                   .gap_s = 0.03,
                                   .copies = 2,
                                   .carrier_hz = 8e3 * (i - 4),
                                   .amplitude = yard_amplitude(&y, d, i < 6 ? 20.0 : 4.0)};
        yard_send(&y, d, NULL, &t);
    }
    return y;
}

static void assert_adds_up(const heard *h, const wh_receiver_stats *stats)
{
    uint64_t reasons = 0, told[WH_REASON_COUNT] = {0};
    for (int i = 0; i < WH_REASON_COUNT; i++)
        reasons += stats->reasons[i];
    for (size_t i = 0; i < h->bursts; i++)
        told[h->burst[i].reason]++;
    assert_int_equal(stats->bursts, h->bursts);
    assert_int_equal(stats->bursts, reasons);
    assert_int_equal(stats->readings, h->readings);
    assert_int_equal(stats->bursts_decoded, stats->reasons[WH_REASON_DECODED]);
    for (int i = 0; i < WH_REASON_COUNT; i++)
        assert_int_equal(stats->reasons[i], told[i]);
}

static void test_adds_up(void **state)
{
    (void)state;
    yard y = some_sensors();
    yard_record(&y);
    for (unsigned threads = 0; threads <= 2; threads++) {
        heard h = {0};
        wh_receiver_stats stats;
        yard_run(&y, set, threads, 12345, &h, &stats);
        assert_adds_up(&h, &stats);
        assert_int_equal(stats.samples, y.spec.samples);
        assert_near(stats.seconds, 1.0, 1e-9);
        assert_int_equal(stats.samples_invalid, 0);
        assert_int_equal(stats.samples_lost, 0);
        assert_true(stats.readings >= 5);
        assert_true(stats.bursts_decoded >= 8);
        heard_free(&h);
    }
    yard_free(&y);
}

/* Without descriptors bursts are heard all the same and say why they stay bursts. */
static void test_no_descriptors(void **state)
{
    (void)state;
    yard y = some_sensors();
    yard_record(&y);
    wh_descriptor_set *none = wh_descriptor_set_create();
    heard h = {0};
    wh_receiver_stats stats;
    yard_run(&y, none, 0, 12345, &h, &stats);
    assert_adds_up(&h, &stats);
    assert_int_equal(stats.readings, 0);
    assert_true(stats.bursts >= 8);
    for (size_t i = 0; i < h.bursts; i++) {
        assert_int_equal(h.burst[i].stage, WH_STAGE_DETECT);
        assert_true(h.burst[i].reason == WH_REASON_NO_DESCRIPTOR || h.burst[i].reason == WH_REASON_STEADY_CARRIER);
        assert_string_equal(h.burst[i].descriptor, "");
    }
    heard_free(&h);
    wh_descriptor_set_destroy(&none);
    yard_free(&y);
}

static void run_with(const yard *y, const wh_receiver_config *config, heard *h, wh_receiver_stats *stats)
{
    const wh_receiver_sink sink = heard_sink(h);
    wh_receiver *receiver = NULL;
    assert_int_equal(wh_receiver_create(config, set, &sink, &receiver, NULL), WH_OK);
    const wh_stream stream = yard_stream(y);
    assert_int_equal(wh_receiver_begin(receiver, &stream, NULL), WH_OK);
    yard_push(y, receiver, 0, y->spec.samples, 5000);
    assert_int_equal(wh_receiver_finish(receiver), WH_OK);
    wh_receiver_get_stats(receiver, stats);
    wh_receiver_destroy(&receiver);
}

/* What is too unsure to be reported is counted; with nothing asked for, everything is told. */
static void test_report_minimum(void **state)
{
    (void)state;
    yard y = some_sensors();
    yard_record(&y);
    wh_receiver_config config;
    wh_receiver_config_defaults(&config);
    uint64_t all = 0;
    for (config.report_minimum = 0.0; config.report_minimum <= 1.0; config.report_minimum += 0.25) {
        heard h = {0};
        wh_receiver_stats stats;
        run_with(&y, &config, &h, &stats);
        assert_adds_up(&h, &stats);
        for (size_t i = 0; i < h.readings; i++)
            assert_true(h.reading[i].confidence >= config.report_minimum);
        if (config.report_minimum == 0.0) {
            all = stats.readings;
            assert_int_equal(stats.readings_weak, 0);
        }
        assert_int_equal(stats.readings + stats.readings_weak, all);
        assert_int_equal(h.attempts, 0); /* told only when asked for */
        heard_free(&h);
    }
    yard_free(&y);
}

/* Samples that are no numbers are counted, taken as 0, and cost nothing but themselves. */
static void test_not_a_number(void **state)
{
    (void)state;
    yard y = yard_create(0.5);
    y.spec.format = WH_IQ_CF32;
    const wh_transmission t = {.start_s = 0.1, .gap_s = 0.05, .copies = 2};
    yard_send(&y, wh_descriptor_set_find(set, "demo-fsk-manchester"), NULL, &t);
    yard_record(&y);
    float *iq = (float *)(void *)y.samples;
    static const float bad[] = {NAN, INFINITY, -INFINITY, 1e30f};
    size_t spoilt = 0;
    for (size_t i = 100; i < y.spec.samples; i += 997, spoilt++)
        iq[2 * i + spoilt % 2] = bad[spoilt % 4];
    heard h = {0};
    wh_receiver_stats stats;
    yard_run(&y, set, 1, 4096, &h, &stats);
    assert_int_equal(stats.samples_invalid, spoilt);
    assert_int_equal(h.readings, 1);
    assert_string_equal(h.reading[0].sensor, "0A1B2C3D");
    assert_true(h.reading[0].copies >= 1);
    assert_adds_up(&h, &stats);
    heard_free(&h);
    for (size_t i = 0; i < 2 * y.spec.samples; i++)
        iq[i] = NAN;
    yard_run(&y, set, 0, 4096, &h, &stats);
    assert_int_equal(stats.samples_invalid, y.spec.samples);
    assert_int_equal(h.readings, 0);
    heard_free(&h);
    yard_free(&y);
}

/* Bytes at either end of their range are at full scale: here one sample in ten. */
static void test_clipping(void **state)
{
    (void)state;
    yard y = yard_create(0.1);
    yard_record(&y);
    for (size_t i = 0; i < y.spec.samples; i += 10)
        y.samples[2 * i + i / 10 % 2] = i / 20 % 2 ? 0 : 255;
    heard h = {0};
    wh_receiver_stats stats;
    yard_run(&y, set, 0, 4096, &h, &stats);
    assert_int_equal(stats.clipped_samples, y.spec.samples / 10);
    heard_free(&h);
    yard_free(&y);
}

/* A carrier that is switched on and stays is no sensor, and is called what it is. */
static void test_steady_carrier(void **state)
{
    (void)state;
    yard y = yard_create(3.0);
    yard_record(&y);
    for (size_t i = (size_t)(1.0 * 250e3); i < y.spec.samples; i++) {
        const double angle = fmod(0.9 * (double)i, 2.0 * M_PI);
        y.samples[2 * i] = (unsigned char)(y.samples[2 * i] + lround(20.0 * cos(angle)));
        y.samples[2 * i + 1] = (unsigned char)(y.samples[2 * i + 1] + lround(20.0 * sin(angle)));
    }
    heard h = {0};
    wh_receiver_stats stats;
    yard_run(&y, set, 0, 4096, &h, &stats);
    assert_int_equal(h.readings, 0);
    assert_true(stats.reasons[WH_REASON_STEADY_CARRIER] >= 1);
    assert_true(stats.bursts <= 6); /* its onset may splinter; after that the floor knows it */
    assert_adds_up(&h, &stats);
    heard_free(&h);
    yard_free(&y);
}

/* Tones at three places, each on for 4 ms of every 16, in turn: 190 bursts a second. Some are left out, they are told as such, and
 * which is the same whatever the blocks and threads. */
static void test_storm(void **state)
{
    (void)state;
    yard y = yard_create(2.5);
    yard_record(&y);
    for (size_t i = (size_t)(0.5 * 250e3); i < y.spec.samples; i++)
        for (unsigned k = 0; k < 3; k++) {
            const double angle = fmod((0.4 + 0.9 * k) * (double)i, 2.0 * M_PI);
            const double level = (i + k * 1333) % 4000 < 1000 ? 8.0 + 4.0 * k : 0.0;
            y.samples[2 * i] = (unsigned char)(y.samples[2 * i] + lround(level * cos(angle)));
            y.samples[2 * i + 1] = (unsigned char)(y.samples[2 * i + 1] + lround(level * sin(angle)));
        }
    heard h = {0}, other = {0};
    wh_receiver_stats stats, again;
    yard_run(&y, set, 0, 4096, &h, &stats);
    yard_run(&y, set, 2, 1111, &other, &again);
    assert_true(stats.reasons[WH_REASON_BURST_STORM] >= 10);
    assert_memory_equal(stats.reasons, again.reasons, sizeof stats.reasons);
    assert_adds_up(&h, &stats);
    heard_free(&h);
    heard_free(&other);
    yard_free(&y);
}

static void test_configuration(void **state)
{
    (void)state;
    wh_receiver_config config;
    wh_receiver_config_defaults(&config);
    assert_int_equal(config.threads, 0);
    assert_near(config.site.kpa, 101.325, 1e-12);
    assert_near(config.report_minimum, 0.5, 0.0);
    assert_false(config.explain);
    const wh_receiver_sink nobody = {0};
    static const double sites[] = {49.9, 110.1, 0.0, -1.0, (double)NAN}, minima[] = {-0.01, 1.01, (double)NAN};
    for (size_t i = 0; i < 5 + 3; i++) {
        wh_receiver_config bad = config;
        if (i < 5)
            bad.site.kpa = sites[i];
        else
            bad.report_minimum = minima[i - 5];
        wh_receiver *receiver = NULL;
        wh_error error;
        assert_int_equal(wh_receiver_create(&bad, set, &nobody, &receiver, &error), WH_ERR_ARGUMENT);
        assert_null(receiver);
        assert_true(error.what[0] && error.fix[0]);
    }
    /* Nobody need listen. */
    yard y = some_sensors();
    yard_record(&y);
    wh_receiver *receiver = NULL;
    assert_int_equal(wh_receiver_create(&config, set, &nobody, &receiver, NULL), WH_OK);
    const wh_stream stream = yard_stream(&y);
    assert_int_equal(wh_receiver_begin(receiver, &stream, NULL), WH_OK);
    yard_push(&y, receiver, 0, y.spec.samples, y.spec.samples);
    assert_int_equal(wh_receiver_finish(receiver), WH_OK);
    wh_receiver_stats stats;
    wh_receiver_get_stats(receiver, &stats);
    assert_true(stats.readings >= 5);
    wh_receiver_destroy(&receiver);
    yard_free(&y);
}

/* The sensor measures absolute pressure: on a mountain its gauge pressure is higher by what the air
 * weighs less. */
static void test_site(void **state)
{
    (void)state;
    yard y = yard_create(0.3);
    const wh_transmission t = {.start_s = 0.1, .gap_s = 0.05, .copies = 1};
    yard_send(&y, wh_descriptor_set_find(set, "demo-fsk-manchester"), NULL, &t);
    yard_record(&y);
    wh_receiver_config config;
    wh_receiver_config_defaults(&config);
    double gauge[2];
    for (int high = 0; high < 2; high++) {
        config.site.kpa = high ? 84.307 : 101.325; /* 1524 m in the US Standard Atmosphere 1976 */
        heard h = {0};
        wh_receiver_stats stats;
        run_with(&y, &config, &h, &stats);
        assert_int_equal(h.readings, 1);
        assert_true(h.reading[0].from_absolute);
        assert_near(h.reading[0].absolute.kpa - h.reading[0].pressure.kpa, config.site.kpa, 1e-9);
        gauge[high] = h.reading[0].pressure.kpa;
        heard_free(&h);
    }
    assert_near(gauge[1] - gauge[0], 101.325 - 84.307, 1e-9);
    yard_free(&y);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_adds_up),        cmocka_unit_test(test_no_descriptors),
        cmocka_unit_test(test_report_minimum), cmocka_unit_test(test_not_a_number),
        cmocka_unit_test(test_clipping),       cmocka_unit_test(test_steady_carrier),
        cmocka_unit_test(test_storm),          cmocka_unit_test(test_configuration),
        cmocka_unit_test(test_site),
    };
    return cmocka_run_group_tests(tests, yard_load, yard_unload);
}
