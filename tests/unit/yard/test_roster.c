#include "wheelhark/roster.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static wh_unit make(const char *name)
{
    const bool dual[] = {false, true};
    wh_unit unit;
    assert_int_equal(wh_unit_make(&unit, name, WH_TRACTOR, 2, dual, NULL), WH_OK);
    return unit;
}

/* The walk: left side to the back, right side to the front, outer before inner. */
static void test_walk_order(void **state)
{
    (void)state;
    static const char *const walk[] = {"1L", "2LO", "2LI", "3LO", "3LI", "3RO", "3RI", "2RO", "2RI", "1R"};
    const bool dual[] = {false, true, true};
    wh_unit unit;
    assert_int_equal(wh_unit_make(&unit, "4711", WH_TRACTOR, 3, dual, NULL), WH_OK);
    assert_int_equal(unit.wheel_count, 10);
    assert_int_equal(unit.first_axle, 1);
    for (unsigned i = 0; i < 10; i++) {
        char text[WH_POSITION_SIZE];
        assert_string_equal(wh_position_text(text, unit.wheels[i].position), walk[i]);
        assert_ptr_equal(wh_unit_wheel(&unit, unit.wheels[i].position), &unit.wheels[i]);
        assert_string_equal(unit.wheels[i].sensor, "");
        assert_true(unit.wheels[i].target.kpa == 0.0);
    }
    assert_null(wh_unit_wheel(&unit, (wh_position){2, WH_LEFT, WH_SINGLE}));
    assert_null(wh_unit_wheel(&unit, (wh_position){4, WH_LEFT, WH_OUTER}));
}

static void test_largest_unit(void **state)
{
    (void)state;
    bool dual[WH_AXLES_MAX];
    for (int i = 0; i < WH_AXLES_MAX; i++)
        dual[i] = true;
    wh_unit unit;
    assert_int_equal(wh_unit_make(&unit, "long", WH_OTHER_UNIT, WH_AXLES_MAX, dual, NULL), WH_OK);
    assert_int_equal(unit.wheel_count, WH_WHEELS_MAX);
}

static void test_refused_units(void **state)
{
    (void)state;
    const bool dual[] = {false};
    char longest[WH_UNIT_NAME_SIZE + 1];
    memset(longest, 'x', sizeof longest);
    longest[WH_UNIT_NAME_SIZE] = '\0';
    wh_unit unit;
    wh_error error;
    static const char *const names[] = {"", "   ", "a\tb", "a\nb", "\x1b[2J", "a\xff", "\xc2\x85"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        wh_error_clear(&error);
        assert_int_equal(wh_unit_make(&unit, names[i], WH_TRAILER, 1, dual, &error), WH_ERR_ARGUMENT);
        assert_true(error.what[0] && error.fix[0]);
    }
    assert_int_equal(wh_unit_make(&unit, longest, WH_TRAILER, 1, dual, &error), WH_ERR_ARGUMENT);
    longest[WH_UNIT_NAME_SIZE - 1] = '\0';
    assert_int_equal(wh_unit_make(&unit, longest, WH_TRAILER, 1, dual, &error), WH_OK);
    assert_int_equal(wh_unit_make(&unit, "a", WH_TRAILER, 0, dual, &error), WH_ERR_ARGUMENT);
    assert_int_equal(wh_unit_make(&unit, "a", WH_TRAILER, WH_AXLES_MAX + 1, dual, &error), WH_ERR_ARGUMENT);
    assert_int_equal(wh_unit_make(&unit, "a", WH_UNIT_KIND_COUNT, 1, dual, &error), WH_ERR_ARGUMENT);
    assert_int_equal(wh_unit_make(&unit, "Anhänger 7", WH_TRAILER, 1, dual, &error), WH_OK);
}

static void test_kinds(void **state)
{
    (void)state;
    for (int i = 0; i < WH_UNIT_KIND_COUNT; i++) {
        wh_unit_kind kind = WH_UNIT_KIND_COUNT;
        assert_true(wh_unit_kind_parse(wh_unit_kind_name((wh_unit_kind)i), &kind));
        assert_int_equal(kind, i);
    }
    wh_unit_kind kind;
    assert_true(wh_unit_kind_parse("Trailer", &kind));
    assert_int_equal(kind, WH_TRAILER);
    assert_false(wh_unit_kind_parse("boat", &kind));
    assert_string_equal(wh_unit_kind_name(WH_UNIT_KIND_COUNT), "unknown");
}

static void test_collection(void **state)
{
    (void)state;
    static const char *const names[] = {"T-9", "T-10", "A1", "t-9", "A10"};
    static const char *const sorted[] = {"A1", "A10", "T-10", "T-9", "t-9"};
    wh_roster *roster = wh_roster_create();
    assert_non_null(roster);
    for (int i = 0; i < 5; i++) {
        const wh_unit unit = make(names[i]);
        assert_int_equal(wh_roster_put(roster, &unit, NULL), WH_OK);
    }
    assert_int_equal(wh_roster_count(roster), 5);
    for (int i = 0; i < 5; i++)
        assert_string_equal(wh_roster_at(roster, (size_t)i)->name, sorted[i]);
    assert_null(wh_roster_at(roster, 5));

    wh_unit changed = make("A10");
    changed.kind = WH_DOLLY;
    assert_int_equal(wh_roster_put(roster, &changed, NULL), WH_OK);
    assert_int_equal(wh_roster_count(roster), 5);
    assert_int_equal(wh_roster_find(roster, "A10")->kind, WH_DOLLY);
    assert_null(wh_roster_find(roster, "A"));

    assert_int_equal(wh_roster_remove(roster, "A1"), WH_OK);
    assert_int_equal(wh_roster_remove(roster, "A1"), WH_ERR_NOT_FOUND);
    assert_int_equal(wh_roster_count(roster), 4);
    assert_string_equal(wh_roster_at(roster, 0)->name, "A10");
    wh_roster_destroy(&roster);
    assert_null(roster);
    wh_roster_destroy(&roster);
}

/* Enough to grow the array several times, put in from the back. */
static void test_many(void **state)
{
    (void)state;
    wh_roster *roster = wh_roster_create();
    for (int i = 199; i >= 0; i--) {
        char name[WH_UNIT_NAME_SIZE];
        snprintf(name, sizeof name, "%03d", i);
        const wh_unit unit = make(name);
        assert_int_equal(wh_roster_put(roster, &unit, NULL), WH_OK);
    }
    for (int i = 0; i < 200; i++)
        assert_int_equal(strtol(wh_roster_at(roster, (size_t)i)->name, NULL, 10), i);
    wh_roster_destroy(&roster);
}

static void test_where_a_sensor_is(void **state)
{
    (void)state;
    wh_roster *roster = wh_roster_create();
    wh_unit one = make("one"), two = make("two");
    snprintf(one.wheels[0].sensor, sizeof one.wheels[0].sensor, "0A1B2C3D");
    snprintf(two.wheels[3].sensor, sizeof two.wheels[3].sensor, "0A1B2C3D");
    snprintf(two.wheels[4].sensor, sizeof two.wheels[4].sensor, "0A1B2C3E");
    assert_int_equal(wh_roster_put(roster, &one, NULL), WH_OK);
    assert_int_equal(wh_roster_put(roster, &two, NULL), WH_OK);

    wh_roster_place places[2] = {{0}};
    assert_int_equal(wh_roster_places(roster, "0A1B2C3E", places, 2), 1);
    assert_string_equal(places[0].unit->name, "two");
    assert_ptr_equal(places[0].wheel, &places[0].unit->wheels[4]);
    assert_int_equal(wh_roster_places(roster, "0A1B2C3D", places, 2), 2);
    assert_string_equal(places[0].unit->name, "one");
    assert_string_equal(places[1].unit->name, "two");
    assert_int_equal(wh_roster_places(roster, "0A1B2C3D", NULL, 0), 2);
    assert_int_equal(wh_roster_places(roster, "FFFF", places, 2), 0);
    assert_int_equal(wh_roster_places(roster, "", places, 2), 0);
    wh_roster_destroy(&roster);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_walk_order),        cmocka_unit_test(test_largest_unit),
        cmocka_unit_test(test_refused_units),     cmocka_unit_test(test_kinds),
        cmocka_unit_test(test_collection),        cmocka_unit_test(test_many),
        cmocka_unit_test(test_where_a_sensor_is),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
