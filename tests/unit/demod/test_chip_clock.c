#include "clock.h"
#include "emissions.h"

#include "../air.h"
#include "../near.h"

/* The metric of perfectly sent chips: correlation with a chip that slides by, a triangle between unlike neighbours. */
static void fill_metric(float *metric, size_t count, double phase, double chip, const uint8_t *chips, size_t chip_count)
{
    for (size_t j = 0; j < count; j++) {
        const double at = ((double)j - phase) / chip, whole = floor(at), part = at - whole;
        const double k = fmin(fmax(whole, 0.0), (double)chip_count - 2.0);
        const double a = chips[(size_t)k] ? 1.0 : -1.0, b = chips[(size_t)k + 1] ? 1.0 : -1.0;
        metric[j] = (float)(a + part * (b - a));
    }
}

/* Phase and length come back, for short and long bursts, at any fraction and over the whole range of rates. */
static void test_clock(void **state)
{
    (void)state;
    static uint8_t chips[4096];
    static float metric[4096 * WH_CLOCK_STEPS];
    air_random_chips(chips, 4096, 3);
    static const size_t lengths[] = {60, 200, 299, 301, 1000, 3000};
    for (size_t l = 0; l < sizeof lengths / sizeof lengths[0]; l++)
        for (int error = -4; error <= 4; error++)
            for (int fraction = 0; fraction < 4; fraction++) {
                const double tolerance = 0.05, chip = WH_CLOCK_STEPS / (1.0 + 0.0124 * error),
                             phase = 0.31 + 1.9 * fraction;
                const size_t count = (size_t)(chip * (double)lengths[l]);
                fill_metric(metric, count, phase, chip, chips, 4096);
                const wh_clock clock = wh_clock_find(metric, count, tolerance, 0.0);
                assert_near(clock.chip / chip, 1.0, 0.3 / (double)lengths[l]);
                /* At the middle, modulo a chip: an eighth off is nothing, half a chip would be another clock. */
                const double middle = floor(0.5 * (double)lengths[l]);
                const double off = (clock.phase + middle * clock.chip - phase - middle * chip) / chip;
                assert_near(off - nearbyint(off), 0.0, 0.1);
                assert_true(clock.contrast > 1.1);
            }
}

/* Hardly anything to go by: an answer all the same, and within what was asked for. */
static void test_clock_of_little(void **state)
{
    (void)state;
    float metric[200];
    wh_rng rng;
    wh_rng_seed(&rng, 9);
    for (size_t i = 0; i < 200; i++)
        metric[i] = (float)wh_rng_uniform(&rng) - 0.5f;
    for (size_t count = 0; count < 200; count += 7) {
        const wh_clock clock = wh_clock_find(metric, count, 0.1, 0.0);
        assert_true(clock.chip > 0.8 * WH_CLOCK_STEPS && clock.chip < 1.25 * WH_CLOCK_STEPS);
        assert_true(clock.phase >= 0.0 && clock.phase <= 2.0 * WH_CLOCK_STEPS);
        assert_true(isfinite(clock.contrast));
    }
}

/* Energy that is on in known places: emissions are found there, to within a chip, and a short pause does not divide. */
static void test_emissions(void **state)
{
    (void)state;
    enum { COUNT = 8000, CHIP = WH_EMISSION_CHIP };
    static float energy[COUNT], scratch[2 * COUNT];
    wh_rng rng;
    wh_rng_seed(&rng, 10);
    static const size_t on[4][2] = {
        {600, 2000}, {2200, 3600}, {5000, 6400}, {6480, 7900}}; /* pauses of 25, 175 and 10 chips */
    for (size_t i = 0; i < COUNT; i++) {
        energy[i] = (float)(-0.02 * log(1.0 - wh_rng_uniform(&rng)));
        for (int k = 0; k < 4; k++)
            energy[i] += i >= on[k][0] && i < on[k][1] ? 1.0f : 0.0f;
    }
    wh_emission found[WH_EMISSIONS_MAX];
    const size_t count = wh_emissions_find(energy, COUNT, 0.02f, 8 * CHIP, 15 * CHIP, scratch, found);
    assert_int_equal(count, 3);
    static const size_t expected[3][2] = {{600, 2000}, {2200, 3600}, {5000, 7900}};
    for (int k = 0; k < 3; k++) {
        assert_near((double)found[k].first, (double)expected[k][0], CHIP);
        assert_near((double)found[k].last, (double)expected[k][1], CHIP);
    }
    /* Nothing on, and nothing at all. */
    for (size_t i = 0; i < COUNT; i++)
        energy[i] = 0.0f;
    assert_int_equal(wh_emissions_find(energy, COUNT, 0.02f, 8 * CHIP, 15 * CHIP, scratch, found), 0);
    assert_int_equal(wh_emissions_find(energy, 0, 0.02f, 8 * CHIP, 15 * CHIP, scratch, found), 0);
}

/* A far transmitter between a near one's copies, 20 dB below them and 20 dB above the noise. */
static void test_far_between_near(void **state)
{
    (void)state;
    enum { COUNT = 8000, CHIP = WH_EMISSION_CHIP };
    static float energy[COUNT], scratch[2 * COUNT];
    static const size_t on[3][2] = {{600, 2000}, {2700, 4100}, {4800, 6200}};
    wh_rng rng;
    wh_rng_seed(&rng, 11);
    for (size_t i = 0; i < COUNT; i++) {
        energy[i] = (float)(-0.0001 * log(1.0 - wh_rng_uniform(&rng)));
        for (int k = 0; k < 3; k++)
            energy[i] += i >= on[k][0] && i < on[k][1] ? (k == 1 ? 0.01f : 1.0f) : 0.0f;
    }
    wh_emission found[WH_EMISSIONS_MAX];
    const size_t count = wh_emissions_find(energy, COUNT, 0.0001f, 8 * CHIP, 15 * CHIP, scratch, found);
    assert_int_equal(count, 3);
    for (int k = 0; k < 3; k++) {
        assert_near((double)found[k].first, (double)on[k][0], CHIP);
        assert_near((double)found[k].last, (double)on[k][1], CHIP);
    }
}

/* More emissions than there is room for: as many as fit. */
static void test_many_emissions(void **state)
{
    (void)state;
    enum { COUNT = 100 * 400 };
    static float energy[COUNT], scratch[2 * COUNT];
    for (size_t i = 0; i < COUNT; i++)
        energy[i] = i % 400 < 200 ? 1.0f : 0.01f;
    wh_emission found[WH_EMISSIONS_MAX];
    const size_t count = wh_emissions_find(energy, COUNT, 0.01f, 16, 40, scratch, found);
    assert_int_equal(count, WH_EMISSIONS_MAX);
    for (size_t i = 0; i < count; i++)
        assert_true(found[i].first < found[i].last && (i == 0 || found[i - 1].last <= found[i].first));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_clock),
        cmocka_unit_test(test_clock_of_little),
        cmocka_unit_test(test_emissions),
        cmocka_unit_test(test_far_between_near),
        cmocka_unit_test(test_many_emissions),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
