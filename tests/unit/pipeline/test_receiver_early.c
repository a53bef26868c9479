/* Somebody stands at a tire and waits: the first copy is told at once, the last word when no further copy can come. In signal time, as
 * pushed; what the machine takes to compute is a matter of the benchmarks. */
#include "yard_scene.h"

#include <string.h>

#define SOON_S  0.150 /* after the burst's end */
#define BLOCK_S 0.004 /* of samples at a time */

static size_t block(const yard *y)
{
    return (size_t)(BLOCK_S * y->spec.sample_rate_hz);
}

/* Every shipped kind, three copies 60 ms apart. */
static void test_first_copy_at_once(void **state)
{
    (void)state;
    for (size_t i = 0; i < wh_descriptor_set_count(set); i++) {
        const wh_descriptor *d = wh_descriptor_set_at(set, i);
        yard y = yard_create(1.3);
        y.spec.centre_hz = d->carriers_hz[0];
        const wh_transmission t = {
            .start_s = 0.35, .gap_s = 0.06, .copies = 3, .amplitude = yard_amplitude(&y, d, 20.0)};
        yard_send(&y, d, NULL, &t);
        size_t bursts;
        const wh_recording_burst *sent = wh_scene_bursts(y.scene, &bursts);
        assert_int_equal(bursts, 3);
        double start_s, end_s;
        wh_wave_span(sent[0].wave, &start_s, &end_s);
        yard_record(&y);
        heard h = {0};
        yard_run(&y, set, 0, block(&y), &h, NULL);
        assert_int_equal(h.earlies, 1);
        assert_int_equal(h.readings, 1);
        assert_string_equal(h.early[0].sensor, h.reading[0].sensor);
        assert_string_equal(h.early[0].descriptor, h.reading[0].descriptor);
        assert_int_equal(h.early[0].copies, 1);
        assert_int_equal(h.reading[0].copies, 3);
        assert_near(h.early[0].offset_s, t.start_s, 2e-3);
        assert_true(h.early_pushed_s[0] > end_s && h.early_pushed_s[0] < end_s + SOON_S);
        print_message("%-32s told %.0f ms after the first copy's end\n", wh_descriptor_name(d),
                      1e3 * (h.early_pushed_s[0] - end_s));
        heard_free(&h);
        yard_free(&y);
    }
}

/* One call per activation, none for what never reaches the minimum, and again when the sensor speaks again. */
static void test_once_per_activation(void **state)
{
    (void)state;
    const wh_descriptor *d = wh_descriptor_set_find(set, "demo-fsk-manchester");
    yard y = yard_create(2.0);
    for (int i = 0; i < 3; i++) {
        const wh_transmission t = {
            .start_s = 0.3 + 0.55 * i, .gap_s = 0.06, .copies = 4, .amplitude = yard_amplitude(&y, d, 18.0)};
        yard_send(&y, d, "0000BEEF", &t);
    }
    yard_record(&y);
    heard h = {0};
    yard_run(&y, set, 0, block(&y), &h, NULL);
    assert_int_equal(h.readings, 3);
    assert_int_equal(h.earlies, 3);
    for (int i = 0; i < 3; i++) {
        assert_near(h.early[i].offset_s, 0.3 + 0.55 * i, 2e-3);
        assert_true(h.early[i].confidence >= 0.5);
    }
    heard_free(&h);
    yard_free(&y);
}

/* Held in the middle, as many have been told with threads as without, once the threads are done. */
static void test_settled(void **state)
{
    (void)state;
    const wh_descriptor *d = wh_descriptor_set_find(set, "demo-fsk-manchester");
    yard y = yard_create(2.0);
    for (int i = 0; i < 12; i++) {
        const wh_transmission t = {.start_s = 0.3 + 0.05 * i, .copies = 1, .amplitude = yard_amplitude(&y, d, 18.0)};
        yard_send(&y, d, i % 2 ? "0000BEEF" : "0000CAFE", &t);
    }
    yard_record(&y);
    const size_t held = (size_t)(1.0 * y.spec.sample_rate_hz);
    size_t told[2];
    for (unsigned threads = 0; threads < 4; threads += 3) {
        heard h = {0};
        const wh_receiver_sink sink = heard_sink(&h);
        wh_receiver_config config;
        wh_receiver_config_defaults(&config);
        config.threads = threads;
        wh_receiver *receiver = NULL;
        const wh_stream stream = yard_stream(&y);
        assert_int_equal(wh_receiver_create(&config, set, &sink, &receiver, NULL), WH_OK);
        assert_int_equal(wh_receiver_settle(receiver), WH_OK); /* nothing begun: nothing to wait for */
        assert_int_equal(wh_receiver_begin(receiver, &stream, NULL), WH_OK);
        yard_push(&y, receiver, 0, held, held);
        assert_int_equal(wh_receiver_settle(receiver), WH_OK);
        told[threads / 3] = h.bursts;
        assert_int_equal(h.earlies, 2);
        assert_int_equal(wh_receiver_settle(receiver), WH_OK);
        assert_int_equal(h.bursts, told[threads / 3]);
        wh_receiver_destroy(&receiver);
        heard_free(&h);
    }
    assert_int_equal(told[0], told[1]);
    yard_free(&y);
}

/* Nobody wants to know: nothing is called, and the readings are the same. */
static void test_without(void **state)
{
    (void)state;
    const wh_descriptor *d = wh_descriptor_set_find(set, "demo-fsk-manchester");
    yard y = yard_create(0.8);
    const wh_transmission t = {.start_s = 0.3, .gap_s = 0.06, .copies = 2};
    yard_send(&y, d, NULL, &t);
    yard_record(&y);
    heard with = {0}, without = {0};
    yard_run(&y, set, 0, block(&y), &with, NULL);
    wh_receiver_config config;
    wh_receiver_config_defaults(&config);
    config.explain = true;
    wh_receiver_sink sink = heard_sink(&without);
    sink.early = NULL;
    wh_receiver *receiver = NULL;
    assert_int_equal(wh_receiver_create(&config, set, &sink, &receiver, NULL), WH_OK);
    const wh_stream stream = yard_stream(&y);
    assert_int_equal(wh_receiver_begin(receiver, &stream, NULL), WH_OK);
    yard_push(&y, receiver, 0, y.spec.samples, block(&y));
    assert_int_equal(wh_receiver_finish(receiver), WH_OK);
    wh_receiver_destroy(&receiver);
    assert_int_equal(without.earlies, 0);
    assert_int_equal(with.earlies, 1);
    assert_string_equal(with.text, without.text);
    heard_free(&with);
    heard_free(&without);
    yard_free(&y);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_first_copy_at_once),
        cmocka_unit_test(test_once_per_activation),
        cmocka_unit_test(test_settled),
        cmocka_unit_test(test_without),
    };
    return cmocka_run_group_tests(tests, yard_load, yard_unload);
}
