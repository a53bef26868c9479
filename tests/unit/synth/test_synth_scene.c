#include "descriptor_model.h"
#include "synth_frame.h"
#include "synth_scene.h"

#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

#include "../near.h"

static const wh_absolute sea_level = {101.325};

static int load(void **state)
{
    wh_descriptor_set *set = wh_descriptor_set_create();
    *state = set;
    return wh_descriptor_set_load_folder(set, WH_TEST_PROTOCOLS, NULL, NULL) == WH_OK ? 0 : -1;
}

static int unload(void **state)
{
    wh_descriptor_set *set = *state;
    wh_descriptor_set_destroy(&set);
    return 0;
}

static wh_transmission transmission_of(const wh_descriptor *descriptor)
{
    wh_transmission t = {.descriptor = descriptor, .gap_s = -1.0, .start_s = 0.1, .amplitude = 0.2};
    assert_int_equal(wh_synth_frame(descriptor, NULL, 0, 0, sea_level, &t.frame, NULL), WH_OK);
    return t;
}

/* demo-fsk-manchester: 16 + 16 + 80 bits of two chips at 20 kchip/s are 11.2 ms; four copies, 40 to 120 ms apart. */
static void test_copies_and_gaps(void **state)
{
    const wh_descriptor *d = wh_descriptor_set_find(*state, "demo-fsk-manchester");
    double first_gap[2] = {0.0, 0.0};
    for (uint64_t seed = 0; seed < 50; seed++) {
        wh_scene *scene = wh_scene_create(seed);
        const wh_transmission t = transmission_of(d);
        assert_int_equal(wh_scene_add(scene, &t, NULL), WH_OK);
        size_t count;
        const wh_recording_burst *bursts = wh_scene_bursts(scene, &count);
        assert_int_equal(count, 4);
        double before = 0.1;
        for (size_t i = 0; i < count; i++) {
            double begin_s, end_s;
            wh_wave_span(bursts[i].wave, &begin_s, &end_s);
            assert_near(end_s - begin_s, 0.0112, 1e-9);
            if (i == 0)
                assert_near(begin_s, before, 1e-12);
            else
                assert_true(begin_s - before >= 0.040 && begin_s - before <= 0.120);
            if (i == 1)
                first_gap[seed % 2] = begin_s - before;
            before = end_s;
        }
        assert_near(wh_scene_end(scene), before, 1e-9);
        assert_string_equal(bursts[0].label, "0A1B2C3D");
        assert_string_equal(bursts[2].comment, "demo-fsk-manchester, copy 3 of 4");
        wh_scene_destroy(&scene);
        assert_null(scene);
    }
    assert_true(first_gap[0] != first_gap[1]); /* drawn, not fixed */
}

/* Two sensors, one with everything given: rate 4 % up makes the burst shorter by 1 / 1.04. */
static void test_given_figures(void **state)
{
    wh_scene *scene = wh_scene_create(1);
    assert_near(wh_scene_end(scene), 0.0, 0.0);
    wh_transmission t = transmission_of(wh_descriptor_set_find(*state, "demo-fsk-manchester"));
    t.copies = 3;
    t.gap_s = 0.05;
    t.rate_error = 0.04;
    t.carrier_hz = 30e3;
    t.drift_hz = -2e3;
    assert_int_equal(wh_scene_add(scene, &t, NULL), WH_OK);
    const wh_transmission other = transmission_of(wh_descriptor_set_find(*state, "demo-fsk-partial"));
    assert_int_equal(wh_scene_add(scene, &other, NULL), WH_OK);
    size_t count;
    const wh_recording_burst *bursts = wh_scene_bursts(scene, &count);
    assert_int_equal(count, 3 + 3);
    const double length = 0.0112 / 1.04;
    for (size_t i = 0; i < 3; i++) {
        double begin_s, end_s, low_hz, high_hz;
        wh_wave_span(bursts[i].wave, &begin_s, &end_s);
        assert_near(begin_s, 0.1 + (double)i * (length + 0.05), 1e-9);
        assert_near(end_s - begin_s, length, 1e-9);
        wh_wave_band(bursts[i].wave, &low_hz, &high_hz);
        assert_near(low_hz, 30e3 - 2e3 - 40e3 - 20.8e3, 1e-6);
        assert_near(high_hz, 30e3 + 40e3 + 20.8e3, 1e-6);
    }
    assert_string_equal(bursts[3].label, "~5A17C3"); /* a sensor without ID has a nickname */
    wh_scene_destroy(&scene);
}

static void test_refusals(void **state)
{
    wh_scene *scene = wh_scene_create(1);
    wh_error error = {0};
    wh_transmission t = transmission_of(wh_descriptor_set_find(*state, "demo-fsk-manchester"));
    t.edge_s = 1e-3;
    assert_int_equal(wh_scene_add(scene, &t, &error), WH_ERR_ARGUMENT);
    assert_true(error.what[0] && error.fix[0]);
    t = transmission_of(wh_descriptor_set_find(*state, "demo-fsk-manchester"));
    t.copies = 5000;
    assert_int_equal(wh_scene_add(scene, &t, &error), WH_ERR_LIMIT);
    size_t count;
    wh_scene_bursts(scene, &count);
    assert_int_equal(count, 0);
    wh_scene_destroy(&scene);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_copies_and_gaps),
        cmocka_unit_test(test_given_figures),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
