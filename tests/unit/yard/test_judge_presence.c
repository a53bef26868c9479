#include "judged_unit.h"

#include "../near.h"

static judged_unit u;

/* Silent, never woken: a note, and never "missing". The chance to have been heard: 120 s are two intervals of 60 s, each heard
 * with 50 %: 1 - 0.5^2 = 75 %. */
static void test_not_heard_is_a_note(void **state)
{
    (void)state;
    begin(&u);
    silence(&u, "1L")->listened_s = 120;
    const wh_finding *finding = assert_only(&u, WH_FINDING_NOT_HEARD, "1L");
    assert_int_equal(finding->severity, WH_SEVERITY_NOTE);
    assert_string_equal(finding->recorded, "0A1B2C00");
    assert_string_equal(finding->sensor, "");
    assert_string_equal(
        finding->evidence,
        "listened 2 min, 20 s of it here, not woken here while listening; one that sends every 60 s would "
        "have been heard with 75 %, a parked one is silent");
    assert_says(finding->remedy, "Stand at 1L, wake the sensor, and once more when it does not answer.");
    assert_false(finding->has_pressure || finding->inflation);
    assert_null(strstr(finding->evidence, "missing"));
    assert_null(strstr(finding->remedy, "missing"));
    end(&u);
}

/* Chances worked by hand with interval T = 60 s and q = 0.5: 30 s: half an interval, 0.5 q = 25 %; 90 s: 1 - 0.5 (1 - 0.25) =
 * 62.5 %; 600 s: 1 - 0.5^10 = 99.9 %. */
static void test_chance_to_have_been_heard(void **state)
{
    (void)state;
    begin(&u);
    silence(&u, "1L")->listened_s = 30;
    assert_says(assert_only(&u, WH_FINDING_NOT_HEARD, "1L")->evidence, "would have been heard with 25 %");
    seat_at(&u, "1L")->listened_s = 90;
    assert_says(assert_only(&u, WH_FINDING_NOT_HEARD, "1L")->evidence, "would have been heard with 63 %");
    seat_at(&u, "1L")->listened_s = 600;
    assert_says(assert_only(&u, WH_FINDING_NOT_HEARD, "1L")->evidence, "would have been heard with 99 %");
    seat_at(&u, "1L")->listened_s = 0;
    assert_says(assert_only(&u, WH_FINDING_NOT_HEARD, "1L")->evidence, "would have been heard with 0 %");
    end(&u);
}

static void wake(double at_s, const char *position)
{
    add_event(&u, at_s, WH_EVENT_WOKEN, position);
}

/* Woken twice at the wheel, others heard: no sensor answers. Odds by Bayes with the stated assumptions, 20 % absent beforehand and
 * 30 % of wakes without an answer: 0.2 / (0.2 + 0.8 x 0.09) = 0.735; after three 0.2 / (0.2 + 0.8 x 0.027) = 0.903. */
static void test_no_answer(void **state)
{
    (void)state;
    begin(&u);
    silence(&u, "1L");
    add_event(&u, 10, WH_EVENT_STAND, "1L");
    wake(12, "1L");
    add_heard(&u, 15, "0A1B2C01", 690, 20);
    wake(20, "1L");
    add_event(&u, 30, WH_EVENT_LEAVE, "1L");
    const wh_finding *finding = assert_only(&u, WH_FINDING_NO_ANSWER, "1L");
    assert_int_equal(finding->severity, WH_SEVERITY_CHECK); /* not sure odds: try once more */
    assert_near(finding->odds, 0.735, 0.001);
    assert_says(finding->evidence, "woken 2 times at the wheel");
    assert_says(finding->remedy, "the tire has no sensor, or a dead one");
    wake(40, "1L");
    add_event(&u, 50, WH_EVENT_LEAVE, "1L");
    finding = assert_only(&u, WH_FINDING_NO_ANSWER, "1L");
    assert_near(finding->odds, 0.903, 0.001);
    assert_int_equal(finding->severity, WH_SEVERITY_FAULT);
    end(&u);
}

static void expect_not_heard(const char *why)
{
    judge(&u);
    if (count_of(&u, WH_FINDING_NO_ANSWER) != 0)
        fail_msg("%s must not make 'no answer'", why);
    found(&u, WH_FINDING_NOT_HEARD, "1L");
}

/* Everything that falls short of it. */
static void test_nearly_no_answer(void **state)
{
    (void)state;
    begin(&u);
    silence(&u, "1L");
    wake(12, "1L");
    add_heard(&u, 15, "0A1B2C01", 690, 20);
    add_event(&u, 30, WH_EVENT_LEAVE, "1L");
    expect_not_heard("a single wake");
    wake(31, "2LO");
    add_event(&u, 40, WH_EVENT_LEAVE, "2LO");
    expect_not_heard("a wake at another wheel");
    wake(41, "1L"); /* the sweep's last event: nobody knows yet whether it answers */
    expect_not_heard("a wake just now");
    add_event(&u, 44, WH_EVENT_GAP, NULL); /* the receiver was gone before an answer could come */
    add_event(&u, 100, WH_EVENT_LISTEN, NULL);
    expect_not_heard("a wake cut by a gap");
    add_event(&u, 110, WH_EVENT_GAP, NULL);
    wake(112, "1L");
    add_event(&u, 200, WH_EVENT_LISTEN, NULL);
    expect_not_heard("a wake within a gap");
    wake(210, "1L"); /* now two were listened to, but nothing at all was heard since the gap */
    add_event(&u, 220, WH_EVENT_LEAVE, "1L");
    expect_not_heard("silence all around");
    assert_says(found(&u, WH_FINDING_NOT_HEARD, "1L")->evidence, "no other sensor was heard about then");
    add_heard(&u, 230, "0A1B2C02", 690, 20);
    assert_only(&u, WH_FINDING_NO_ANSWER, "1L");
    end(&u);
}

/* Whatever is woken while the receiver is away was not listened to, also when it comes back at once and hears others. */
static void test_wakes_while_the_receiver_is_away(void **state)
{
    (void)state;
    begin(&u);
    silence(&u, "1L");
    add_event(&u, 10, WH_EVENT_GAP, NULL);
    wake(12, "1L");
    wake(14, "1L");
    add_event(&u, 20, WH_EVENT_LISTEN, NULL);
    add_heard(&u, 25, "0A1B2C01", 690, 20);
    add_heard(&u, 26, "0A1B2C02", 690, 20);
    expect_not_heard("wakes while the receiver was away");
    end(&u);
}

/* Company more than ten minutes away does not show that the receiver heard well. */
static void test_company_must_be_near_in_time(void **state)
{
    (void)state;
    begin(&u);
    silence(&u, "1L");
    add_heard(&u, 10, "0A1B2C01", 690, 20);
    wake(700, "1L");
    wake(710, "1L");
    add_event(&u, 720, WH_EVENT_LEAVE, "1L");
    expect_not_heard("company long ago");
    end(&u);
}

/* After the repair mark only what comes later counts, and the receiver that was listening goes on listening. */
static void test_only_after_the_mark(void **state)
{
    (void)state;
    begin(&u);
    silence(&u, "1L");
    wake(12, "1L");
    wake(20, "1L");
    add_heard(&u, 25, "0A1B2C01", 690, 20);
    u.input.after_id = add_event(&u, 30, WH_EVENT_REPAIRED, NULL)->id;
    expect_not_heard("wakes before the mark");
    wake(40, "1L");
    wake(50, "1L");
    add_event(&u, 60, WH_EVENT_LEAVE, "1L");
    expect_not_heard("company before the mark");
    add_heard(&u, 65, "0A1B2C01", 690, 20);
    assert_only(&u, WH_FINDING_NO_ANSWER, "1L");
    end(&u);
}

static void test_without_a_sweep(void **state)
{
    (void)state;
    begin(&u);
    silence(&u, "1L");
    u.input.sweep = NULL;
    assert_only(&u, WH_FINDING_NOT_HEARD, "1L");
    end(&u);
}

/* A dual that is silent may be flat behind its mate (CCOHS). */
static void test_silent_dual(void **state)
{
    (void)state;
    begin(&u);
    silence(&u, "2LI");
    assert_says(assert_only(&u, WH_FINDING_NOT_HEARD, "2LI")->remedy, "a flat one is hidden by its mate");
    end(&u);
}

static void test_nobody_stood_there(void **state)
{
    (void)state;
    begin(&u);
    silence(&u, "1L")->state = WH_SEAT_NOT_VISITED;
    assert_says(assert_only(&u, WH_FINDING_NOT_HEARD, "1L")->evidence, "nobody stood here yet");
    wheel_at(&u, "1L")->sensor[0] = '\0'; /* nothing is expected there, nothing is said */
    assert_nothing_found(&u);
    end(&u);
}

/* No sensor is on record and none answers: worth a note, no fault. */
static void test_no_record_and_no_answer(void **state)
{
    (void)state;
    begin(&u);
    silence(&u, "1L");
    wheel_at(&u, "1L")->sensor[0] = '\0';
    assert_int_equal(assert_only(&u, WH_FINDING_NOT_HEARD, "1L")->severity, WH_SEVERITY_NOTE);
    wake(12, "1L");
    wake(20, "1L");
    add_heard(&u, 30, "0A1B2C01", 690, 20);
    assert_int_equal(assert_only(&u, WH_FINDING_NO_ANSWER, "1L")->severity, WH_SEVERITY_NOTE);
    end(&u);
}

static void test_where_the_recorded_sensor_went(void **state)
{
    (void)state;
    begin(&u);
    silence(&u, "1L");
    put_sensor(&u, "1R", "0A1B2C00");
    judge(&u);
    assert_says(found(&u, WH_FINDING_NOT_HEARD, "1L")->evidence, "the sensor on record here is at 1R");
    found(&u, WH_FINDING_OTHER_POSITION, "1R");
    assert_int_equal(u.findings->count, 2);
    end(&u);
}

static void test_layout_unknown(void **state)
{
    (void)state;
    begin(&u);
    silence(&u, "1L")->unknown_bursts = 1; /* one may be anything */
    assert_only(&u, WH_FINDING_NOT_HEARD, "1L");
    seat_at(&u, "1L")->unknown_bursts = 3;
    const wh_finding *finding = assert_only(&u, WH_FINDING_LAYOUT_UNKNOWN, "1L");
    assert_int_equal(finding->severity, WH_SEVERITY_CHECK);
    assert_near(finding->odds, 1 - 0.125, 1e-12);
    assert_says(finding->evidence, "3 strong bursts at this wheel that no descriptor reads");
    assert_says(finding->remedy, "The tire has a sensor");
    assert_false(finding->has_pressure);
    end(&u);
}

static void test_nicknames(void **state)
{
    (void)state;
    begin(&u);
    wh_seat *seat = put_sensor(&u, "1L", "~4F0211");
    seat->latest.nickname = true;
    seat->latest.pressure_state = WH_VALUE_ABSENT;
    const wh_finding *finding = assert_only(&u, WH_FINDING_LAYOUT_UNKNOWN, "1L");
    assert_int_equal(finding->severity, WH_SEVERITY_CHECK);
    assert_says(finding->evidence, "called ~4F0211");
    snprintf(wheel_at(&u, "1L")->sensor, WH_SENSOR_SIZE, "~4F0211"); /* entered in the roster: known again */
    finding = assert_only(&u, WH_FINDING_LAYOUT_UNKNOWN, "1L");
    assert_int_equal(finding->severity, WH_SEVERITY_NOTE);
    assert_says(finding->evidence, "as on record");
    snprintf(wheel_at(&u, "1L")->sensor, WH_SENSOR_SIZE, "~4F0299"); /* not the same as last time */
    assert_only(&u, WH_FINDING_NOT_ON_RECORD, "1L");
    end(&u);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_not_heard_is_a_note),
        cmocka_unit_test(test_chance_to_have_been_heard),
        cmocka_unit_test(test_no_answer),
        cmocka_unit_test(test_nearly_no_answer),
        cmocka_unit_test(test_wakes_while_the_receiver_is_away),
        cmocka_unit_test(test_company_must_be_near_in_time),
        cmocka_unit_test(test_only_after_the_mark),
        cmocka_unit_test(test_without_a_sweep),
        cmocka_unit_test(test_silent_dual),
        cmocka_unit_test(test_nobody_stood_there),
        cmocka_unit_test(test_no_record_and_no_answer),
        cmocka_unit_test(test_where_the_recorded_sensor_went),
        cmocka_unit_test(test_layout_unknown),
        cmocka_unit_test(test_nicknames),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
