/* Bursts beyond the bound: the weakest are left out, the bound holds, and below half of it everything is admitted. */
#include "storm.h"

#include "rng.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>

#include <cmocka.h>

#define BURSTS 6000

typedef struct trial {
    double end_s, length_s, snr_db;
    bool admitted;
} trial;

/* `seconds` of bursts of 10 to 30 ms, 0 to 30 dB, evenly in time but for a little. */
static size_t make(trial *trials, double seconds, double per_s, wh_storm *storm)
{
    wh_rng rng;
    wh_rng_seed(&rng, 5);
    const size_t count = (size_t)(seconds * per_s);
    assert_true(count <= BURSTS);
    for (size_t i = 0; i < count; i++) {
        trial *t = &trials[i];
        t->end_s = ((double)i + wh_rng_uniform(&rng)) / per_s;
        t->length_s = 10e-3 + 20e-3 * wh_rng_uniform(&rng);
        t->snr_db = 30.0 * wh_rng_uniform(&rng);
        t->admitted = wh_storm_admits(storm, t->end_s, t->length_s, t->snr_db);
    }
    return count;
}

static void test_a_busy_yard_loses_nothing(void **state)
{
    trial *trials = *state;
    wh_storm *storm = calloc(1, sizeof *storm);
    assert_non_null(storm);
    const size_t count = make(trials, 20.0, 35.0, storm); /* 35 of 19 ms: less than half of 2 s, whatever the luck */
    for (size_t i = 0; i < count; i++)
        assert_true(trials[i].admitted);
    free(storm);
}

static void test_a_storm_is_bounded(void **state)
{
    trial *trials = *state;
    wh_storm *storm = calloc(1, sizeof *storm);
    assert_non_null(storm);
    const size_t count = make(trials, 6.0, 1000.0, storm);
    double admitted_db = 0.0, left_db = 0.0;
    size_t admitted = 0;
    for (size_t i = 0; i < count; i++) {
        double load = 0.0;
        for (size_t j = i + 1; j-- > 0 && trials[i].end_s - trials[j].end_s < 1.0;)
            load += trials[j].admitted ? WH_STORM_BURST_S + WH_STORM_SHARE * trials[j].length_s : 0.0;
        assert_true(load <= WH_STORM_MOST_S);
        admitted += trials[i].admitted;
        *(trials[i].admitted ? &admitted_db : &left_db) += trials[i].snr_db;
    }
    /* Two seconds of 15.3 ms, the cheapest, are 130 a second; of 22 ms, the dearest, 90, and at least half of the bound is used. */
    assert_in_range(admitted, 6 * 45, 6 * 131);
    assert_true(admitted_db / (double)admitted > left_db / (double)(count - admitted) + 5.0);
    free(storm);
}

/* A burst longer than the bound is not lost when it comes alone, and what comes after it is. */
static void test_one_long_burst(void **state)
{
    (void)state;
    wh_storm *storm = calloc(1, sizeof *storm);
    assert_non_null(storm);
    assert_true(wh_storm_admits(storm, 5.0, 7.0, 10.0));
    assert_false(wh_storm_admits(storm, 5.5, 0.01, 30.0));
    assert_true(wh_storm_admits(storm, 6.0, 0.01, 1.0));
    free(storm);
}

/* Slow kinds: four copies of a fifth of a second each, and each tone of them noticed for itself. Nothing to leave out. */
static void test_long_frames(void **state)
{
    (void)state;
    wh_storm *storm = calloc(1, sizeof *storm);
    assert_non_null(storm);
    for (unsigned i = 0; i < 12; i++)
        assert_true(wh_storm_admits(storm, 1.0 + 0.07 * i, 0.2, i % 3 ? 5.0 : 1.0));
    free(storm);
}

static int set_up(void **state)
{
    *state = calloc(BURSTS, sizeof(trial));
    return *state ? 0 : -1;
}

static int tear_down(void **state)
{
    free(*state);
    return 0;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_busy_yard_loses_nothing),
        cmocka_unit_test(test_a_storm_is_bounded),
        cmocka_unit_test(test_one_long_burst),
        cmocka_unit_test(test_long_frames),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
