#include "unit_geometry.h"

#include "../near.h"

static wh_unit make(wh_unit_kind kind, unsigned axles, const bool *dual)
{
    wh_unit unit;
    assert_int_equal(wh_unit_make(&unit, "U", kind, axles, dual, NULL), WH_OK);
    return unit;
}

/* 23 CFR 658.5: a tandem is two axles more than 40 and not more than 96 inches apart. 23 CFR 658.15: 102 inches wide at most. */
static void test_within_the_regulations(void **state)
{
    (void)state;
    const bool dual[] = {true, true, true};
    const wh_unit unit = make(WH_TRAILER, 3, dual);
    wh_geometry g;
    wh_geometry_typical(&g, &unit);
    for (unsigned i = 1; i < 3; i++) {
        const double apart = g.axle_x[i] - g.axle_x[i - 1];
        assert_true(apart > 40 * 0.0254 && apart <= 96 * 0.0254);
    }
    assert_true(2.0 * g.face_y <= 102 * 0.0254);
}

/* A tractor's driven axles stand well behind the steered one; a trailer's first axle has no such gap. */
static void test_steered_axle(void **state)
{
    (void)state;
    const bool dual[] = {false, true, true};
    const wh_unit tractor = make(WH_TRACTOR, 3, dual), trailer = make(WH_TRAILER, 3, dual);
    wh_geometry g, t;
    wh_geometry_typical(&g, &tractor);
    wh_geometry_typical(&t, &trailer);
    assert_true(g.axle_x[1] - g.axle_x[0] > 3.0);
    assert_true(g.axle_x[2] - g.axle_x[1] < 2.0);
    assert_true(t.axle_x[1] - t.axle_x[0] < 2.0);
}

static void test_wheels_and_places(void **state)
{
    (void)state;
    const bool dual[] = {true, true};
    const wh_unit unit = make(WH_TRAILER, 2, dual);
    wh_geometry g;
    wh_geometry_typical(&g, &unit);
    const wh_position outer = {2, WH_LEFT, WH_OUTER}, inner = {2, WH_LEFT, WH_INNER}, right = {2, WH_RIGHT, WH_OUTER};
    /* Outer and inner: a minimum dual spacing of 13.5 in, about 343 mm (common practice, no source). */
    assert_near(wh_point_distance(wh_geometry_wheel(&g, outer), wh_geometry_wheel(&g, inner)), 13.5 * 0.0254, 0.01);
    assert_true(wh_geometry_wheel(&g, outer).y > wh_geometry_wheel(&g, inner).y);
    assert_near(wh_geometry_wheel(&g, right).y, -wh_geometry_wheel(&g, outer).y, 1e-12);
    const wh_point a = wh_geometry_place(&g, outer, 0.7, 0.9), b = wh_geometry_place(&g, inner, 0.7, 0.9);
    assert_near(wh_point_distance(a, b), 0.0, 1e-12);
    assert_near(a.y, g.face_y + 0.7, 1e-12);
    /* Positions the unit does not have do not lead astray. */
    const wh_position beyond = {15, WH_LEFT, WH_OUTER}, nowhere = {0, WH_LEFT, WH_SINGLE};
    assert_near(wh_geometry_wheel(&g, beyond).x, g.axle_x[1], 1e-12);
    assert_near(wh_geometry_wheel(&g, nowhere).x, 0.0, 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_within_the_regulations),
        cmocka_unit_test(test_steered_axle),
        cmocka_unit_test(test_wheels_and_places),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
