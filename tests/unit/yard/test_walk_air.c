#include "walk_air.h"

#include <stdlib.h>

#include "../near.h"

static wh_unit trailer(void)
{
    wh_unit unit;
    const bool dual[] = {true, true};
    assert_int_equal(wh_unit_make(&unit, "T1", WH_TRAILER, 2, dual, NULL), WH_OK);
    return unit;
}

/* Nothing but the straight way: no spread, no shadow, no reflections, nobody in the way. */
static void open_field(wh_walk_world *world, const wh_unit *unit)
{
    wh_walk_settings settings;
    wh_walk_settings_usual(&settings);
    settings.angle_spread_db = settings.shadow_db = settings.reflection = 0.0;
    wh_walk_world_make(world, &settings, &unit, 1, 1);
    world->ground_share = 0.0;
    world->settings.reference_dbfs = -40.0; /* far from saturation */
}

static double mean_level(const wh_walk_world *world, wh_walk_antenna antenna, const wh_walk_sensor *sensor)
{
    wh_rng rng;
    wh_rng_seed(&rng, 5);
    double sum = 0.0;
    for (int i = 0; i < 400; i++)
        sum += wh_walk_level(world, &antenna, sensor, &rng);
    return sum / 400.0;
}

/* Free space: 6.02 dB for each doubling of the distance (20 log10 2). */
static void test_free_space_law(void **state)
{
    (void)state;
    const wh_unit unit = trailer();
    wh_walk_world *world = calloc(1, sizeof *world);
    open_field(world, &unit);
    const wh_walk_sensor sensor = {.number = 1, .at = {0.0, 10.0, 1.0}};
    const wh_walk_antenna two = {.at = {0.0, 12.0, 1.0}, .facing = 1.0};
    const wh_walk_antenna four = {.at = {0.0, 14.0, 1.0}, .facing = 1.0};
    assert_near(mean_level(world, two, &sensor), -40.0 - 6.02, 0.1);
    assert_near(mean_level(world, two, &sensor) - mean_level(world, four, &sensor), 6.02, 0.1);
    free(world);
}

/* The two-ray law: with a perfect ground the sum of two equal rays whose ways differ by half a wave vanishes. Sensor and
 * antenna 1 m apart and both at height h: ways 1 and sqrt(1 + 4 h^2); shares -1 x 1 / way each. */
static void test_rays_add_with_phase(void **state)
{
    (void)state;
    const wh_unit unit = trailer();
    wh_walk_world *world = calloc(1, sizeof *world);
    open_field(world, &unit);
    world->ground_share = -1.0;
    world->settings.carrier_hz = 100e6; /* long waves: a few centimetres of movement hardly turn the phase */
    const double wave = 299792458.0 / world->settings.carrier_hz;
    /* Whole wave of difference: the inverted second ray takes away 1 / (1 + wave) of the first. */
    const double way = 1.0 + wave;
    const double height = sqrt(way * way - 1.0) / 2.0;
    const wh_walk_sensor sensor = {.number = 1, .at = {0.0, 10.0, height}};
    const wh_walk_antenna antenna = {.at = {0.0, 11.0, height}, .facing = 1.0};
    const double least = 20.0 * log10(1.0 - 1.0 / way);
    assert_near(mean_level(world, antenna, &sensor), -40.0 + least, 0.3);
    /* Half a wave: they add. */
    const double half = 1.0 + wave / 2.0;
    const double low = sqrt(half * half - 1.0) / 2.0;
    const wh_walk_sensor lower = {.number = 1, .at = {0.0, 10.0, low}};
    const wh_walk_antenna beside = {.at = {0.0, 11.0, low}, .facing = 1.0};
    assert_near(mean_level(world, beside, &lower), -40.0 + 20.0 * log10(1.0 + 1.0 / half), 0.3);
    free(world);
}

static void test_saturates(void **state)
{
    (void)state;
    const wh_unit unit = trailer();
    wh_walk_world *world = calloc(1, sizeof *world);
    open_field(world, &unit);
    world->settings.reference_dbfs = 40.0;
    const wh_walk_sensor sensor = {.number = 1, .at = {0.0, 10.0, 1.0}};
    const wh_walk_antenna near = {.at = {0.0, 11.0, 1.0}, .facing = 1.0};
    assert_near(mean_level(world, near, &sensor), world->settings.full_scale_dbfs, 0.01);
    free(world);
}

/* Offsets: uniform over the spread, so its mean is half of it and its variance spread^2 / 12, plus 1.5 dB of power. */
static void test_angle_spread(void **state)
{
    (void)state;
    const wh_unit unit = trailer();
    wh_walk_world *world = calloc(1, sizeof *world);
    wh_walk_settings settings;
    wh_walk_settings_usual(&settings);
    settings.angle_spread_db = 20.0;
    const wh_unit *units[] = {&unit};
    wh_walk_world_make(world, &settings, units, 1, 3);
    wh_rng rng;
    wh_rng_seed(&rng, 17);
    double sum = 0.0, squares = 0.0;
    const int n = 20000;
    for (int i = 0; i < n; i++) {
        wh_walk_sensor sensor;
        wh_walk_sensor_at_wheel(&sensor, world, 0, unit.wheels[0].position, (unsigned)i, &rng);
        sum += sensor.offset_db;
        squares += sensor.offset_db * sensor.offset_db;
    }
    const double mean = sum / n;
    assert_near(mean, -10.0, 0.2);
    assert_near(squares / n - mean * mean, 400.0 / 12.0 + 1.5 * 1.5, 1.0);
    free(world);
}

/* On the average the wheel at hand is heard better than those across the unit, and the other side's are further away. */
static void test_near_is_stronger(void **state)
{
    (void)state;
    const wh_unit unit = trailer();
    wh_walk_world *world = calloc(1, sizeof *world);
    wh_walk_settings settings;
    wh_walk_settings_usual(&settings);
    const wh_unit *units[] = {&unit};
    double here = 0.0, across = 0.0;
    const wh_position at = {1, WH_LEFT, WH_OUTER}, there = {1, WH_RIGHT, WH_OUTER};
    for (uint64_t seed = 0; seed < 200; seed++) {
        wh_walk_world_make(world, &settings, units, 1, seed);
        wh_rng rng;
        wh_rng_seed(&rng, seed);
        wh_walk_sensor a, b;
        wh_walk_sensor_at_wheel(&a, world, 0, at, 1, &rng);
        wh_walk_sensor_at_wheel(&b, world, 0, there, 2, &rng);
        wh_walk_antenna antenna;
        wh_walk_stand(&antenna, world, 0, at, 0, &rng);
        here += wh_walk_level(world, &antenna, &a, &rng);
        across += wh_walk_level(world, &antenna, &b, &rng);
    }
    /* 0.85 m against 3.1 m is 11 dB of free space, and the unit in between costs more. */
    assert_true((here - across) / 200.0 > 9.0);
    free(world);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_free_space_law),   cmocka_unit_test(test_rays_add_with_phase),
        cmocka_unit_test(test_saturates),        cmocka_unit_test(test_angle_spread),
        cmocka_unit_test(test_near_is_stronger),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
