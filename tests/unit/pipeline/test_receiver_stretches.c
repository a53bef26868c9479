/* Several stretches, gaps, beginning again, and calls out of order. */
#include "yard_scene.h"

#include <string.h>

static wh_receiver *receiver_for(heard *h, unsigned threads)
{
    wh_receiver_config config;
    wh_receiver_config_defaults(&config);
    config.threads = threads;
    const wh_receiver_sink sink = heard_sink(h);
    wh_receiver *receiver = NULL;
    assert_int_equal(wh_receiver_create(&config, set, &sink, &receiver, NULL), WH_OK);
    return receiver;
}

/* One sensor at 0.1 s and one at 0.5 s of 0.7 s. */
static yard two_sensors(void)
{
    yard y = yard_create(0.7);
    const wh_descriptor *d = wh_descriptor_set_find(set, "demo-fsk-manchester");
    const wh_transmission one = {.start_s = 0.1, .gap_s = 0.05, .copies = 1, .carrier_hz = 12e3},
                          two = {.start_s = 0.5, .gap_s = 0.05, .copies = 1};
    yard_send(&y, d, "11111111", &one);
    yard_send(&y, d, "22222222", &two);
    yard_record(&y);
    return y;
}

/* 100000 samples (0.4 s) never came, in the pause: what follows is that much later, and nothing else changes. */
static void test_gap(void **state)
{
    (void)state;
    yard y = two_sensors();
    for (unsigned threads = 0; threads <= 2; threads += 2) {
        heard h = {0};
        wh_receiver *receiver = receiver_for(&h, threads);
        const wh_stream stream = yard_stream(&y);
        assert_int_equal(wh_receiver_begin(receiver, &stream, NULL), WH_OK);
        yard_push(&y, receiver, 0, 75000, 4096);
        assert_int_equal(wh_receiver_gap(receiver, 100000), WH_OK);
        yard_push(&y, receiver, 75000, y.spec.samples, 4096);
        assert_int_equal(wh_receiver_finish(receiver), WH_OK);
        assert_int_equal(h.readings, 2);
        assert_near(h.reading[0].offset_s, 0.1, 3e-4);
        assert_near(h.reading[1].offset_s, 0.9, 3e-4);
        assert_near((double)(h.reading[1].at_utc_us - 1700000000000000), 900000.0, 300.0);
        wh_receiver_stats stats;
        wh_receiver_get_stats(receiver, &stats);
        assert_int_equal(stats.samples, y.spec.samples);
        assert_int_equal(stats.samples_lost, 100000);
        /* Two more gaps in a row and one before anything else: they add up. */
        assert_int_equal(wh_receiver_begin(receiver, &stream, NULL), WH_OK);
        assert_int_equal(wh_receiver_gap(receiver, 25000), WH_OK);
        assert_int_equal(wh_receiver_gap(receiver, 0), WH_OK);
        assert_int_equal(wh_receiver_gap(receiver, 225000), WH_OK);
        yard_push(&y, receiver, 0, 75000, 4096);
        assert_int_equal(wh_receiver_finish(receiver), WH_OK);
        assert_int_equal(h.readings, 3);
        assert_near(h.reading[2].offset_s, 1.1, 3e-4);
        wh_receiver_destroy(&receiver);
        heard_free(&h);
    }
    yard_free(&y);
}

/* A gap inside a burst: its two pieces are two bursts and neither is read as if nothing were missing. */
static void test_gap_inside_a_burst(void **state)
{
    (void)state;
    yard y = two_sensors();
    heard h = {0};
    wh_receiver *receiver = receiver_for(&h, 0);
    const wh_stream stream = yard_stream(&y);
    assert_int_equal(wh_receiver_begin(receiver, &stream, NULL), WH_OK);
    const size_t middle = (size_t)(0.1075 * 250e3); /* after two thirds of the frame */
    yard_push(&y, receiver, 0, middle, 4096);
    assert_int_equal(wh_receiver_gap(receiver, 1000), WH_OK);
    yard_push(&y, receiver, middle + 1000, y.spec.samples, 4096);
    assert_int_equal(wh_receiver_finish(receiver), WH_OK);
    assert_int_equal(h.readings, 1);
    assert_string_equal(h.reading[0].sensor, "22222222");
    assert_near(h.reading[0].offset_s, 0.5, 3e-4);
    assert_true(h.bursts >= 2);
    wh_receiver_destroy(&receiver);
    heard_free(&h);
    yard_free(&y);
}

/* Begin, finish and begin again: the second pass tells the same, with its own times; bursts are numbered on. */
static void test_again(void **state)
{
    (void)state;
    yard y = two_sensors();
    heard h = {0};
    wh_receiver *receiver = receiver_for(&h, 1);
    for (int round = 0; round < 3; round++) {
        wh_stream stream = yard_stream(&y);
        stream.start_s = 10.0 * round;
        stream.start_utc_us += 10000000 * round;
        stream.centre_hz = 433.92e6 + 5e3 * round; /* each stretch has its own centre */
        assert_int_equal(wh_receiver_begin(receiver, &stream, NULL), WH_OK);
        yard_push(&y, receiver, 0, y.spec.samples, 10000);
        if (round == 1) { /* begin alone ends the stretch before as well */
            assert_int_equal(wh_receiver_finish(receiver), WH_OK);
            assert_int_equal(wh_receiver_finish(receiver), WH_OK);
        }
    }
    assert_int_equal(wh_receiver_finish(receiver), WH_OK);
    assert_int_equal(h.readings, 6);
    assert_int_equal(h.bursts % 3, 0);
    for (size_t i = 2; i < 6; i++) {
        const wh_reading *now = &h.reading[i], *first = &h.reading[i % 2];
        const double round = (double)(i / 2);
        assert_string_equal(now->sensor, first->sensor);
        assert_near(now->offset_s, first->offset_s + 10.0 * round, 1e-9);
        assert_near((double)(now->at_utc_us - first->at_utc_us), 1e7 * round, 1.5);
        assert_near(now->carrier_hz, first->carrier_hz + 5e3 * round, 1e-3);
        assert_near(now->confidence, first->confidence, 1e-12);
    }
    for (size_t i = 0; i < h.bursts; i++)
        assert_int_equal(h.burst[i].number, i);
    wh_receiver_stats stats;
    wh_receiver_get_stats(receiver, &stats);
    assert_int_equal(stats.samples, 3 * y.spec.samples);
    assert_near(stats.seconds, 2.1, 1e-9);
    wh_receiver_destroy(&receiver);
    heard_free(&h);
    yard_free(&y);
}

/* Stretches of different formats and rates through one receiver. */
static void test_other_formats(void **state)
{
    (void)state;
    heard h = {0};
    wh_receiver *receiver = receiver_for(&h, 0);
    static const double rates[] = {250e3, 1024e3, 225001.0, 900e3};
    for (int format = 0; format < WH_IQ_FORMAT_COUNT; format++) {
        yard y = yard_create(0.3);
        y.spec.format = (wh_iq_format)format;
        y.spec.sample_rate_hz = rates[format];
        y.spec.samples = (uint64_t)(0.3 * rates[format]);
        const wh_transmission t = {.start_s = 0.1, .gap_s = 0.05, .copies = 1, .amplitude = 0.3};
        yard_send(&y, wh_descriptor_set_find(set, "demo-fsk-manchester"), NULL, &t);
        yard_record(&y);
        const wh_stream stream = yard_stream(&y);
        assert_int_equal(wh_receiver_begin(receiver, &stream, NULL), WH_OK);
        yard_push(&y, receiver, 0, y.spec.samples, 10000);
        assert_int_equal(wh_receiver_finish(receiver), WH_OK);
        assert_int_equal(h.readings, format + 1);
        assert_string_equal(h.reading[format].sensor, "0A1B2C3D");
        assert_near(h.reading[format].offset_s, 0.1, 3e-4);
        yard_free(&y);
    }
    wh_receiver_destroy(&receiver);
    heard_free(&h);
}

/* Calls that make no sense are refused and do no harm. */
static void test_out_of_order(void **state)
{
    (void)state;
    heard h = {0};
    wh_receiver *receiver = receiver_for(&h, 2);
    const unsigned char samples[64] = {0};
    assert_int_equal(wh_receiver_push(receiver, samples, 1), WH_ERR_ARGUMENT);
    assert_int_equal(wh_receiver_gap(receiver, 5), WH_ERR_ARGUMENT);
    assert_int_equal(wh_receiver_finish(receiver), WH_OK);
    static const double rates[] = {0.0, -250e3, 1000.0, 224999.0, 3200001.0, 1e12, (double)NAN, (double)INFINITY};
    for (size_t i = 0; i < sizeof rates / sizeof rates[0]; i++) {
        const wh_stream stream = {.format = WH_IQ_CU8, .sample_rate_hz = rates[i]};
        wh_error error;
        assert_int_equal(wh_receiver_begin(receiver, &stream, &error), WH_ERR_UNSUPPORTED);
        assert_int_equal(error.status, WH_ERR_UNSUPPORTED);
        assert_true(error.what[0] && error.fix[0]);
        assert_int_equal(wh_receiver_push(receiver, samples, 1), WH_ERR_ARGUMENT);
    }
    const wh_stream good = {.format = WH_IQ_CU8, .sample_rate_hz = WH_SAMPLE_RATE_MIN_HZ};
    assert_int_equal(wh_receiver_begin(receiver, &good, NULL), WH_OK);
    assert_int_equal(wh_receiver_push(receiver, samples, 0), WH_OK);
    assert_int_equal(wh_receiver_push(receiver, samples, 32), WH_OK);
    wh_receiver_destroy(&receiver); /* in the middle of a stretch */
    assert_null(receiver);
    wh_receiver_destroy(&receiver);
    heard_free(&h);
}

/* Jobs in flight when the receiver goes: nothing leaks, nothing hangs. */
static void test_destroyed_at_work(void **state)
{
    (void)state;
    yard y = two_sensors();
    for (unsigned threads = 0; threads < 4; threads++) {
        heard h = {0};
        wh_receiver *receiver = receiver_for(&h, threads);
        const wh_stream stream = yard_stream(&y);
        assert_int_equal(wh_receiver_begin(receiver, &stream, NULL), WH_OK);
        yard_push(&y, receiver, 0, (size_t)(0.53 * 250e3), 100000);
        wh_receiver_destroy(&receiver);
        assert_true(h.readings <= 2);
        heard_free(&h);
    }
    yard_free(&y);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_gap),          cmocka_unit_test(test_gap_inside_a_burst),
        cmocka_unit_test(test_again),        cmocka_unit_test(test_other_formats),
        cmocka_unit_test(test_out_of_order), cmocka_unit_test(test_destroyed_at_work),
    };
    return cmocka_run_group_tests(tests, yard_load, yard_unload);
}
