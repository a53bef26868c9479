#include "robust_slope.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../near.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

static void compare(const double *x, const double *y, size_t count, double slope, double low, double high)
{
    wh_slope_point points[64];
    for (size_t i = 0; i < count; i++)
        points[i] = (wh_slope_point){x[i], y[i], 0};
    wh_robust_slope got;
    assert_int_equal(wh_robust_slope_of(points, count, &got), WH_OK);
    assert_true(got.bounded);
    assert_near(got.slope, slope, 1e-9);
    assert_near(got.low, low, 1e-9);
    assert_near(got.high, high, 1e-9);
}

/* Expected values: scipy.stats.theilslopes(y, x, 0.95) of scipy 1.10.1 gives slope, intercept, low, high. */
static void test_four_points(void **state)
{
    (void)state;
    const double x[] = {0, 1, 2, 3}, y[] = {700, 691.5, 684, 675};
    compare(x, y, COUNT(x), -8.29166666667, -9.0, -7.5);
}

static void test_one_wild_value(void **state)
{
    (void)state;
    const double x[] = {0, 1, 2, 4, 5, 7, 8, 11, 13, 14};
    const double y[] = {724, 716.2, 707.9, 690.1, 683.4, 520.0, 658.8, 634.1, 617.2, 609.0};
    compare(x, y, COUNT(x), -8.21428571429, -8.3, -8.12);
}

static void test_ties_in_both(void **state)
{
    (void)state;
    const double x[] = {0, 0, 1, 1, 2, 3, 3, 5, 6, 8, 9, 9};
    const double y[] = {700, 703, 697, 697, 694, 694, 691, 688, 688, 682, 679, 682};
    compare(x, y, COUNT(x), -2.25, -3.0, -2.0);
}

/* Many readings on the same day: without the correction for ties in x the interval would be -5.55 to -0.70. */
static void test_ties_in_x(void **state)
{
    (void)state;
    const double x[] = {0, 0, 0, 0, 0, 0, 1, 1, 2, 3, 3, 3};
    const double y[] = {691.9, 699.1, 696.5, 713.3, 700.9, 698.6, 695.9, 694.3, 689.8, 689.4, 692.9, 690.0};
    compare(x, y, COUNT(x), -2.95, -5.0, -0.833333333333);
}

static void test_all_the_same(void **state)
{
    (void)state;
    const double x[] = {0, 1, 2, 3, 4, 5}, y[] = {700, 700, 700, 700, 700, 700};
    compare(x, y, COUNT(x), 0, 0, 0);
}

/* Forty values of 720 - 1.3 x with noise of standard deviation 4, made by numpy's default_rng(7), rounded to 0.1. */
static void test_noise(void **state)
{
    (void)state;
    const double y[] = {720.0, 720.2, 717.0, 713.5, 714.3, 711.2, 714.4, 718.5, 710.2, 708.7,
                        712.2, 710.7, 708.7, 703.6, 706.2, 708.2, 699.0, 701.6, 694.8, 696.3,
                        693.1, 698.6, 693.5, 698.7, 697.2, 694.9, 684.6, 691.5, 692.5, 692.2,
                        684.6, 687.9, 684.9, 684.6, 691.1, 682.6, 684.8, 687.5, 680.6, 681.5};
    double x[COUNT(y)];
    for (size_t i = 0; i < COUNT(y); i++)
        x[i] = 0.75 * (double)i;
    compare(x, y, COUNT(y), -1.33333333333, -1.45396825397, -1.2);
}

/* A tire that is topped up each week. numpy over the pairs within each group, variances added (Hirsch, Slack and Smith 1982):
 * N = 6 pairs, Var S = 6.66..., slope -5.492063492, interval -6 to -5. */
static void test_pairs_within_groups(void **state)
{
    (void)state;
    const wh_slope_point points[] = {{0, 690, 0},  {7, 652, 0},  {7, 690, 1},  {14, 648, 1}, {14, 691, 2},
                                     {21, 655, 2}, {21, 690, 3}, {28, 650, 3}, {30, 640, 3}};
    wh_robust_slope got;
    assert_int_equal(wh_robust_slope_of(points, COUNT(points), &got), WH_OK);
    assert_int_equal(got.pairs, 6);
    assert_true(got.bounded);
    assert_near(got.slope, -5.492063492063492, 1e-12);
    assert_near(got.low, -6.0, 1e-12);
    assert_near(got.high, -5.0, 1e-12);
}

/* Three pairs of three groups: 1.96 x sqrt(3) = 3.39 is more than N = 3, so 95 % cannot be reached. Likewise three points
 * in a row (N = 3, Var S = 3.67), and four are the first that suffice (N = 6, 1.96 x sqrt(8.67) = 5.77). */
static void test_too_few_for_an_interval(void **state)
{
    (void)state;
    const wh_slope_point groups[] = {{0, 690, 0}, {7, 652, 0}, {7, 690, 1}, {14, 648, 1}, {14, 691, 2}, {21, 655, 2}};
    wh_robust_slope got;
    assert_int_equal(wh_robust_slope_of(groups, COUNT(groups), &got), WH_OK);
    assert_int_equal(got.pairs, 3);
    assert_false(got.bounded);
    const wh_slope_point row[] = {{0, 700, 0}, {1, 691.5, 0}, {2, 684, 0}, {3, 675, 0}};
    assert_int_equal(wh_robust_slope_of(row, 3, &got), WH_OK);
    assert_false(got.bounded);
    assert_int_equal(wh_robust_slope_of(row, 4, &got), WH_OK);
    assert_true(got.bounded);
}

static void test_degenerate(void **state)
{
    (void)state;
    const wh_slope_point points[] = {{3, 700, 0}, {3, 650, 0}, {4, 600, 1}};
    wh_robust_slope got;
    assert_int_equal(wh_robust_slope_of(points, 3, &got), WH_OK); /* no pair with different x in one group */
    assert_int_equal(got.pairs, 0);
    assert_false(got.bounded);
    assert_int_equal(wh_robust_slope_of(points, 0, &got), WH_OK);
    assert_int_equal(wh_robust_slope_of(points, 1, &got), WH_OK);
    assert_int_equal(wh_robust_slope_of(points, WH_SLOPE_POINTS_MAX + 1, &got), WH_ERR_LIMIT);
}

static void test_median(void **state)
{
    (void)state;
    double odd[] = {3, 1, 2}, even[] = {4, 1, 3, 2}, one[] = {7};
    assert_near(wh_median(odd, 3), 2, 0);
    assert_near(wh_median(even, 4), 2.5, 0);
    assert_near(wh_median(one, 1), 7, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_four_points),         cmocka_unit_test(test_one_wild_value),
        cmocka_unit_test(test_ties_in_both),        cmocka_unit_test(test_ties_in_x),
        cmocka_unit_test(test_all_the_same),        cmocka_unit_test(test_noise),
        cmocka_unit_test(test_pairs_within_groups), cmocka_unit_test(test_too_few_for_an_interval),
        cmocka_unit_test(test_degenerate),          cmocka_unit_test(test_median),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
