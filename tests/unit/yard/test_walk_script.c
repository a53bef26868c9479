#include "walk_script.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../near.h"

typedef struct yard {
    wh_unit unit;
    wh_walk_world world;
    wh_walk_actor actors[32];
    size_t actor_count;
    wh_walk_habits habits;
} yard;

static int set_up(void **state)
{
    yard *y = calloc(1, sizeof *y);
    const bool dual[] = {true, true};
    if (!y || wh_unit_make(&y->unit, "T1", WH_TRAILER, 2, dual, NULL) != WH_OK)
        return -1;
    wh_walk_settings settings;
    wh_walk_settings_usual(&settings);
    const wh_unit *units[] = {&y->unit};
    wh_walk_world_make(&y->world, &settings, units, 1, 1);
    wh_rng rng;
    wh_rng_seed(&rng, 2);
    for (unsigned i = 0; i < y->unit.wheel_count; i++) {
        char id[16];
        snprintf(id, sizeof id, "A%u", i);
        wh_walk_actor_at_wheel(&y->actors[i], &y->world, id, 0, y->unit.wheels[i].position, i, &rng);
        y->actors[i].answers = 1.0;
    }
    y->actor_count = y->unit.wheel_count;
    wh_walk_habits_usual(&y->habits);
    y->habits.wakes = 1.0;
    y->habits.wakes_mate = y->habits.wakes_near = y->habits.goes_on = y->habits.misses = 0.0;
    y->habits.hears_from_dbfs = -200.0;
    *state = y;
    return 0;
}

static int tear_down(void **state)
{
    free(*state);
    return 0;
}

static wh_event *walk(const yard *y, uint64_t seed, size_t *count)
{
    const unsigned units[] = {0};
    wh_event *events;
    assert_int_equal(wh_walk_script(&y->world, y->actors, y->actor_count, &y->habits, units, 1, seed, &events, count),
                     WH_OK);
    return events;
}

/* With nothing going wrong every wheel is visited once, woken once, and its own sensor answers between STAND and LEAVE. */
static void test_each_wheel_answers_where_it_is(void **state)
{
    const yard *y = *state;
    size_t count;
    wh_event *events = walk(y, 3, &count);
    assert_int_equal(events[0].kind, WH_EVENT_LISTEN);
    assert_int_equal(events[count - 1].kind, WH_EVENT_END);
    assert_int_equal(count, 2 + 8 * 4);
    for (size_t i = 0; i < 8; i++) {
        const wh_event *four = &events[1 + 4 * i];
        const wh_position at = y->unit.wheels[i].position;
        assert_int_equal(four[0].kind, WH_EVENT_STAND);
        assert_int_equal(four[1].kind, WH_EVENT_WOKEN);
        assert_int_equal(four[2].kind, WH_EVENT_HEARD);
        assert_int_equal(four[3].kind, WH_EVENT_LEAVE);
        assert_true(wh_position_equal(four[0].position, at) && wh_position_equal(four[1].position, at));
        assert_string_equal(four[0].unit, "T1");
        assert_string_equal(four[2].heard.sensor, y->actors[i].id);
        assert_true(four[2].at_us - four[1].at_us <= 2000000);
    }
    for (size_t i = 1; i < count; i++) {
        assert_true(events[i].at_us >= events[i - 1].at_us);
        assert_int_equal(events[i].id, (int)i + 1);
    }
    free(events);
}

static void test_same_seed_same_walk(void **state)
{
    yard *y = *state;
    wh_walk_habits_usual(&y->habits);
    size_t a_count, b_count, c_count;
    wh_event *a = walk(y, 7, &a_count), *b = walk(y, 7, &b_count), *c = walk(y, 8, &c_count);
    assert_int_equal(a_count, b_count);
    for (size_t i = 0; i < a_count; i++) {
        assert_int_equal(a[i].at_us, b[i].at_us);
        assert_string_equal(a[i].heard.sensor, b[i].heard.sensor);
        assert_true(a[i].heard.level_dbfs == b[i].heard.level_dbfs);
    }
    assert_true(a_count != c_count || a[1].at_us != c[1].at_us);
    free(a);
    free(b);
    free(c);
}

/* A sensor that sends by itself once in 10 s is heard about as often as the walk is long. */
static void test_sends_by_itself(void **state)
{
    yard *y = *state;
    y->habits.wakes = 0.0;
    y->actors[0].interval_s = 10.0;
    size_t count;
    wh_event *events = walk(y, 4, &count);
    unsigned heard = 0;
    for (size_t i = 0; i < count; i++)
        heard += events[i].kind == WH_EVENT_HEARD;
    const double seconds = (double)events[count - 1].at_us / 1e6;
    assert_near(heard, seconds / 10.0, 1.0);
    free(events);
}

static void test_weak_ones_are_not_heard(void **state)
{
    yard *y = *state;
    y->habits.hears_from_dbfs = 10.0;
    size_t count;
    wh_event *events = walk(y, 3, &count);
    for (size_t i = 0; i < count; i++)
        assert_int_not_equal(events[i].kind, WH_EVENT_HEARD);
    free(events);
}

/* Without the exciter's field at the wheel nobody answers; with a spill of one the mate always does. */
static void test_mate_is_woken_too(void **state)
{
    yard *y = *state;
    y->habits.wakes_mate = 1.0;
    size_t count;
    wh_event *events = walk(y, 3, &count);
    unsigned heard = 0;
    for (size_t i = 0; i < count; i++)
        heard += events[i].kind == WH_EVENT_HEARD;
    assert_int_equal(heard, 16);
    free(events);
}

static void test_bad_arguments(void **state)
{
    const yard *y = *state;
    const unsigned units[] = {3};
    wh_event *events;
    size_t count;
    assert_int_equal(wh_walk_script(&y->world, y->actors, y->actor_count, &y->habits, units, 1, 1, &events, &count),
                     WH_ERR_ARGUMENT);
    assert_null(events);
    assert_int_equal(wh_walk_script(&y->world, y->actors, y->actor_count, &y->habits, units, 0, 1, &events, &count),
                     WH_ERR_ARGUMENT);
    assert_null(events);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_each_wheel_answers_where_it_is, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_same_seed_same_walk, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_sends_by_itself, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_weak_ones_are_not_heard, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_mate_is_woken_too, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_bad_arguments, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
