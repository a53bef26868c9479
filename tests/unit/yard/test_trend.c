#include "trend.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "../near.h"
#include "rng.h"

#define DAY_US    INT64_C(86400000000)
#define MINUTE_US INT64_C(60000000)
#define START_US  INT64_C(1772000000000000)

static const wh_absolute sea_level = {WH_STANDARD_ATMOSPHERE_KPA};

/* A history to be filled. */
static wh_past past[600];
static size_t count;

/* A reading of a tire that would show `cold_kpa` gauge at 20 C: Gay-Lussac with 101.325 kPa and 273.15 K. */
static void add(const char *sensor, int64_t at_us, double cold_kpa, double celsius)
{
    wh_past *one = &past[count++];
    memset(one, 0, sizeof *one);
    snprintf(one->heard.sensor, sizeof one->heard.sensor, "%s", sensor);
    one->at_us = at_us;
    one->heard.pressure_state = one->heard.temperature_state = WH_VALUE_OK;
    one->heard.pressure.kpa = (cold_kpa + 101.325) * (celsius + 273.15) / 293.15 - 101.325;
    one->heard.temperature_c = celsius;
    one->heard.confidence = 0.99;
}

static wh_trend trend_since(int64_t since_us)
{
    static wh_trend trend;
    assert_int_equal(wh_trend_of(past, count, "0A1B2C3D", since_us, 20, sea_level, &trend), WH_OK);
    return trend;
}

static wh_trend trend_now(void)
{
    return trend_since(INT64_MIN);
}

static int empty(void **state)
{
    (void)state;
    count = 0;
    return 0;
}

static void assert_text(const wh_trend *trend, double level_kpa, wh_pressure_unit unit, const char *expected)
{
    char text[WH_TREND_TEXT_SIZE];
    assert_string_equal(wh_trend_text(text, trend, (wh_gauge){level_kpa}, unit), expected);
}

/* 724 kPa less 8.3 a day, three readings a visit, air from -5 to 35 C. After six days 674.2 kPa; (674.2 - 620) / 8.3 = 6.5 days. */
static void test_a_leak_in_changing_weather(void **state)
{
    (void)state;
    const double celsius[] = {20, 35, -5, 12, 3, 28, 16};
    for (int day = 0; day < 7; day++) {
        for (int i = 0; i < 3; i++) {
            add("0A1B2C3D", START_US + day * DAY_US + i * MINUTE_US, 724 - 8.3 * day, celsius[day]);
            add("0A1B2C40", START_US + day * DAY_US + i * MINUTE_US, 690, celsius[day]); /* another wheel */
        }
    }
    const wh_trend trend = trend_now();
    assert_int_equal(trend.state, WH_TREND_KNOWN);
    assert_int_equal(trend.visit_count, 7);
    assert_near(trend.span_days, 6, 1e-9);
    assert_near(trend.loss, 8.3, 1e-6);
    assert_near(trend.loss_low, 8.3, 1e-6);
    assert_near(trend.loss_high, 8.3, 1e-6);
    assert_near(trend.cold_kpa, 674.2, 1e-6);
    assert_text(&trend, 620, WH_KPA, "losing 8.3 kPa a day (8.3 to 8.3), reaches 620 kPa gauge in 6 days");
    assert_text(&trend, 620, WH_PSI, "losing 1.2 psi a day (1.2 to 1.2), reaches 89.9 psi gauge in 6 days");
    assert_text(&trend, 670, WH_KPA, "losing 8.3 kPa a day (8.3 to 8.3), reaches 670 kPa gauge within a day");
    assert_text(&trend, 680, WH_KPA, "losing 8.3 kPa a day (8.3 to 8.3), has come down to 680 kPa gauge");
    assert_text(&trend, 0, WH_KPA, "losing 8.3 kPa a day (8.3 to 8.3)");
}

/* A tight tire over two weeks in which it cools from 35 to -20 C: as read it falls by 149 kPa. */
static void test_cooling_is_no_leak(void **state)
{
    (void)state;
    for (int day = 0; day < 14; day++)
        add("0A1B2C3D", START_US + day * DAY_US, 690, 35 - 55.0 * day / 13);
    assert_true(past[0].heard.pressure.kpa - past[13].heard.pressure.kpa > 100);
    const wh_trend trend = trend_now();
    assert_int_equal(trend.state, WH_TREND_KNOWN);
    assert_near(trend.loss, 0, 1e-6);
}

/* Without temperatures the same history must not be called a leak. */
static void test_no_temperature_no_trend(void **state)
{
    (void)state;
    for (int day = 0; day < 14; day++) {
        add("0A1B2C3D", START_US + day * DAY_US, 690 - 10 * day, 20);
        past[day].heard.temperature_state = WH_VALUE_ABSENT;
    }
    const wh_trend trend = trend_now();
    assert_int_equal(trend.state, WH_TREND_NO_TEMPERATURE);
    assert_text(&trend, 620, WH_KPA, "no trend: no temperature was read, and cooling looks like losing air");
}

static void test_nothing_heard(void **state)
{
    (void)state;
    add("0A1B2C40", START_US, 690, 20);
    add("0A1B2C3D", START_US, 690, 20);
    past[1].heard.pressure_state = WH_VALUE_FAULT;
    const wh_trend trend = trend_now();
    assert_int_equal(trend.state, WH_TREND_NO_PRESSURE);
    assert_text(&trend, 620, WH_KPA, "no trend: no pressure was read");
}

/* Four visits within a day, and three over three days, are not enough; the fourth over three days is. */
static void test_not_enough_time_yet(void **state)
{
    (void)state;
    for (int i = 0; i < 4; i++)
        add("0A1B2C3D", START_US + i * 60 * MINUTE_US, 700 - 10 * i, 20);
    wh_trend trend = trend_now();
    assert_int_equal(trend.state, WH_TREND_NOT_ENOUGH);
    assert_text(&trend, 620, WH_KPA,
                "not enough time yet: 4 visits over 0.1 days; it takes four without adding air, half an hour apart and "
                "over a day at least");
    count = 0;
    for (int i = 0; i < 3; i++)
        add("0A1B2C3D", START_US + i * DAY_US, 700 - 10 * i, 20);
    trend = trend_now();
    assert_int_equal(trend.state, WH_TREND_NOT_ENOUGH);
    add("0A1B2C3D", START_US + 3 * DAY_US, 670, 20);
    trend = trend_now();
    assert_int_equal(trend.state, WH_TREND_KNOWN);
    assert_near(trend.loss, 10, 1e-6);
}

/* Topped up at each weekly visit (read before and after): the line through all readings is level, the tire loses 38 to 42 kPa
 * a week. Slope of the pairs within the weeks as in test_robust_slope: about -5.6. */
static void test_refills_are_steps(void **state)
{
    (void)state;
    const double after[] = {690, 690, 691, 690}, before[] = {0, 652, 648, 655, 650};
    for (int week = 0; week < 5; week++) {
        if (week > 0)
            add("0A1B2C3D", START_US + week * 7 * DAY_US, before[week], 20);
        if (week < 4)
            add("0A1B2C3D", START_US + week * 7 * DAY_US + 10 * MINUTE_US, after[week], 20);
    }
    const wh_trend trend = trend_now();
    assert_int_equal(trend.state, WH_TREND_KNOWN);
    assert_int_equal(trend.refills, 3);
    assert_int_equal(trend.visit_count, 8);
    assert_near(trend.loss, 5.6, 0.2);
    assert_near(trend.cold_kpa, 650, 3);
}

/* After a month without a visit nothing is concluded from the difference: two level stretches at 700 and 690. */
static void test_a_long_absence_parts_the_history(void **state)
{
    (void)state;
    for (int i = 0; i < 3; i++)
        add("0A1B2C3D", START_US + i * DAY_US, 700, 20);
    for (int i = 0; i < 3; i++)
        add("0A1B2C3D", START_US + (40 + i) * DAY_US, 690, 20);
    wh_trend trend = trend_now();
    assert_int_equal(trend.visits[2].stretch, 0);
    assert_int_equal(trend.visits[3].stretch, 1);
    assert_int_equal(trend.refills, 0);
    assert_near(trend.span_days, 4, 1e-9);
    count = 0; /* within the month the same readings are one stretch */
    for (int i = 0; i < 3; i++)
        add("0A1B2C3D", START_US + i * DAY_US, 700, 20);
    for (int i = 0; i < 3; i++)
        add("0A1B2C3D", START_US + (20 + i) * DAY_US, 690, 20);
    trend = trend_now();
    assert_int_equal(trend.visits[5].stretch, 0);
    assert_true(trend.loss > 0.3);
}

static void test_a_single_wild_visit_is_no_refill(void **state)
{
    (void)state;
    const double cold[] = {700, 695, 690, 840, 680, 675, 670};
    for (int day = 0; day < 7; day++)
        add("0A1B2C3D", START_US + day * DAY_US, cold[day], 20);
    const wh_trend trend = trend_now();
    assert_int_equal(trend.refills, 0);
    assert_int_equal(trend.state, WH_TREND_KNOWN);
    assert_near(trend.loss, 5, 1e-6);
}

static void test_only_after_the_repair_and_only_the_confident(void **state)
{
    (void)state;
    for (int day = 0; day < 6; day++)
        add("0A1B2C3D", START_US + day * DAY_US, 700 - 3 * day, 20);
    wh_trend trend = trend_since(START_US + 3 * DAY_US);
    assert_int_equal(trend.visit_count, 3);
    assert_int_equal(trend.state, WH_TREND_NOT_ENOUGH);
    past[1].heard.confidence = 0.6;
    trend = trend_now();
    assert_int_equal(trend.visit_count, 5);
}

/* A repaired tire that gains nothing and loses nothing: the interval takes in 0, and the text does not claim a loss. */
static void test_no_sure_change(void **state)
{
    (void)state;
    const double cold[] = {700, 703, 697, 701, 699, 702};
    for (int day = 0; day < 6; day++)
        add("0A1B2C3D", START_US + day * DAY_US, cold[day], 20);
    const wh_trend trend = trend_now();
    assert_true(trend.loss_low < 0 && trend.loss_high > 0);
    char text[WH_TREND_TEXT_SIZE];
    wh_trend_text(text, &trend, (wh_gauge){620}, WH_KPA);
    assert_true(strncmp(text, "no sure change: ", 16) == 0);
    assert_null(strstr(text, "reaches"));
}

/* The interval is one of 95 %: over 1000 histories of ten daily visits with Gaussian noise it must hold the true loss in 93 to
 * 98 % (three standard deviations of that share are 2 %; the discrete S makes the interval a little wide). */
static void test_the_interval_keeps_its_promise(void **state)
{
    (void)state;
    wh_rng rng;
    wh_rng_seed(&rng, 20260302);
    int held = 0;
    for (int history = 0; history < 1000; history++) {
        count = 0;
        for (int day = 0; day < 10; day++) {
            double noise[2];
            wh_rng_gauss_pair(&rng, noise);
            add("0A1B2C3D", START_US + day * DAY_US, 720 - 2.5 * day + 3.0 * noise[0], 20 + 5 * noise[1]);
        }
        const wh_trend trend = trend_now();
        assert_int_equal(trend.state, WH_TREND_KNOWN);
        held += trend.loss_low <= 2.5 && trend.loss_high >= 2.5;
    }
    assert_in_range(held, 930, 980);
}

/* More visits than are kept: the latest stay. */
static void test_the_oldest_visits_go(void **state)
{
    (void)state;
    for (int i = 0; i < WH_SLOPE_POINTS_MAX + 50; i++)
        add("0A1B2C3D", START_US + i * 40 * MINUTE_US, 700 - 0.01 * i, 20);
    const wh_trend trend = trend_now();
    assert_int_equal(trend.visit_count, WH_SLOPE_POINTS_MAX);
    assert_true(trend.visits[0].at_us == past[50].at_us);
    assert_near(trend.loss, 0.36, 1e-6); /* 0.01 kPa in 40 minutes, 36 times a day */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(test_a_leak_in_changing_weather, empty),
        cmocka_unit_test_setup(test_cooling_is_no_leak, empty),
        cmocka_unit_test_setup(test_no_temperature_no_trend, empty),
        cmocka_unit_test_setup(test_nothing_heard, empty),
        cmocka_unit_test_setup(test_not_enough_time_yet, empty),
        cmocka_unit_test_setup(test_refills_are_steps, empty),
        cmocka_unit_test_setup(test_a_long_absence_parts_the_history, empty),
        cmocka_unit_test_setup(test_a_single_wild_visit_is_no_refill, empty),
        cmocka_unit_test_setup(test_only_after_the_repair_and_only_the_confident, empty),
        cmocka_unit_test_setup(test_no_sure_change, empty),
        cmocka_unit_test_setup(test_the_interval_keeps_its_promise, empty),
        cmocka_unit_test_setup(test_the_oldest_visits_go, empty),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
