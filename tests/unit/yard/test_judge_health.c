#include "judged_unit.h"

#include "../near.h"

static judged_unit u;

static void test_hot(void **state)
{
    (void)state;
    begin(&u);
    /* At 85 C the cold pressure of 690 kPa is (690 + 101.325) x 358.15 / 293.15 - 101.325 = 865.5 kPa as read. */
    reads(&u, "1L", 865.5, 84.9);
    assert_nothing_found(&u);
    reads(&u, "1L", 865.5, 85.0);
    const wh_finding *finding = assert_only(&u, WH_FINDING_HOT, "1L");
    assert_int_equal(finding->severity, WH_SEVERITY_FAULT);
    assert_true(finding->inflation);
    assert_string_equal(finding->evidence, "85.0 C in the tire; the warmest of the other wheels has 20.0 C");
    assert_says(finding->remedy, "let no air out while it is hot");
    u.input.temperature_unit = WH_FAHRENHEIT;
    assert_says(assert_only(&u, WH_FINDING_HOT, "1L")->rule, "at or above 185.0 F");
    seat_at(&u, "1L")->latest.temperature_state =
        WH_VALUE_FAULT; /* no number, no heat; but a fault, and a high pressure */
    judge(&u);
    assert_int_equal(count_of(&u, WH_FINDING_HOT), 0);
    end(&u);
}

static void test_battery(void **state)
{
    (void)state;
    begin(&u);
    seat_at(&u, "1L")->latest.battery_low = -1; /* the sensor does not say */
    assert_nothing_found(&u);
    seat_at(&u, "1L")->latest.battery_low = 1;
    const wh_finding *finding = assert_only(&u, WH_FINDING_BATTERY_LOW, "1L");
    assert_int_equal(finding->severity, WH_SEVERITY_CHECK);
    assert_false(finding->inflation);
    assert_string_equal(finding->evidence, "0A1B2C00 reports a low battery");
    end(&u);
}

static void test_sensor_fault(void **state)
{
    (void)state;
    begin(&u);
    wh_heard *heard = &seat_at(&u, "1L")->latest;
    heard->pressure_state = WH_VALUE_NOT_AVAILABLE; /* it has no number now: no fault */
    assert_nothing_found(&u);
    heard->pressure_state = WH_VALUE_FAULT;
    const wh_finding *finding = assert_only(&u, WH_FINDING_SENSOR_FAULT, "1L");
    assert_int_equal(finding->severity, WH_SEVERITY_FAULT);
    assert_false(finding->has_pressure);
    assert_says(finding->evidence, "a fault in place of a pressure; the tire's pressure is not known");
    heard->pressure_state = WH_VALUE_IMPLAUSIBLE;
    assert_says(assert_only(&u, WH_FINDING_SENSOR_FAULT, "1L")->evidence, "outside the plausible range");
    heard->pressure_state = WH_VALUE_OK;
    heard->temperature_state = WH_VALUE_FAULT;
    finding = assert_only(&u, WH_FINDING_SENSOR_FAULT, "1L");
    assert_int_equal(finding->severity, WH_SEVERITY_CHECK);
    assert_says(finding->evidence, "in place of a temperature");
    heard->temperature_state = WH_VALUE_OK;
    heard->sensor_fault = 1;
    assert_says(assert_only(&u, WH_FINDING_SENSOR_FAULT, "1L")->evidence,
                "a fault of its own; its pressure may be wrong");
    end(&u);
}

/* Ten daily visits, 8.3 kPa a day lost from 720 kPa in weather between 5 and 30 C. */
static void leak(double per_day)
{
    const double celsius[] = {20, 30, 5, 12, 8, 28, 16, 22, 11, 19};
    for (int day = 0; day < 10; day++) {
        const double cold = 720 - per_day * day;
        add_past(&u, day, "0A1B2C00", (cold + 101.325) * (celsius[day] + 273.15) / 293.15 - 101.325, celsius[day]);
        add_past(&u, day, "0A1B2C01", (690 + 101.325) * (celsius[day] + 273.15) / 293.15 - 101.325, celsius[day]);
    }
}

/* After nine days 645.3 kPa; low is at 621 kPa: (645.3 - 621) / 8.3 = 2.9 days. */
static void test_losing_air(void **state)
{
    (void)state;
    begin(&u);
    leak(8.3);
    reads(&u, "1L", 645.3, 20);
    const wh_finding *finding = assert_only(&u, WH_FINDING_LOSING_AIR, "1L");
    assert_int_equal(finding->severity, WH_SEVERITY_CHECK);
    assert_true(finding->inflation);
    assert_string_equal(finding->evidence,
                        "losing 8.3 kPa a day (8.3 to 8.3), reaches 621 kPa gauge in 2 days; 10 visits in 9 days");
    assert_says(finding->rule, "more than 1.4 kPa a day");
    assert_says(finding->rule_source, "1 to 2 psi");
    end(&u);
}

/* What every tire loses, 14 kPa (2 psi) a month, is no leak; nor is a loss that may as well be chance. */
static void test_nearly_losing_air(void **state)
{
    (void)state;
    begin(&u);
    leak(14.0 / 30);
    assert_nothing_found(&u);
    end(&u);
    begin(&u);
    const double cold[] = {700, 708, 690, 705, 688, 703, 684};
    for (int day = 0; day < 7; day++)
        add_past(&u, day, "0A1B2C00", cold[day], 20);
    assert_nothing_found(&u);
    end(&u);
}

static void test_no_history(void **state)
{
    (void)state;
    begin(&u);
    leak(8.3);
    u.input.past_count = 4; /* two visits of each */
    assert_nothing_found(&u);
    u.input.past = NULL;
    u.input.past_count = 0;
    assert_nothing_found(&u);
    end(&u);
}

/* The leak was mended on the seventh day: what was lost before does not count any more. */
static void test_trends_begin_anew_with_a_repair(void **state)
{
    (void)state;
    begin(&u);
    leak(8.3);
    u.input.repaired_us = BEGIN_US + 7 * DAY_US;
    assert_nothing_found(&u);
    u.input.repaired_us = 0;
    assert_only(&u, WH_FINDING_LOSING_AIR, "1L");
    add_event(&u, 9.5 * 86400, WH_EVENT_REPAIRED, NULL);
    u.input.after_id = (int64_t)u.sweep.event_count;
    assert_nothing_found(&u);
    end(&u);
}

/* A sweep of last week is judged by what was known then: neither later readings nor a later repair count. */
static void test_the_past_ends_with_the_sweep(void **state)
{
    (void)state;
    begin(&u);
    leak(8.3);
    u.sweep.dated = true;
    u.input.repaired_us = BEGIN_US + 20 * DAY_US;
    add_event(&u, 9.5 * 86400, WH_EVENT_END, NULL);
    assert_only(&u, WH_FINDING_LOSING_AIR, "1L");
    u.events[u.sweep.event_count - 1].at_us = BEGIN_US + 2 * DAY_US; /* three visits of each so far */
    assert_nothing_found(&u);
    u.sweep.dated = false; /* without a date it cannot be told, and all counts */
    u.input.repaired_us = 0;
    assert_only(&u, WH_FINDING_LOSING_AIR, "1L");
    end(&u);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_hot),
        cmocka_unit_test(test_battery),
        cmocka_unit_test(test_sensor_fault),
        cmocka_unit_test(test_losing_air),
        cmocka_unit_test(test_nearly_losing_air),
        cmocka_unit_test(test_no_history),
        cmocka_unit_test(test_trends_begin_anew_with_a_repair),
        cmocka_unit_test(test_the_past_ends_with_the_sweep),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
