#include "judged_unit.h"

#include "../near.h"
#include "identity.h"

static judged_unit u;

static void test_not_on_record(void **state)
{
    (void)state;
    begin(&u);
    put_sensor(&u, "2LO", "0A1B2C40");
    const wh_finding *finding = assert_only(&u, WH_FINDING_NOT_ON_RECORD, "2LO");
    assert_int_equal(finding->severity, WH_SEVERITY_FAULT);
    assert_string_equal(finding->sensor, "0A1B2C40");
    assert_string_equal(finding->recorded, "0A1B2C01");
    assert_near(finding->odds, 0.97, 1e-12);
    assert_says(finding->evidence, "0A1B2C40 heard 3 times, here by its levels with 97 %; on record here: 0A1B2C01");
    assert_says(finding->remedy, "Enter 0A1B2C40 (decimal 169552960) for 2LO");
    wheel_at(&u, "2LO")->sensor[0] = '\0';
    assert_says(assert_only(&u, WH_FINDING_NOT_ON_RECORD, "2LO")->evidence, "no sensor is on record here");
    seat_at(&u, "2LO")->state = WH_SEAT_BOUND;
    finding = assert_only(&u, WH_FINDING_NOT_ON_RECORD, "2LO");
    assert_says(finding->evidence, "the technician said");
    assert_near(finding->odds, 1.0, 1e-12);
    end(&u);
}

/* One reading may be a passing vehicle's; without sure odds it takes three strong ones, and even then another look. */
static void test_a_stranger_needs_more(void **state)
{
    (void)state;
    begin(&u);
    wh_seat *seat = put_sensor(&u, "2LO", "0A1B2C40");
    seat->readings = 1;
    const wh_finding *finding = assert_only(&u, WH_FINDING_NOT_ON_RECORD, "2LO");
    assert_int_equal(finding->severity, WH_SEVERITY_CHECK);
    assert_says(finding->remedy, "Wake the sensor at 2LO once more");

    seat->state = WH_SEAT_UNSURE;
    seat->odds = 0.7;
    seat->readings = 3;
    add_heard(&u, 10, "0A1B2C40", 690, 20);
    add_heard(&u, 20, "0A1B2C40", 690, 20);
    wh_event *third = add_heard(&u, 30, "0A1B2C40", 690, 20);
    third->heard.snr_db = 19; /* not strong */
    assert_only(&u, WH_FINDING_NOT_SURE, "2LO");
    third->heard.snr_db = 21;
    finding = assert_only(&u, WH_FINDING_NOT_ON_RECORD, "2LO");
    assert_int_equal(finding->severity, WH_SEVERITY_CHECK);
    seat->odds = 0.45;
    assert_only(&u, WH_FINDING_NOT_SURE, "2LO");
    end(&u);
}

static void test_other_position(void **state)
{
    (void)state;
    begin(&u);
    put_sensor(&u, "2LO", "0A1B2C00"); /* on record at 1L, where a new one is */
    put_sensor(&u, "1L", "0A1B2C40");
    judge(&u);
    assert_int_equal(u.findings->count, 2);
    const wh_finding *finding = found(&u, WH_FINDING_OTHER_POSITION, "2LO");
    assert_true(wh_position_equal(finding->other, at("1L")));
    assert_says(finding->evidence, "but on record at 1L");
    assert_says(finding->remedy,
                "Enter 0A1B2C00 (decimal 169552896) for 2LO; 1L gets the ID of the sensor that is there.");
    found(&u, WH_FINDING_NOT_ON_RECORD, "1L");
    end(&u);
}

/* Two wheels with each other's sensor: one finding, one remedy that mends both. */
static void test_crossed(void **state)
{
    (void)state;
    begin(&u);
    put_sensor(&u, "2LO", "0A1B2C07");
    put_sensor(&u, "2RO", "0A1B2C01")->odds = 0.93;
    const wh_finding *finding = assert_only(&u, WH_FINDING_CROSSED, "2LO");
    assert_true(wh_position_equal(finding->other, at("2RO")));
    assert_int_equal(finding->severity, WH_SEVERITY_FAULT);
    assert_near(finding->odds, 0.93, 1e-12);
    assert_says(finding->remedy,
                "Enter 0A1B2C07 (decimal 169552903) for 2LO and 0A1B2C01 (decimal 169552897) for 2RO.");
    seat_at(&u, "2RO")->odds = 0.85; /* the other end is not sure: half a crossing is none */
    seat_at(&u, "2RO")->state = WH_SEAT_UNSURE;
    judge(&u);
    assert_int_equal(count_of(&u, WH_FINDING_CROSSED), 0);
    found(&u, WH_FINDING_OTHER_POSITION, "2LO");
    found(&u, WH_FINDING_NOT_SURE, "2RO");
    end(&u);
}

static void test_circle_of_three(void **state)
{
    (void)state;
    begin(&u);
    put_sensor(&u, "1L", "0A1B2C01");  /* 2LO's */
    put_sensor(&u, "2LO", "0A1B2C09"); /* 1R's */
    put_sensor(&u, "1R", "0A1B2C00");  /* 1L's */
    judge(&u);
    assert_int_equal(u.findings->count, 3);
    const wh_finding *one = found(&u, WH_FINDING_OTHER_POSITION, "1L");
    assert_says(one->rule, "3 wheels have each other's sensors in a circle");
    assert_string_equal(one->remedy,
                        "Enter the IDs of all wheels of the circle as the change list has them: 1L, 2LO, 1R.");
    assert_string_equal(found(&u, WH_FINDING_OTHER_POSITION, "2LO")->remedy, one->remedy);
    assert_string_equal(found(&u, WH_FINDING_OTHER_POSITION, "1R")->remedy, one->remedy);
    end(&u);
}

/* A circle and, beside it, a wheel that points into it: that one is no part of it. */
static void test_a_tail_is_no_circle(void **state)
{
    (void)state;
    begin(&u);
    wh_identity identities[WH_WHEELS_MAX];
    put_sensor(&u, "1L", "0A1B2C01");
    put_sensor(&u, "2LO", "0A1B2C00");
    put_sensor(&u, "1R", "0A1B2C08"); /* 2RI's, whose sensor is its own no longer */
    put_sensor(&u, "2RI", "0A1B2C40");
    assert_int_equal(wh_roster_put(u.roster, &u.unit, NULL), WH_OK);
    wh_identify(u.roster, wh_roster_find(u.roster, "T-101"), &u.attribution, 0.9, identities);
    assert_int_equal(identities[0].kind, WH_IDENTITY_CROSSED);
    assert_int_equal(identities[1].kind, WH_IDENTITY_CROSSED);
    assert_int_equal(identities[9].kind, WH_IDENTITY_MOVED);
    assert_int_equal(identities[9].home, 8);
    assert_int_equal(identities[8].kind, WH_IDENTITY_NEW);
    assert_int_equal(identities[2].kind, WH_IDENTITY_AS_RECORDED);
    end(&u);
}

static void test_other_unit(void **state)
{
    (void)state;
    begin(&u);
    put_sensor(&u, "2LO", "0A1B2D05"); /* T-102 3RO */
    const wh_finding *finding = assert_only(&u, WH_FINDING_OTHER_UNIT, "2LO");
    assert_string_equal(finding->other_unit, "T-102");
    assert_true(wh_position_equal(finding->other, at("3RO")));
    assert_says(finding->evidence, "but on record for T-102 at 3RO");
    assert_says(finding->remedy, "enter 0A1B2D05 (decimal 169553157) for 2LO and take it off that unit's record");
    end(&u);
}

/* Sensors of neighbours and passing traffic that are at no wheel of the unit are nobody's fault. */
static void test_strangers_make_no_finding(void **state)
{
    (void)state;
    begin(&u);
    u.strangers[0] = (wh_stranger){.odds = 0.99, .readings = 9, .latest = reading_of("0A1B2D05", 300, 20)};
    u.strangers[1] = (wh_stranger){.odds = 0.99, .readings = 2, .latest = reading_of("77001122", 220, 20)};
    snprintf(u.strangers[0].sensor, WH_SENSOR_SIZE, "0A1B2D05");
    snprintf(u.strangers[1].sensor, WH_SENSOR_SIZE, "77001122");
    u.attribution.stranger_count = 2;
    assert_nothing_found(&u);
    end(&u);
}

static void test_not_sure(void **state)
{
    (void)state;
    begin(&u);
    wh_seat *seat = seat_at(&u, "2LO");
    seat->state = WH_SEAT_UNSURE;
    seat->odds = 0.55;
    snprintf(seat->runner_up, sizeof seat->runner_up, "0A1B2C02");
    seat->runner_up_odds = 0.40;
    seat->empty_odds = 0.05;
    const wh_finding *finding = assert_only(&u, WH_FINDING_NOT_SURE, "2LO");
    assert_int_equal(finding->severity, WH_SEVERITY_CHECK);
    assert_says(finding->evidence, "0A1B2C01 with 55 %, 0A1B2C02 with 40 %, none of those heard with 5 %");
    assert_says(finding->remedy, "Stand at 2LO again");
    seat->odds = 0.90; /* sure by the fleet's setting, whatever the seat is called */
    assert_nothing_found(&u);
    u.thresholds.sure_odds = 0.95;
    assert_only(&u, WH_FINDING_NOT_SURE, "2LO");
    end(&u);
}

/* The recorded sensor was heard and fits no wheel: not silent, not here for sure, and its pressure is not lost. */
static void test_own_sensor_without_a_wheel(void **state)
{
    (void)state;
    begin(&u);
    silence(&u, "2LO");
    u.strangers[0] = (wh_stranger){.odds = 0.6, .readings = 2, .latest = reading_of("0A1B2C01", 400, 20)};
    snprintf(u.strangers[0].sensor, WH_SENSOR_SIZE, "0A1B2C01");
    u.attribution.stranger_count = 1;
    judge(&u);
    assert_says(found(&u, WH_FINDING_NOT_SURE, "2LO")->evidence, "0A1B2C01, on record here, was heard");
    assert_says(found(&u, WH_FINDING_FLAT, "2LO")->evidence, "not sure that it is this wheel");
    assert_int_equal(u.findings->count, 2);
    end(&u);
}

/* Two transmitters with one ID take turns: 690 and 410 kPa. */
static void test_same_id_by_pressure(void **state)
{
    (void)state;
    begin(&u);
    for (int i = 0; i < 4; i++)
        add_heard(&u, 10 + 20 * i, "0A1B2C01", i % 2 ? 410 : 690, 20);
    const wh_finding *finding = assert_only(&u, WH_FINDING_SAME_ID, "2LO");
    assert_int_equal(finding->severity, WH_SEVERITY_CHECK);
    assert_says(finding->evidence, "back and forth 3 times, pressure 410 kPa gauge and 690 kPa gauge");
    assert_near(finding->odds, 1 - 0.008, 1e-12);
    end(&u);
}

static void test_same_id_by_carrier(void **state)
{
    (void)state;
    begin(&u);
    for (int i = 0; i < 3; i++)
        add_heard(&u, 10 + 20 * i, "0A1B2C01", 690, 20)->heard.carrier_hz += i % 2 ? 31e3 : 0;
    assert_says(assert_only(&u, WH_FINDING_SAME_ID, "2LO")->evidence, "carriers 31 kHz apart");
    end(&u);
}

/* What one sensor can do: air let out and pressed in again over minutes, a slow drift, a carrier that a retuned receiver reads
 * elsewhere, a doubtful reading. */
static void test_nearly_the_same_id(void **state)
{
    (void)state;
    begin(&u);
    add_heard(&u, 10, "0A1B2C01", 690, 20);
    add_heard(&u, 30, "0A1B2C01", 600, 20); /* let out */
    add_heard(&u, 50, "0A1B2C01", 500, 20); /* the same way */
    assert_nothing_found(&u);
    add_heard(&u, 200, "0A1B2C01", 690, 20); /* filled, two and a half minutes later */
    assert_nothing_found(&u);
    add_event(&u, 205, WH_EVENT_LISTEN, NULL);
    add_heard(&u, 210, "0A1B2C01", 690, 20)->heard.carrier_hz += 40e3;
    assert_nothing_found(&u);
    add_heard(&u, 215, "0A1B2C01", 300, 80)->heard.confidence = 0.6;
    assert_nothing_found(&u);
    add_heard(&u, 220, "0A1B2C01", 0, 0)->heard.pressure_state = WH_VALUE_ABSENT; /* no figures, no contradiction */
    u.events[u.sweep.event_count - 1].heard.temperature_state = WH_VALUE_ABSENT;
    u.events[u.sweep.event_count - 1].heard.carrier_hz += 40e3;
    assert_nothing_found(&u);
    end(&u);
}

static void test_broken_input(void **state)
{
    (void)state;
    begin(&u);
    wh_error error;
    wh_findings *findings;
    u.input.unit = "T-999";
    assert_int_equal(wh_judge(&u.input, &findings, &error), WH_ERR_NOT_FOUND);
    assert_says(error.what, "T-999");
    assert_null(findings);
    u.input.unit = "T-102";
    assert_int_equal(wh_judge(&u.input, &findings, &error), WH_ERR_ARGUMENT);
    end(&u);
}

/* Most severe first, then in the order of the walk, then by kind. */
static void test_order(void **state)
{
    (void)state;
    begin(&u);
    silence(&u, "1L");                          /* note */
    put_sensor(&u, "1R", "0A1B2C40");           /* fault, last of the walk */
    reads(&u, "2LI", 300, 20);                  /* fault */
    reads(&u, "2LO", 610, 20)->battery_low = 1; /* two checks */
    judge(&u);
    assert_int_equal(u.findings->count, 5);
    const wh_finding *items = u.findings->items;
    assert_int_equal(items[0].kind, WH_FINDING_FLAT);
    assert_int_equal(items[1].kind, WH_FINDING_NOT_ON_RECORD);
    assert_int_equal(items[2].kind, WH_FINDING_LOW);
    assert_int_equal(items[3].kind, WH_FINDING_BATTERY_LOW);
    assert_int_equal(items[4].kind, WH_FINDING_NOT_HEARD);
    end(&u);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_not_on_record),
        cmocka_unit_test(test_a_stranger_needs_more),
        cmocka_unit_test(test_other_position),
        cmocka_unit_test(test_crossed),
        cmocka_unit_test(test_circle_of_three),
        cmocka_unit_test(test_a_tail_is_no_circle),
        cmocka_unit_test(test_other_unit),
        cmocka_unit_test(test_strangers_make_no_finding),
        cmocka_unit_test(test_not_sure),
        cmocka_unit_test(test_own_sensor_without_a_wheel),
        cmocka_unit_test(test_same_id_by_pressure),
        cmocka_unit_test(test_same_id_by_carrier),
        cmocka_unit_test(test_nearly_the_same_id),
        cmocka_unit_test(test_broken_input),
        cmocka_unit_test(test_order),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
