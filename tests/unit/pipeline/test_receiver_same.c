/* The receiver's first promise: the same samples give the same callbacks in the same order, however they are cut into blocks
 * and however many threads work. */
#include "yard_scene.h"

#include <stdio.h>
#include <string.h>

/* Several kinds at once and in turn, across each other, weak ones, a carrier, and something at the very end. */
static yard busy(double seconds, double sample_rate_hz)
{
    yard y = yard_create(seconds);
    y.spec.sample_rate_hz = sample_rate_hz;
    y.spec.samples = (uint64_t)(seconds * sample_rate_hz);
    y.spec.dc_i = 0.02;
    y.spec.carrier_amplitude = 0.05;
    y.spec.carrier_hz = 0.36 * sample_rate_hz;
    static const char *const kinds[] = {"demo-fsk-manchester",   "demo-ook-manchester",     "demo-fsk-nrz",
                                        "demo-fsk-differential", "demo-ook-pulse-duration", "demo-fsk-partial"};
    const double last = seconds - 0.05;
    for (int i = 0; i < 14; i++) {
        const wh_descriptor *d = wh_descriptor_set_find(set, kinds[i % 6]);
        const wh_transmission t = {.start_s = 0.01 + last * i / 14.0,
                                   .gap_s = -1.0,
                                   .copies = 1 + (unsigned)i % 3,
                                   .carrier_hz = 0.12 * sample_rate_hz * ((i * 5) % 7 - 3) / 3.0,
                                   .amplitude = yard_amplitude(&y, d, i % 4 == 3 ? 7.0 : 16.0 + i)};
        yard_send(&y, d, NULL, &t);
    }
    yard_record(&y);
    return y;
}

static void assert_same_as(const heard *reference, const yard *y, unsigned threads, size_t block)
{
    heard h = {0};
    yard_run(y, set, threads, block, &h, NULL);
    const bool same = h.length == reference->length && memcmp(h.text, reference->text, h.length) == 0;
    if (!same) {
        size_t at = 0;
        while (at < h.length && at < reference->length && h.text[at] == reference->text[at])
            at++;
        while (at > 0 && h.text[at - 1] != '\n')
            at--;
        print_error("%u threads, blocks of %zu:\n%.500s\ninstead of\n%.500s\n", threads, block, h.text + at,
                    reference->text + at);
    }
    assert_true(same);
    assert_int_equal(h.earlies, reference->earlies);
    for (size_t i = 0; i < h.earlies; i++) {
        assert_string_equal(h.early[i].sensor, reference->early[i].sensor);
        assert_true(h.early[i].offset_s == reference->early[i].offset_s);
        assert_true(h.early[i].confidence == reference->early[i].confidence);
        assert_int_equal(h.early[i].copies, reference->early[i].copies);
    }
    heard_free(&h);
}

static void test_blocks_and_threads(void **state)
{
    (void)state;
    yard y = busy(1.0, 250e3);
    heard reference = {0};
    yard_run(&y, set, 0, y.spec.samples, &reference, NULL);
    assert_true(reference.readings >= 5);
    assert_true(reference.bursts >= 10);
    assert_true(reference.attempts > reference.bursts);
    static const size_t cuts[][2] = {{0, 7},      {0, 4096}, {1, 4096},
                                     {2, 100001}, {4, 1000}, {40, 10000000}}; /* threads, block */
    for (size_t i = 0; i < sizeof cuts / sizeof cuts[0]; i++)
        assert_same_as(&reference, &y, (unsigned)cuts[i][0], cuts[i][1]);
    heard_free(&reference);
    yard_free(&y);
}

/* Copies so weak that most fail alone and only their sum makes a reading: merging depends on what came before, and must not depend on
 * when it is asked for. At Ec/N0 2.2 dB (Eb/N0 5.2 dB) nine single frames in ten are lost, one group of three in ten. */
static void test_weak_copies(void **state)
{
    (void)state;
    yard y = yard_create(5.0);
    const wh_descriptor *d = wh_descriptor_set_find(set, "demo-fsk-manchester");
    const unsigned groups = 14;
    for (unsigned i = 0; i < groups; i++) {
        char sensor[16];
        snprintf(sensor, sizeof sensor, "%08X", 0x1234567u * (i + 1));
        const wh_transmission t = {.start_s = 0.3 + 0.32 * i,
                                   .gap_s = 0.05,
                                   .copies = 3,
                                   .carrier_hz = 9e3 * ((int)(i * 5 % 7) - 3),
                                   .amplitude = yard_amplitude(&y, d, i % 3 == 2 ? 4.0 : 2.2)};
        yard_send(&y, d, sensor, &t);
    }
    yard_record(&y);
    heard reference = {0};
    yard_run(&y, set, 0, y.spec.samples, &reference, NULL);
    size_t merged = 0;
    for (size_t i = 0; i < reference.readings; i++)
        merged += reference.reading[i].copies >= 2;
    assert_true(merged >= groups / 2); /* there is something to merge */
    static const size_t cuts[][2] = {{0, 61}, {0, 4096}, {1, 4096}, {2, 30011}, {4, 1000}, {3, 10000000}};
    for (size_t i = 0; i < sizeof cuts / sizeof cuts[0]; i++)
        assert_same_as(&reference, &y, (unsigned)cuts[i][0], cuts[i][1]);
    heard_free(&reference);
    yard_free(&y);
}

static void test_single_samples(void **state)
{
    (void)state;
    yard y = busy(0.3, 250e3);
    heard reference = {0};
    yard_run(&y, set, 0, y.spec.samples, &reference, NULL);
    assert_true(reference.bursts >= 3);
    assert_same_as(&reference, &y, 0, 1);
    assert_same_as(&reference, &y, 2, 1);
    heard_free(&reference);
    yard_free(&y);
}

static void test_high_rate(void **state)
{
    (void)state;
    yard y = busy(0.45, 1024e3);
    heard reference = {0};
    yard_run(&y, set, 0, y.spec.samples, &reference, NULL);
    assert_true(reference.readings >= 4);
    assert_same_as(&reference, &y, 0, 4095);
    assert_same_as(&reference, &y, 3, 65536);
    heard_free(&reference);
    yard_free(&y);
}

/* In order of time, within each of the two kinds of callback and all together. */
static void test_order(void **state)
{
    (void)state;
    yard y = busy(1.0, 250e3);
    heard h = {0};
    yard_run(&y, set, 2, 5000, &h, NULL);
    for (size_t i = 0; i < h.bursts; i++) {
        assert_int_equal(h.burst[i].number, i);
        assert_true(i == 0 || h.burst[i].offset_s >= h.burst[i - 1].offset_s);
    }
    for (size_t i = 1; i < h.readings; i++)
        assert_true(h.reading[i].offset_s >= h.reading[i - 1].offset_s);
    heard_free(&h);
    yard_free(&y);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_blocks_and_threads),
        cmocka_unit_test(test_weak_copies),
        cmocka_unit_test(test_single_samples),
        cmocka_unit_test(test_high_rate),
        cmocka_unit_test(test_order),
    };
    return cmocka_run_group_tests(tests, yard_load, yard_unload);
}
