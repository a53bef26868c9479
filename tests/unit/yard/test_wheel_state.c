#include "wheel_state.h"

#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

static const wh_position at = {2, WH_LEFT, WH_OUTER}, mate = {2, WH_LEFT, WH_INNER};

static wh_finding found(wh_finding_kind kind, wh_severity severity)
{
    return (wh_finding){.kind = kind, .severity = severity, .unit = "K-17", .position = at};
}

static wh_wheel_state state_with(wh_seat_state seat_state, wh_finding *items, size_t count)
{
    const wh_seat seat = {.position = at, .state = seat_state};
    const wh_findings findings = {items, count};
    return wh_wheel_state_of(&seat, "K-17", &findings);
}

static void test_without_findings(void **state)
{
    (void)state;
    static const struct {
        wh_seat_state seat;
        wh_wheel_tone tone;
        const char *word;
    } rows[] = {
        {WH_SEAT_NOT_VISITED, WH_TONE_WAITING, "not visited"}, {WH_SEAT_NOTHING, WH_TONE_SILENT, "not heard"},
        {WH_SEAT_UNSURE, WH_TONE_CHECK, "not sure"},           {WH_SEAT_SURE, WH_TONE_QUIET, "no finding"},
        {WH_SEAT_BOUND, WH_TONE_QUIET, "no finding"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const wh_wheel_state got = state_with(rows[i].seat, NULL, 0);
        assert_int_equal(got.tone, rows[i].tone);
        assert_string_equal(got.word, rows[i].word);
        assert_null(got.worst);
    }
}

static void test_most_severe_wins_and_first_among_equals(void **state)
{
    (void)state;
    wh_finding items[] = {found(WH_FINDING_LOW, WH_SEVERITY_CHECK), found(WH_FINDING_FLAT, WH_SEVERITY_FAULT),
                          found(WH_FINDING_SENSOR_FAULT, WH_SEVERITY_FAULT)};
    const wh_wheel_state got = state_with(WH_SEAT_SURE, items, 3);
    assert_int_equal(got.tone, WH_TONE_FAULT);
    assert_string_equal(got.word, "flat");
    assert_int_equal(got.further, 2);
}

static void test_both_ends_are_concerned(void **state)
{
    (void)state;
    wh_finding item = found(WH_FINDING_CROSSED, WH_SEVERITY_CHECK);
    item.position = mate;
    assert_int_equal(state_with(WH_SEAT_SURE, &item, 1).tone, WH_TONE_QUIET);
    item.other = at;
    assert_string_equal(state_with(WH_SEAT_SURE, &item, 1).word, "crossed");
    /* The same position of another unit is another wheel. */
    strcpy(item.other_unit, "T-2");
    assert_int_equal(state_with(WH_SEAT_SURE, &item, 1).tone, WH_TONE_QUIET);
    item = found(WH_FINDING_LOW, WH_SEVERITY_CHECK);
    strcpy(item.unit, "T-2");
    assert_int_equal(state_with(WH_SEAT_SURE, &item, 1).tone, WH_TONE_QUIET);
}

/* That a wheel was not heard is neither good nor bad, and one nobody stood at is not yet "not heard". */
static void test_not_heard_stays_silent(void **state)
{
    (void)state;
    wh_finding item = found(WH_FINDING_NOT_HEARD, WH_SEVERITY_NOTE);
    assert_int_equal(state_with(WH_SEAT_NOTHING, &item, 1).tone, WH_TONE_SILENT);
    assert_string_equal(state_with(WH_SEAT_NOTHING, &item, 1).word, "not heard");
    assert_int_equal(state_with(WH_SEAT_NOT_VISITED, &item, 1).tone, WH_TONE_WAITING);
    assert_string_equal(state_with(WH_SEAT_NOT_VISITED, &item, 1).word, "not visited");
    item = found(WH_FINDING_NO_ANSWER, WH_SEVERITY_FAULT);
    assert_string_equal(state_with(WH_SEAT_NOTHING, &item, 1).word, "no answer");
}

static void test_words_fit_their_cells(void **state)
{
    (void)state;
    for (int kind = 0; kind < WH_FINDING_KIND_COUNT; kind++) {
        assert_true(strlen(wh_finding_kind_word((wh_finding_kind)kind)) > 0);
        assert_true(strlen(wh_finding_kind_word((wh_finding_kind)kind)) <= 12);
    }
    for (int a = 0; a < WH_TONE_COUNT; a++) {
        for (int b = 0; b < a; b++) {
            assert_int_not_equal(wh_wheel_tone_ascii((wh_wheel_tone)a), wh_wheel_tone_ascii((wh_wheel_tone)b));
            assert_string_not_equal(wh_wheel_tone_symbol((wh_wheel_tone)a), wh_wheel_tone_symbol((wh_wheel_tone)b));
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_without_findings),        cmocka_unit_test(test_most_severe_wins_and_first_among_equals),
        cmocka_unit_test(test_both_ends_are_concerned), cmocka_unit_test(test_not_heard_stays_silent),
        cmocka_unit_test(test_words_fit_their_cells),
    };
    return cmocka_run_group_tests_name("state of a wheel", tests, NULL, NULL);
}
