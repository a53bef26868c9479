#include "verify.h"

#include "judged_unit.h"

static judged_unit u;
static wh_findings *before;
static wh_verification *verification;

/* The unit as it is now becomes what was found before; then the repair is told of, and every wheel is heard once more. */
static void repair(void)
{
    judge(&u);
    before = u.findings;
    u.findings = NULL;
    wh_event *mark = add_event(&u, 1000, WH_EVENT_REPAIRED, NULL);
    snprintf(mark->unit, sizeof mark->unit, "T-101");
    u.input.after_id = mark->id;
}

static void hear_again(const char *position)
{
    wh_seat *seat = seat_at(&u, position);
    const double at_s = 1010 + (double)u.sweep.event_count;
    wh_event *event = add_event(&u, at_s, WH_EVENT_HEARD, NULL);
    event->heard = seat->latest;
    seat->latest_us = event->at_us;
}

static void hear_all_again(void)
{
    for (unsigned i = 0; i < u.attribution.seat_count; i++) {
        char position[WH_POSITION_SIZE];
        if (u.attribution.seats[i].answered)
            hear_again(wh_position_text(position, u.attribution.seats[i].position));
    }
}

static void verify(void)
{
    wh_error error = {0};
    wh_verification_free(&verification);
    judge(&u);
    assert_int_equal(wh_verify(before, &u.input, u.findings, &verification, &error), WH_OK);
    for (size_t i = 0; i < verification->count; i++) {
        assert_true(strlen(verification->rows[i].text) > 0);
        assert_null(strstr(verification->rows[i].text, "safe"));
    }
}

/* The only row, with its verdict. */
static const wh_verify_row *only(wh_verdict verdict)
{
    verify();
    assert_int_equal(verification->count, 1);
    if (verification->rows[0].verdict != verdict)
        fail_msg("%s: %s", wh_verdict_name(verification->rows[0].verdict), verification->rows[0].text);
    assert_int_equal(verification->by_verdict[verdict], 1);
    return verification->rows;
}

static void finish(void)
{
    wh_verification_free(&verification);
    wh_findings_free(&before);
    end(&u);
}

static void test_low_tire_mended(void **state)
{
    (void)state;
    begin(&u);
    reads(&u, "1L", 612, 20);
    repair();
    reads(&u, "1L", 692, 21);
    hear_all_again();
    const wh_verify_row *row = only(WH_VERDICT_MENDED);
    assert_string_equal(row->text, "612 kPa gauge before, 692 kPa gauge at 21.0 C now");
    assert_true(row->has_before && !row->has_after && row->heard);
    assert_int_equal(row->before.kind, WH_FINDING_LOW);
    assert_true(verification->all_mended);
    assert_int_equal(verification->wheels, 10);
    assert_int_equal(verification->wheels_heard, 10);
    finish();
}

/* Air alone does not mend a tire that was run at 80 % or less (29 CFR 1910.177): what the radio cannot tell is said. */
static void test_inspection_does_not_show(void **state)
{
    (void)state;
    begin(&u);
    reads(&u, "1L", 500, 20);
    repair();
    reads(&u, "1L", 692, 21);
    hear_all_again();
    assert_string_equal(
        only(WH_VERDICT_MENDED)->text,
        "500 kPa gauge before, 692 kPa gauge at 21.0 C now; no reading shows whether the tire was taken "
        "off and inspected");
    finish();
}

/* The tire was filled, but no frame was heard after the mark: what was heard before does not count. */
static void test_frames_before_the_mark_prove_nothing(void **state)
{
    (void)state;
    begin(&u);
    reads(&u, "1L", 612, 20);
    add_heard(&u, 990, "0A1B2C00", 692, 21);
    repair();
    reads(&u, "1L", 692, 21);
    only(WH_VERDICT_NOT_HEARD);
    assert_false(verification->all_mended);
    assert_int_equal(verification->wheels_heard, 0);
    hear_again("1L");
    only(WH_VERDICT_MENDED);
    finish();
}

static void test_still_low_and_worse(void **state)
{
    (void)state;
    begin(&u);
    reads(&u, "1L", 612, 20);
    repair();
    hear_all_again();
    const wh_verify_row *row = only(WH_VERDICT_OPEN);
    assert_int_equal(row->after.kind, WH_FINDING_LOW);
    reads(&u, "1L", 500, 20); /* the same trouble, another degree: one row, still open */
    row = only(WH_VERDICT_OPEN);
    assert_int_equal(row->after.kind, WH_FINDING_FAR_TOO_LOW);
    assert_int_equal(row->severity, WH_SEVERITY_FAULT);
    assert_false(verification->all_mended);
    reads(&u, "1L", 0, 20)->pressure_state = WH_VALUE_NOT_AVAILABLE; /* heard, but no pressure */
    row = only(WH_VERDICT_OPEN);
    assert_says(row->text, "without a pressure");
    finish();
}

static void test_silent_since(void **state)
{
    (void)state;
    begin(&u);
    reads(&u, "1L", 612, 20);
    repair();
    silence(&u, "1L");
    hear_all_again();
    const wh_verify_row *row = only(WH_VERDICT_NOT_HEARD); /* one row, not another for the silence */
    assert_int_equal(row->before.kind, WH_FINDING_LOW);
    assert_false(verification->all_mended);
    finish();
}

/* The new sensor of 2LO was entered: the roster has it now. */
static void test_new_sensor_entered(void **state)
{
    (void)state;
    begin(&u);
    put_sensor(&u, "2LO", "0A1B2C40");
    repair();
    hear_all_again();
    only(WH_VERDICT_OPEN);
    snprintf(wheel_at(&u, "2LO")->sensor, WH_SENSOR_SIZE, "0A1B2C40");
    assert_string_equal(only(WH_VERDICT_MENDED)->text, "0A1B2C40 heard at 2LO, as on record");
    finish();
}

/* A sensor was fitted where none answered, and is not on record yet. */
static void test_sensor_fitted_but_not_entered(void **state)
{
    (void)state;
    begin(&u);
    const wh_seat was = *seat_at(&u, "1L");
    silence(&u, "1L");
    add_event(&u, 12, WH_EVENT_WOKEN, "1L");
    add_event(&u, 20, WH_EVENT_WOKEN, "1L");
    add_heard(&u, 30, "0A1B2C01", 690, 20);
    repair();
    *seat_at(&u, "1L") = was;
    put_sensor(&u, "1L", "0A1B2C40");
    hear_all_again();
    verify();
    assert_int_equal(verification->count, 2);
    assert_int_equal(verification->rows[0].before.kind, WH_FINDING_NO_ANSWER);
    assert_int_equal(verification->rows[0].verdict, WH_VERDICT_MENDED);
    assert_string_equal(verification->rows[0].text, "0A1B2C40 heard at 1L");
    assert_int_equal(verification->rows[1].verdict, WH_VERDICT_NEW);
    assert_int_equal(verification->rows[1].after.kind, WH_FINDING_NOT_ON_RECORD);
    assert_false(verification->all_mended);
    finish();
}

/* Both ends of a crossing must be heard. */
static void test_crossing_needs_both_ends(void **state)
{
    (void)state;
    begin(&u);
    put_sensor(&u, "2LO", "0A1B2C07");
    put_sensor(&u, "2RO", "0A1B2C01");
    repair();
    put_sensor(&u, "2LO", "0A1B2C01");
    put_sensor(&u, "2RO", "0A1B2C07");
    hear_again("2LO");
    only(WH_VERDICT_NOT_HEARD);
    hear_again("2RO");
    assert_says(only(WH_VERDICT_MENDED)->text,
                "0A1B2C01 heard at 2LO, as on record; 0A1B2C07 heard at 2RO, as on record");
    finish();
}

static void test_what_is_new_and_what_was_not_heard(void **state)
{
    (void)state;
    begin(&u);
    repair();
    silence(&u, "1R");
    reads(&u, "1L", 500, 20);
    hear_all_again();
    verify();
    assert_int_equal(verification->count, 2);
    assert_int_equal(verification->by_verdict[WH_VERDICT_NEW], 1);
    assert_int_equal(verification->by_verdict[WH_VERDICT_NOT_HEARD], 1);
    assert_int_equal(verification->rows[0].after.kind, WH_FINDING_FAR_TOO_LOW);
    assert_false(verification->rows[0].has_before);
    assert_false(verification->all_mended);
    reads(&u, "1L", 690, 20); /* a silent wheel without trouble before does not hold up the rest, but it is told */
    verify();
    assert_int_equal(verification->count, 1);
    assert_true(verification->all_mended);
    assert_int_equal(verification->wheels_heard, 9);
    finish();
}

static void test_nothing_heard_is_nothing_mended(void **state)
{
    (void)state;
    begin(&u);
    repair();
    verify();
    assert_int_equal(verification->wheels_heard, 0);
    assert_false(verification->all_mended);
    finish();
}

/* A leak needs time: right after the repair nobody can say, a week later the trend can. */
static void test_leak_takes_time(void **state)
{
    (void)state;
    begin(&u);
    for (int day = 0; day < 8; day++)
        add_past(&u, day - 8, "0A1B2C00", 720 - 8 * day, 20);
    repair();
    hear_all_again();
    assert_says(only(WH_VERDICT_OPEN)->text, "since the repair no trend: no pressure was read");
    add_past(&u, 0.1, "0A1B2C00", 690, 20);
    assert_says(only(WH_VERDICT_OPEN)->text, "since the repair not enough time yet: 1 visit over 0.0 days");
    for (int day = 1; day < 7; day++)
        add_past(&u, day, "0A1B2C00", 690 - 0.2 * day, 20);
    assert_says(only(WH_VERDICT_MENDED)->text, "since the repair losing 0.2 kPa a day");
    finish();
}

static void test_health(void **state)
{
    (void)state;
    begin(&u);
    reads(&u, "1L", 690, 20)->battery_low = 1;
    repair();
    hear_all_again();
    seat_at(&u, "1L")->latest.battery_low = -1; /* the sensor no longer says anything: no proof */
    only(WH_VERDICT_OPEN);
    seat_at(&u, "1L")->latest.battery_low = 0;
    only(WH_VERDICT_MENDED);
    finish();

    begin(&u);
    reads(&u, "1L", 690, 20)->sensor_fault = 1;
    repair();
    hear_all_again();
    seat_at(&u, "1L")->latest.sensor_fault = 0;
    assert_says(only(WH_VERDICT_MENDED)->text, "reports no fault, 690 kPa gauge");
    finish();

    begin(&u);
    reads(&u, "1L", 865.5, 85);
    repair();
    hear_all_again();
    reads(&u, "1L", 690, 20)->temperature_state = WH_VALUE_NOT_AVAILABLE;
    only(WH_VERDICT_OPEN);
    reads(&u, "1L", 690, 20);
    assert_string_equal(only(WH_VERDICT_MENDED)->text, "20.0 C now");
    finish();
}

static void test_same_id_needs_several_readings(void **state)
{
    (void)state;
    begin(&u);
    for (int i = 0; i < 4; i++)
        add_heard(&u, 10 + 20 * i, "0A1B2C01", i % 2 ? 410 : 690, 20);
    repair();
    hear_all_again();
    assert_says(only(WH_VERDICT_OPEN)->text, "heard 3 times since without contradiction; it takes 4");
    seat_at(&u, "2LO")->readings = 4;
    only(WH_VERDICT_MENDED);
    finish();
}

/* The sweep after the repair is another one: then all of it counts, ids given by no store yet included. */
static void test_another_sweep(void **state)
{
    (void)state;
    begin(&u);
    reads(&u, "1L", 612, 20);
    repair();
    reads(&u, "1L", 692, 21);
    u.input.after_id = 0;
    u.sweep.event_count = 0;
    add_event(&u, 2000, WH_EVENT_LISTEN, NULL);
    only(WH_VERDICT_NOT_HEARD);
    hear_again("1L");
    for (size_t i = 0; i < u.sweep.event_count; i++)
        u.events[i].id = 0;
    only(WH_VERDICT_MENDED);
    finish();
}

static void test_names(void **state)
{
    (void)state;
    assert_string_equal(wh_verdict_name(WH_VERDICT_MENDED), "mended");
    assert_string_equal(wh_verdict_name(WH_VERDICT_NOT_HEARD), "not-heard");
    assert_string_equal(wh_verdict_text(WH_VERDICT_OPEN), "still open");
    assert_string_equal(wh_verdict_name((wh_verdict)99), "unknown");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_low_tire_mended),
        cmocka_unit_test(test_inspection_does_not_show),
        cmocka_unit_test(test_frames_before_the_mark_prove_nothing),
        cmocka_unit_test(test_still_low_and_worse),
        cmocka_unit_test(test_silent_since),
        cmocka_unit_test(test_new_sensor_entered),
        cmocka_unit_test(test_sensor_fitted_but_not_entered),
        cmocka_unit_test(test_crossing_needs_both_ends),
        cmocka_unit_test(test_what_is_new_and_what_was_not_heard),
        cmocka_unit_test(test_nothing_heard_is_nothing_mended),
        cmocka_unit_test(test_leak_takes_time),
        cmocka_unit_test(test_health),
        cmocka_unit_test(test_same_id_needs_several_readings),
        cmocka_unit_test(test_another_sweep),
        cmocka_unit_test(test_names),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
