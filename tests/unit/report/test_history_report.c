#include "history_report.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

/* 2026-03-02 07:15:04 UTC is 1772435704 s since 1970 (GNU date). */
static const int64_t at = 1772435704LL * 1000000;

static const wh_past readings[] = {
    {.heard = {.sensor = "0A1B2C3D",
               .descriptor = "demo-fsk-manchester",
               .pressure_state = WH_VALUE_OK,
               .pressure = {690.0},
               .temperature_state = WH_VALUE_OK,
               .temperature_c = 60.0,
               .confidence = 0.998,
               .level_dbfs = -20.25}},
    {.heard = {.sensor = "~5C0FFE", .nickname = true, .confidence = 0.9, .level_dbfs = -31.0}},
};

static wh_table_style style_in(wh_table_format format)
{
    return (wh_table_style){.format = format, .reference_c = 20.0, .site = {101.325}};
}

static void check(wh_text *text, const char *expected)
{
    assert_false(text->failed);
    assert_string_equal(text->data, expected);
    wh_text_free(text);
}

/* 690 kPa gauge at 60 C is (690 + 101.325) * 293.15 / 333.15 - 101.325 = 594.99 kPa at 20 C (Gay-Lussac). */
static void test_readings(void **state)
{
    (void)state;
    wh_past past[2];
    memcpy(past, readings, sizeof past);
    past[0].at_us = past[1].at_us = at;
    wh_text text = {0};
    wh_table_style style = style_in(WH_TABLE_TEXT);
    wh_history_readings(&text, &style, past, 2);
    check(&text, "time (UTC)                sensor         as read   at 20 C   temp.    dBFS   (kPa gauge, C)\n"
                 "2026-03-02T07:15:04.000Z  0A1B2C3D         690.0     595.0    60.0   -20.3\n"
                 "2026-03-02T07:15:04.000Z  ~5C0FFE                                    -31.0\n");
    style = style_in(WH_TABLE_JSON);
    wh_history_readings(&text, &style, past, 2);
    check(&text, "{\"record\":\"heard\",\"at\":\"2026-03-02T07:15:04.000000Z\",\"sensor\":\"0A1B2C3D\","
                 "\"descriptor\":\"demo-fsk-manchester\",\"gauge_kpa\":690.0,\"cold_gauge_kpa\":595.0,\"temp_c\":60.0,"
                 "\"level_dbfs\":-20.3,\"confidence\":0.998}\n"
                 "{\"record\":\"heard\",\"at\":\"2026-03-02T07:15:04.000000Z\",\"sensor\":\"~5C0FFE\","
                 "\"level_dbfs\":-31.0,\"confidence\":0.900}\n");
    style = style_in(WH_TABLE_CSV);
    style.pressure = WH_BAR;
    style.temperature = WH_FAHRENHEIT;
    wh_history_readings(&text, &style, past, 2);
    check(&text, "time (UTC),sensor,gauge pressure (bar),gauge pressure at 68 F (bar),temperature (F),level (dBFS),"
                 "descriptor\r\n"
                 "2026-03-02T07:15:04.000Z,0A1B2C3D,6.90,5.95,140.0,-20.3,demo-fsk-manchester\r\n"
                 "2026-03-02T07:15:04.000Z,~5C0FFE,,,,-31.0,\r\n");
}

static void test_sweeps(void **state)
{
    (void)state;
    const wh_sweep_head heads[] = {
        {.id = 12, .dated = true, .begun_us = at, .last_us = at + 5000000, .units = "K-17, K-18", .ended = true},
        {.id = 9, .begun_us = 0, .last_us = 2500000, .who = "=R", .units = "K-17", .source = "a,b"},
    };
    wh_text text = {0};
    wh_table_style style = style_in(WH_TABLE_TEXT);
    wh_history_sweeps(&text, &style, heads, 2);
    check(&text, "sweep  begun (UTC)               finished  who                 units\n"
                 "12     2026-03-02T07:15:04.000Z  yes       -                   K-17, K-18\n"
                 "9      0.000 s                   no        =R                  K-17\n");
    style = style_in(WH_TABLE_CSV);
    wh_history_sweeps(&text, &style, heads, 2);
    check(&text, "sweep,begun (UTC),last event (UTC),units,who,source,finished\r\n"
                 "12,2026-03-02T07:15:04.000Z,2026-03-02T07:15:09.000Z,\"K-17, K-18\",,,yes\r\n"
                 "9,0.000 s,2.500 s,K-17,'=R,\"a,b\",no\r\n");
    style = style_in(WH_TABLE_JSON);
    wh_history_sweeps(&text, &style, &heads[1], 1);
    check(
        &text,
        "{\"record\":\"sweep\",\"offset_s\":0.000000,\"sweep\":9,\"units\":\"K-17\",\"who\":\"=R\",\"source\":\"a,b\","
        "\"events\":0,\"ended\":false}\n");
}

static void test_units_at_a_glance(void **state)
{
    (void)state;
    const bool dual[] = {false, true};
    wh_unit unit;
    assert_int_equal(wh_unit_make(&unit, "K-17", WH_TRAILER, 2, dual, NULL), WH_OK);
    wh_attribution attribution = {.seat_count = 4};
    attribution.seats[0].state = WH_SEAT_SURE;
    attribution.seats[1].state = WH_SEAT_BOUND;
    attribution.seats[2].state = WH_SEAT_UNSURE; /* heard, but not known to be here */
    wh_finding items[] = {
        {.severity = WH_SEVERITY_FAULT}, {.severity = WH_SEVERITY_NOTE}, {.severity = WH_SEVERITY_NOTE}};
    const wh_findings findings = {items, 3};
    wh_unit_line lines[] = {{.unit = &unit, .swept = true, .dated = true, .sweep_us = at, .repaired = true},
                            {.unit = &unit}};
    wh_unit_line_count(&lines[0], &attribution, &findings);
    wh_text text = {0};
    wh_yard_lines(&text, WH_TABLE_TEXT, lines, 2);
    check(
        &text,
        "unit             kind     last swept (UTC)          heard       faults checks  notes\n"
        "K-17             trailer  2026-03-02T07:15:04.000Z  2 of 6           1      0      2   since the repair mark\n"
        "K-17             trailer  never\n");
}

static void test_rules(void **state)
{
    (void)state;
    wh_thresholds thresholds;
    wh_thresholds_defaults(&thresholds);
    assert_int_equal(wh_thresholds_set(&thresholds, "high share", 115.0, NULL), WH_OK);
    wh_text text = {0};
    wh_rules_lines(&text, WH_TABLE_TEXT, &thresholds);
    assert_non_null(strstr(text.data, "high share: 115 % (fleet setting)\n"));
    assert_non_null(strstr(text.data, "far too low share: 80 %\n")); /* 29 CFR 1910.177 */
    assert_non_null(strstr(text.data, "29 CFR 1910.177"));
    wh_text_free(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_readings), cmocka_unit_test(test_sweeps),
                                       cmocka_unit_test(test_units_at_a_glance), cmocka_unit_test(test_rules)};
    return cmocka_run_group_tests_name("history", tests, NULL, NULL);
}
