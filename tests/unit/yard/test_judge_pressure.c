#include "judged_unit.h"

#include "../near.h"

static judged_unit u;

#define PSI 6.894757 /* kPa, NIST SP 811 */

static void test_in_order(void **state)
{
    (void)state;
    begin(&u);
    assert_nothing_found(&u);
    end(&u);
}

/* 29 CFR 1910.177(f): driven at 80 % or less of the recommended pressure: deflate, remove, inspect; more than 80 %: may be
 * inflated by remote control. Worked at 100 psi: 80.0 psi and 80.1 psi. */
static void test_eighty_per_cent(void **state)
{
    (void)state;
    begin(&u);
    u.input.pressure_unit = WH_PSI;
    wheel_at(&u, "1L")->target.kpa = 100 * PSI;
    reads(&u, "1L", 80.0 * PSI, 20);
    const wh_finding *finding = assert_only(&u, WH_FINDING_FAR_TOO_LOW, "1L");
    assert_int_equal(finding->severity, WH_SEVERITY_FAULT);
    assert_true(finding->inflation);
    assert_string_equal(finding->evidence,
                        "80.0 psi gauge at 20.0 C, 80.0 psi gauge at 20.0 C; target 100.0 psi gauge: 80 %");
    assert_string_equal(finding->rule, "at or below 80 % of the target: 80.0 psi gauge");
    assert_string_equal(finding->rule_source, "29 CFR 1910.177(f)");
    assert_says(finding->remedy, "Add no air on the vehicle: deflate completely, remove the wheel, inspect");
    assert_near(finding->odds, 0.98 * 0.5, 1e-6); /* at the limit the reading is as likely above as below */

    reads(&u, "1L", 80.1 * PSI, 20);
    finding = assert_only(&u, WH_FINDING_LOW, "1L");
    assert_says(finding->remedy, "Above 80.0 psi gauge (80 %): find the cause, set to 100.0 psi gauge cold");
    assert_says(finding->remedy, "Else no air on the vehicle");
    end(&u);
}

/* CVSA: flat at half or less of the maximum marked on the sidewall, which is not the target. 120 psi: flat at 60 psi. */
static void test_flat_by_the_sidewall(void **state)
{
    (void)state;
    begin(&u);
    u.input.pressure_unit = WH_PSI;
    wheel_at(&u, "1L")->sidewall_max.kpa = 120 * PSI;
    reads(&u, "1L", 60.0 * PSI, 20);
    const wh_finding *finding = assert_only(&u, WH_FINDING_FLAT, "1L");
    assert_int_equal(finding->severity, WH_SEVERITY_FAULT);
    assert_true(finding->inflation);
    assert_says(finding->rule, "at or below 50 % of the sidewall maximum: 60.0 psi gauge");
    assert_says(finding->rule_source, "CVSA");
    reads(&u, "1L", 60.1 * PSI, 20);
    assert_only(&u, WH_FINDING_FAR_TOO_LOW, "1L"); /* 60.1 of 100 psi */
    wheel_at(&u, "1L")->sidewall_max.kpa = 0;      /* not on record: the rule cannot be applied */
    reads(&u, "1L", 40.0 * PSI, 20);
    assert_only(&u, WH_FINDING_FAR_TOO_LOW, "1L");
    end(&u);
}

static void test_low(void **state)
{
    (void)state;
    begin(&u);
    reads(&u, "1L", 621, 20); /* 690 x 0.90 */
    const wh_finding *finding = assert_only(&u, WH_FINDING_LOW, "1L");
    assert_int_equal(finding->severity, WH_SEVERITY_CHECK);
    assert_true(finding->inflation && finding->has_pressure && finding->has_temperature);
    assert_near(finding->cold.kpa, 621, 1e-9);
    assert_near(finding->target.kpa, 690, 0);
    assert_string_equal(finding->rule_source, "common practice, no source");
    reads(&u, "1L", 622, 20);
    assert_nothing_found(&u);
    assert_int_equal(wh_thresholds_set(&u.thresholds, "low share", 95, NULL), WH_OK);
    finding = assert_only(&u, WH_FINDING_LOW, "1L");
    assert_string_equal(finding->rule_source, "fleet setting");
    assert_says(finding->rule, "95 % of the target, cold: 656 kPa gauge");
    end(&u);
}

/* A warm tire reads its target and has too little air: at 20 C it has (690 + 101.325) x 293.15 / 333.15 -
 * 101.325 = 594.99 kPa, 86 %. By the gauge pressure alone it would be 607 kPa. */
static void test_a_warm_tire_hides_a_low_one(void **state)
{
    (void)state;
    begin(&u);
    reads(&u, "1L", 690, 60);
    u.input.has_ambient = true;
    u.input.ambient_c = 25;
    const wh_finding *finding = assert_only(&u, WH_FINDING_LOW, "1L");
    assert_near(finding->cold.kpa, 594.99, 0.01);
    assert_near(finding->pressure.kpa, 690, 0);
    assert_string_equal(finding->evidence,
                        "690 kPa gauge at 60.0 C (warm), 595 kPa gauge at 20.0 C; target 690 kPa gauge: 86 %");
    end(&u);
}

/* In the cold a well-filled tire reads less: 690 kPa at 20 C are 582.02 kPa at -20 C, 84 % of the target as read. */
static void test_cold_weather_is_no_low_tire(void **state)
{
    (void)state;
    begin(&u);
    for (unsigned i = 0; i < u.unit.wheel_count; i++)
        u.attribution.seats[i].latest = reading_of(u.attribution.seats[i].sensor, 582.02, -20);
    assert_nothing_found(&u);
    end(&u);
}

/* The regulation's 80 % knows no temperature: as read 546 kPa (79.1 %) counts, whatever its cold pressure is. */
static void test_far_too_low_as_read_or_cold(void **state)
{
    (void)state;
    begin(&u);
    reads(&u, "1L", 546, -20);
    const wh_finding *finding = assert_only(&u, WH_FINDING_FAR_TOO_LOW, "1L");
    assert_near(finding->cold.kpa, 648.2, 0.1); /* (546 + 101.325) x 293.15 / 253.15 - 101.325 */
    assert_says(finding->evidence, "target 690 kPa gauge: 79 %");
    reads(&u, "1L", 640, 60); /* cold (640 + 101.325) x 293.15 / 333.15 - 101.325 = 550.99: 79.9 % */
    finding = assert_only(&u, WH_FINDING_FAR_TOO_LOW, "1L");
    assert_near(finding->cold.kpa, 550.99, 0.01);
    end(&u);
}

static void test_high(void **state)
{
    (void)state;
    begin(&u);
    reads(&u, "1L", 760, 20); /* limit 690 x 1.1 = 759 */
    const wh_finding *finding = assert_only(&u, WH_FINDING_HIGH, "1L");
    assert_true(finding->inflation);
    assert_says(finding->remedy, "let no air out of a warm tire");
    reads(&u, "1L", 759, 20);
    assert_nothing_found(&u);
    reads(&u, "1L", 797.98, 60); /* 690 at 20 C: warm, not high */
    assert_nothing_found(&u);
    wheel_at(&u, "1L")->target.kpa = 0; /* without a target, by the sidewall: 827 x 1.1 = 909.7 */
    seat_at(&u, "1R")->latest.pressure_state = WH_VALUE_ABSENT;
    reads(&u, "1L", 909, 20);
    assert_nothing_found(&u);
    reads(&u, "1L", 911, 20);
    finding = assert_only(&u, WH_FINDING_HIGH, "1L");
    assert_says(finding->rule, "above 110 % of the sidewall maximum");
    end(&u);
}

static void test_missing_data(void **state)
{
    (void)state;
    begin(&u);
    wheel_at(&u, "1L")->target.kpa = 0; /* no target and no sidewall maximum: no rule applies */
    wheel_at(&u, "1L")->sidewall_max.kpa = 0;
    reads(&u, "1L", 660, 20);
    assert_nothing_found(&u);
    wheel_at(&u, "1L")->target.kpa = 690; /* no temperature: as read, and it is said */
    reads(&u, "1L", 600, 0)->temperature_state = WH_VALUE_ABSENT;
    const wh_finding *finding = assert_only(&u, WH_FINDING_LOW, "1L");
    assert_string_equal(finding->evidence, "600 kPa gauge, no temperature: taken as read; target 690 kPa gauge: 87 %");
    assert_false(finding->has_temperature);
    reads(&u, "1L", 600, 0)->pressure_state = WH_VALUE_NOT_AVAILABLE; /* no pressure: nothing is made up */
    assert_nothing_found(&u);
    end(&u);
}

/* An absolute sensor at 1524 m (84.307 kPa): what was worked out for sea level is 17 kPa less than a gauge shows there. */
static void test_altitude_of_the_site(void **state)
{
    (void)state;
    begin(&u);
    wh_heard *heard = reads(&u, "1L", 710 - WH_STANDARD_ATMOSPHERE_KPA, 20); /* 608.7: low by sea level */
    heard->from_absolute = true;
    heard->absolute.kpa = 710;
    assert_only(&u, WH_FINDING_LOW, "1L");
    u.input.site = wh_site_at_altitude(1524); /* 625.7: above 621 */
    assert_nothing_found(&u);
    end(&u);
}

/* One low tire of a dual pair is one finding, and it names the mate; CCOHS: check both by gauge. */
static void test_a_low_dual_names_its_mate(void **state)
{
    (void)state;
    begin(&u);
    reads(&u, "2LO", 500, 20);
    reads(&u, "2LI", 700, 20);
    const wh_finding *finding = assert_only(&u, WH_FINDING_FAR_TOO_LOW, "2LO");
    assert_says(finding->evidence, "its mate 2LI reads 700 kPa gauge");
    assert_says(finding->remedy, "Its mate 2LI carried its load: gauge and inspect it too.");
    seat_at(&u, "2LI")->latest.pressure_state = WH_VALUE_NOT_AVAILABLE;
    finding = assert_only(&u, WH_FINDING_FAR_TOO_LOW, "2LO");
    assert_says(finding->evidence, "its mate 2LI was not read");
    end(&u);
}

/* TMC RP 235A: 5 psi (34.5 kPa) between dual mates are up to 5/16 in of circumference. */
static void test_duals_apart(void **state)
{
    (void)state;
    begin(&u);
    reads(&u, "2LO", 670, 20);
    reads(&u, "2LI", 704.4, 20);
    assert_nothing_found(&u);
    reads(&u, "2LI", 704.6, 20);
    const wh_finding *finding = assert_only(&u, WH_FINDING_DUALS_APART, "2LO");
    assert_true(wh_position_equal(finding->other, at("2LI")));
    assert_string_equal(finding->evidence, "2LO 670 kPa gauge, 2LI 705 kPa gauge, both at 20.0 C: 35 kPa apart");
    assert_says(finding->rule_source, "TMC RP 235A");
    assert_says(finding->remedy, "Check both by gauge");
    assert_true(finding->inflation);
    seat_at(&u, "2LI")->latest.pressure_state = WH_VALUE_ABSENT; /* one not read */
    assert_nothing_found(&u);
    end(&u);
}

/* The sunny mate is warmer: 690 kPa at 20 C and 728.7 kPa at 34.5 C are the same air (791.325 x 307.65 / 293.15 - 101.325 =
 * 729.14 kPa). With one temperature missing they cannot be compared. */
static void test_duals_at_different_temperatures(void **state)
{
    (void)state;
    begin(&u);
    reads(&u, "2LI", 729.14, 34.5);
    assert_nothing_found(&u);
    reads(&u, "2LI", 729.14, 34.5)->temperature_state = WH_VALUE_ABSENT;
    assert_nothing_found(&u);
    seat_at(&u, "2LO")->latest.temperature_state = WH_VALUE_ABSENT; /* both missing: as read */
    const wh_finding *finding = assert_only(&u, WH_FINDING_DUALS_APART, "2LO");
    assert_says(finding->evidence, "no temperatures: taken as read");
    end(&u);
}

static void test_sides_apart(void **state)
{
    (void)state;
    begin(&u);
    reads(&u, "1L", 660, 20);
    reads(&u, "1R", 729, 20);
    assert_nothing_found(&u);
    reads(&u, "1R", 729.2, 20);
    const wh_finding *finding = assert_only(&u, WH_FINDING_SIDES_APART, "1L");
    assert_true(wh_position_equal(finding->other, at("1R")));
    assert_says(finding->evidence, "1L 660 kPa gauge, 1R 729 kPa gauge");
    wheel_at(&u, "1R")->target.kpa = 730; /* meant to differ */
    assert_nothing_found(&u);
    wheel_at(&u, "1R")->target.kpa = 690;
    seat_at(&u, "1R")->latest.pressure_state = WH_VALUE_ABSENT;
    assert_nothing_found(&u);
    end(&u);
}

/* A low tire whose wheel is in doubt is told all the same, with the doubt; below even odds the wheel is not named. */
static void test_unsure_wheel(void **state)
{
    (void)state;
    begin(&u);
    reads(&u, "1L", 500, 20);
    seat_at(&u, "1L")->state = WH_SEAT_UNSURE;
    seat_at(&u, "1L")->odds = 0.6;
    judge(&u);
    const wh_finding *finding = found(&u, WH_FINDING_FAR_TOO_LOW, "1L");
    assert_says(finding->evidence, "not sure that it is this wheel");
    assert_near(finding->odds, 0.6, 0.001);
    assert_says(found(&u, WH_FINDING_NOT_SURE, "1L")->evidence, "reads 500 kPa gauge");
    seat_at(&u, "1L")->odds = 0.4;
    judge(&u);
    assert_int_equal(count_of(&u, WH_FINDING_FAR_TOO_LOW), 0);
    put_sensor(&u, "1L", "0A1B2D05"); /* the neighbour's, which may be here: its low tire is the neighbour's trouble */
    seat_at(&u, "1L")->state = WH_SEAT_UNSURE;
    seat_at(&u, "1L")->odds = 0.8;
    judge(&u);
    assert_int_equal(count_of(&u, WH_FINDING_FAR_TOO_LOW), 0);
    found(&u, WH_FINDING_NOT_SURE, "1L");
    end(&u);
}

/* Odds of a pressure finding: the reading's error is normal with a standard deviation of 10 kPa; 10 kPa below the limit is one
 * of them: 0.8413. */
static void test_odds_follow_the_distance_from_the_limit(void **state)
{
    (void)state;
    begin(&u);
    seat_at(&u, "1L")->state = WH_SEAT_BOUND;
    reads(&u, "1L", 542, 20)->confidence = 0.9; /* limit 552 */
    judge(&u);
    assert_near(found(&u, WH_FINDING_FAR_TOO_LOW, "1L")->odds, 0.9 * 0.841345, 1e-5);
    end(&u);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_in_order),
        cmocka_unit_test(test_eighty_per_cent),
        cmocka_unit_test(test_flat_by_the_sidewall),
        cmocka_unit_test(test_low),
        cmocka_unit_test(test_a_warm_tire_hides_a_low_one),
        cmocka_unit_test(test_cold_weather_is_no_low_tire),
        cmocka_unit_test(test_far_too_low_as_read_or_cold),
        cmocka_unit_test(test_high),
        cmocka_unit_test(test_missing_data),
        cmocka_unit_test(test_altitude_of_the_site),
        cmocka_unit_test(test_a_low_dual_names_its_mate),
        cmocka_unit_test(test_duals_apart),
        cmocka_unit_test(test_duals_at_different_temperatures),
        cmocka_unit_test(test_sides_apart),
        cmocka_unit_test(test_unsure_wheel),
        cmocka_unit_test(test_odds_follow_the_distance_from_the_limit),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
