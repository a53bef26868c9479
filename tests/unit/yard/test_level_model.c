#include "level_model.h"

#include "sweep_maker.h"

#include <stdlib.h>
#include <string.h>

#include "../near.h"

typedef struct bench {
    wh_unit unit;
    sweep_maker maker;
    wh_walk_log log;
    wh_level_model model;
    double *fit;
} bench;

static int set_up(void **state)
{
    bench *b = calloc(1, sizeof *b);
    const bool dual[] = {true, true};
    if (!b || wh_unit_make(&b->unit, "T1", WH_TRAILER, 2, dual, NULL) != WH_OK)
        return -1;
    snprintf(b->maker.unit, sizeof b->maker.unit, "T1");
    *state = b;
    return 0;
}

static int tear_down(void **state)
{
    bench *b = *state;
    wh_level_model_free(&b->model);
    wh_walk_log_free(&b->log);
    free(b->fit);
    free(b);
    return 0;
}

/* Stand at a wheel and hear one sensor there. */
static void hear_at(bench *b, const char *position, const char *sensor, double level_dbfs)
{
    maker_add(&b->maker, WH_EVENT_STAND, position);
    maker_hear(&b->maker, sensor, level_dbfs);
}

static void make_model(bench *b)
{
    const wh_sweep sweep = maker_sweep(&b->maker);
    assert_int_equal(wh_walk_log_make(&b->log, &b->unit, &sweep, 0), WH_OK);
    assert_int_equal(wh_level_model_make(&b->model, &b->log), WH_OK);
    b->fit = calloc(b->model.site_count, sizeof *b->fit);
    assert_non_null(b->fit);
}

static double fit_at(const bench *b, const char *text)
{
    wh_position position;
    assert_true(wh_position_parse(text, &position));
    return b->fit[wh_walk_log_seat_at(&b->unit, position)];
}

static void test_shares_add_up(void **state)
{
    bench *b = *state;
    hear_at(b, "1LO", "A", -10.0);
    snprintf(b->maker.unit, sizeof b->maker.unit, "NEXT");
    hear_at(b, "1LO", "A", -10.0);
    make_model(b);
    double sum = 0.0;
    for (unsigned i = b->model.seat_count; i < b->model.site_count; i++)
        sum += b->model.sites[i].share;
    assert_near(sum, 1.0, 1e-9);
    assert_int_equal(b->model.seat_count, 8);
}

/* Each sensor is known to be at the outer wheel where it was heard, and nowhere else. */
static void at_own_wheel(void *context, size_t index, double *share)
{
    const bench *b = context;
    for (unsigned i = 0; i < b->model.site_count; i++)
        share[i] = i == index ? 1.0 : 0.0;
}

/* Eight sensors 0.95 m from the antenna (0.7 m to the tire, half a tire's width, half a metre of height), where free space takes
 * 20 log10(0.95) = -0.4 dB: the level at 1 m is their mean less 0.4 dB. The grid is 2 dB wide, and the model's tail of fades
 * shifts the mean by 0.8 dB. */
static void test_reference_is_found(void **state)
{
    bench *b = *state;
    const double levels[] = {-28.0, -34.0, -30.0, -36.0, -27.0, -37.0, -32.0, -32.0};
    double sum = 0.0;
    for (unsigned w = 0; w < b->unit.wheel_count; w++) {
        char position[WH_POSITION_SIZE], name[8];
        snprintf(name, sizeof name, "A%u", w);
        const bool inner = b->unit.wheels[w].position.place == WH_INNER;
        /* 4 dB for the wheel in the way and 20 log10(1.26 / 0.95) = 2.5 dB for the way */
        hear_at(b, wh_position_text(position, b->unit.wheels[w].position), name, levels[w] - (inner ? 6.5 : 0.0));
        sum += levels[w];
    }
    make_model(b);
    wh_level_model_fit(&b->model, &b->log, at_own_wheel, b, b->fit);
    assert_near(b->model.reference_dbfs, sum / 8.0 - 0.4 + 0.8, 2.0);
}

/* The profile over the places tells, not the level: the same profile 15 dB lower fits the same wheel best. */
static void check_profile(bench *b, double offset_db)
{
    hear_at(b, "1LO", "A", -30.0 + offset_db);
    hear_at(b, "2LO", "A", -20.0 + offset_db);
    hear_at(b, "2RO", "A", -38.0 + offset_db);
    hear_at(b, "1RO", "A", -40.0 + offset_db);
    make_model(b);
    b->model.reference_dbfs = -20.0;
    wh_level_model_fits(&b->model, &b->log, &b->log.witnesses[0], b->fit);
    const double here = fit_at(b, "2LO");
    assert_true(here > 0.0);
    assert_true(here > 3.0 * fit_at(b, "1LO"));
    assert_true(here > 20.0 * fit_at(b, "2RO") && here > 20.0 * fit_at(b, "1RO"));
    /* The inner wheel of the same pair can not be told apart. */
    assert_true(fit_at(b, "2LI") > here / 4.0 && fit_at(b, "2LI") < here * 4.0);
    for (unsigned i = b->model.seat_count; i < b->model.site_count; i++)
        assert_true(b->fit[i] >= 0.0 && b->fit[i] <= 1.0);
}

static void test_profile(void **state)
{
    check_profile(*state, 0.0);
}

static void test_weak_sensor_with_the_same_profile(void **state)
{
    check_profile(*state, -15.0);
}

/* At full scale the receiver says "at least": two places that both read 0 dBFS do not tell which one is nearer by that, but a
 * weak reading at the third place counts as ever. */
static void test_saturation(void **state)
{
    bench *b = *state;
    hear_at(b, "1LO", "A", -0.5);
    hear_at(b, "2LO", "A", -0.5);
    hear_at(b, "2RO", "A", -22.0);
    make_model(b);
    b->model.reference_dbfs = 0.0;
    wh_level_model_fits(&b->model, &b->log, &b->log.witnesses[0], b->fit);
    assert_true(fit_at(b, "1LO") < 3.0 * fit_at(b, "2LO") && fit_at(b, "2LO") < 3.0 * fit_at(b, "1LO"));
    assert_true(fit_at(b, "1LO") > 10.0 * fit_at(b, "2RO"));
}

/* Sensors far above full scale: one that reads full scale is as strong as all the others beside the antenna, not a weaker one
 * further away. */
static void test_full_scale_is_not_far_away(void **state)
{
    bench *b = *state;
    hear_at(b, "2LO", "A", 0.0);
    make_model(b);
    b->model.reference_dbfs = 12.0;
    wh_level_model_fits(&b->model, &b->log, &b->log.witnesses[0], b->fit);
    assert_true(fit_at(b, "2LO") > 0.9);
    b->log.levels[0].sum_dbfs = b->log.levels[0].most_dbfs = -4.0; /* read 4 dB below, it is */
    wh_level_model_fits(&b->model, &b->log, &b->log.witnesses[0], b->fit);
    assert_true(fit_at(b, "2LO") < 0.5);
}

/* The model as DEVELOPERS.md has it, integrated over the level at 1 m by brute force in steps of 0.05 dB. */
static double normal(double x, double sd)
{
    return exp(-0.5 * x * x / (sd * sd)) / sd;
}

static double integrated(const double *level, const double *gain, int count, double reference)
{
    double sum = 0.0;
    for (double a = reference - 40.0; a < reference + 40.0; a += 0.05) {
        double product = normal(a - reference, 6.0);
        for (int k = 0; k < count; k++) {
            const double r = level[k] - gain[k] - a;
            product *= 0.8 * normal(r, 4.5) + 0.2 * normal(r + 4.0, 9.0);
        }
        sum += product;
    }
    return sum;
}

static void test_against_brute_integration(void **state)
{
    bench *b = *state;
    const char *const places[] = {"1LO", "2LO", "2RO"};
    const double levels[] = {-23.7, -20.3, -34.9};
    for (int k = 0; k < 3; k++)
        hear_at(b, places[k], "A", levels[k]);
    for (size_t i = 0; i < b->maker.count; i++)
        b->maker.events[i].heard.confidence = 1.0;
    make_model(b);
    b->model.reference_dbfs = -20.0;
    wh_level_model_fits(&b->model, &b->log, &b->log.witnesses[0], b->fit);
    double oracle[8], most = 0.0;
    wh_geometry geometry;
    wh_geometry_typical(&geometry, &b->unit);
    for (unsigned p = 0; p < 8; p++) {
        const wh_position wheel = b->unit.wheels[p].position;
        double gain[3];
        for (int k = 0; k < 3; k++) {
            wh_position place;
            assert_true(wh_position_parse(places[k], &place));
            gain[k] = -20.0 * log10(wh_point_distance(wh_geometry_wheel(&geometry, wheel),
                                                      wh_geometry_place(&geometry, place, 0.7, 0.95)));
            gain[k] -= wheel.side != place.side ? 6.0 : wheel.place == WH_INNER ? 4.0 : 0.0;
        }
        oracle[p] = integrated(levels, gain, 3, -20.0);
        most = fmax(most, b->fit[p]);
    }
    for (unsigned p = 1; p < 8; p++)
        if (b->fit[p] > 1e-3 * most)
            assert_near(log(b->fit[p] / b->fit[0]), log(oracle[p] / oracle[0]), 0.05);
}

/* What is not to be believed does not tell. */
static void test_doubtful_readings_say_little(void **state)
{
    bench *b = *state;
    hear_at(b, "1LO", "A", -10.0);
    hear_at(b, "1RO", "A", -40.0);
    for (size_t i = 0; i < b->maker.count; i++)
        b->maker.events[i].heard.confidence = 0.01;
    make_model(b);
    b->model.reference_dbfs = -10.0;
    wh_level_model_fits(&b->model, &b->log, &b->log.witnesses[0], b->fit);
    assert_true(fit_at(b, "1LO") < 1.3 * fit_at(b, "1RO"));
}

static void test_heard_nowhere(void **state)
{
    bench *b = *state;
    maker_hear(&b->maker, "A", -10.0);
    make_model(b);
    wh_level_model_fits(&b->model, &b->log, &b->log.witnesses[0], b->fit);
    for (unsigned i = 0; i < b->model.site_count; i++)
        assert_near(b->fit[i], 1.0, 1e-12);
}

/* Absurd levels must give numbers all the same. */
static void test_absurd_levels(void **state)
{
    bench *b = *state;
    hear_at(b, "1LO", "A", 1e9);
    hear_at(b, "2LO", "A", -1e9);
    for (int i = 0; i < 300; i++) {
        snprintf(b->maker.unit, sizeof b->maker.unit, "X%d", i);
        hear_at(b, "1L", "A", i % 2 ? -90.0 : 0.0);
    }
    make_model(b);
    b->model.reference_dbfs = -20.0;
    wh_level_model_fits(&b->model, &b->log, &b->log.witnesses[0], b->fit);
    double most = 0.0;
    for (unsigned i = 0; i < b->model.site_count; i++) {
        assert_true(b->fit[i] >= 0.0 && b->fit[i] <= 1.0);
        most = fmax(most, b->fit[i]);
    }
    assert_near(most, 1.0, 1e-9);
}

#define WITH_BENCH(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        WITH_BENCH(test_shares_add_up),
        WITH_BENCH(test_reference_is_found),
        WITH_BENCH(test_profile),
        WITH_BENCH(test_weak_sensor_with_the_same_profile),
        WITH_BENCH(test_saturation),
        WITH_BENCH(test_full_scale_is_not_far_away),
        WITH_BENCH(test_against_brute_integration),
        WITH_BENCH(test_doubtful_readings_say_little),
        WITH_BENCH(test_heard_nowhere),
        WITH_BENCH(test_absurd_levels),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
