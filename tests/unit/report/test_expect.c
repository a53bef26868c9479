#include "expect.h"

#include <locale.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

static wh_reading reading(double offset_s, const char *sensor, double gauge_kpa)
{
    wh_reading r = {.offset_s = offset_s,
                    .source = "yard.cu8",
                    .descriptor = "demo",
                    .pressure_state = WH_VALUE_OK,
                    .pressure = {gauge_kpa},
                    .temperature_state = WH_VALUE_NOT_AVAILABLE,
                    .confidence = 0.9,
                    .carrier_hz = 433.92e6,
                    .copies = 1};
    snprintf(r.sensor, sizeof r.sensor, "%s", sensor);
    return r;
}

typedef struct told {
    size_t count;
    char last[1024];
} told;

static void keep(void *context, const char *text)
{
    told *t = context;
    t->count++;
    snprintf(t->last, sizeof t->last, "%s", text);
}

/* Differences between the expected lines and `count` readings. */
static size_t differences(const char *lines, const wh_reading *readings, size_t count, told *t)
{
    wh_expect *expect;
    wh_error error = {0};
    *t = (told){0};
    if (wh_expect_parse("e", lines, strlen(lines), &expect, &error) != WH_OK)
        fail_msg("%s", error.what);
    for (size_t i = 0; i < count; i++)
        assert_int_equal(wh_expect_reading(expect, &readings[i]), WH_OK);
    assert_int_equal(wh_expect_heard(expect), count);
    const size_t result = wh_expect_compare(expect, keep, t);
    assert_int_equal(result, t->count);
    wh_expect_destroy(&expect);
    assert_null(expect);
    return result;
}

static void test_demanding_lines_choose_first(void **state)
{
    (void)state;
    told t;
    const wh_reading heard[] = {reading(1.0, "0A", 700), reading(2.0, "0B", 710)};
    assert_int_equal(differences("{}\n{\"sensor\":\"0A\"}\n", heard, 2, &t), 0);
    assert_int_equal(differences("{\"sensor\":\"0A\"}\n{}\n", heard, 2, &t), 0);
}

static void test_nearest_in_time(void **state)
{
    (void)state;
    told t;
    const wh_reading heard[] = {reading(1.0, "0A", 700), reading(1.03, "0A", 700)};
    const char lines[] = "{\"sensor\":\"0A\",\"offset_s\":1.016}\n{\"sensor\":\"0A\",\"offset_s\":0.981}\n";
    assert_int_equal(differences(lines, heard, 2, &t), 0);
}

static void test_offset_tolerance_is_20_ms(void **state)
{
    (void)state;
    told t;
    const wh_reading heard = reading(1.0, "0A", 700);
    assert_int_equal(differences("{\"sensor\":\"0A\",\"offset_s\":1.02}", &heard, 1, &t), 0);
    assert_int_equal(differences("{\"sensor\":\"0A\",\"offset_s\":1.0201}", &heard, 1, &t), 1);
    assert_non_null(strstr(t.last, "e: line 1: offset_s 1.0201 expected, 1.0 heard (tolerance 0.02)"));
}

static void test_half_a_digit(void **state)
{
    (void)state;
    told t;
    const wh_reading heard = reading(1.0, "0A", 700.04); /* written as 700.0 */
    assert_int_equal(differences("{\"gauge_kpa\":700.05}", &heard, 1, &t), 0);
    assert_int_equal(differences("{\"gauge_kpa\":699.95}", &heard, 1, &t), 0);
    assert_int_equal(differences("{\"gauge_kpa\":700}", &heard, 1, &t), 0);
    assert_int_equal(differences("{\"sensor\":\"0A\",\"gauge_kpa\":700.06}", &heard, 1, &t), 1);
    assert_int_equal(differences("{\"gauge_kpa\":710,\"tolerance\":{\"gauge_kpa\":10}}", &heard, 1, &t), 0);
    assert_int_equal(differences("{\"gauge_kpa\":711,\"tolerance\":{\"gauge_kpa\":10}}", &heard, 1, &t), 2);
}

static void test_null_is_not_absent(void **state)
{
    (void)state;
    told t;
    wh_reading heard = reading(1.0, "0A", 700);
    assert_int_equal(differences("{\"temp_c\":null,\"faults\":{\"temp_c\":\"not available\"}}", &heard, 1, &t), 0);
    heard.temperature_state = WH_VALUE_ABSENT;
    assert_int_equal(differences("{\"sensor\":\"0A\",\"temp_c\":null}", &heard, 1, &t), 1);
}

static void test_missing_and_extra(void **state)
{
    (void)state;
    told t;
    const wh_reading heard[] = {reading(1.0, "0A", 700), reading(1.0, "0A", 700)};
    assert_int_equal(differences("", heard, 2, &t), 2);
    assert_string_equal(t.last, "heard but not expected: offset_s 1.0 source \"yard.cu8\" descriptor \"demo\" "
                                "sensor \"0A\" gauge_kpa 700.0 temp_c null");
    assert_int_equal(differences("{\"sensor\":\"0A\"}\n", heard, 2, &t), 1);
    assert_int_equal(differences("{\"sensor\":\"0B\"}\n{\"record\":\"summary\",\"readings\":7}", NULL, 0, &t), 1);
    assert_string_equal(t.last, "e: line 1: not heard: {\"sensor\":\"0B\"}");
}

static void test_malformed(void **state)
{
    (void)state;
    static const char *const texts[] = {"{",
                                        "[1]",
                                        "7",
                                        "{\"a\":1}{",
                                        "{\"record\":7}",
                                        "{\"a\":1,\"a\":1}",
                                        "{\"gauge_kpa\":1,\"tolerance\":{\"gauge_kpa\":\"1\"}}"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        wh_expect *expect;
        wh_error error = {0};
        assert_int_equal(wh_expect_parse("e", texts[i], strlen(texts[i]), &expect, &error), WH_ERR_FORMAT);
        assert_null(expect);
        if (strncmp(error.what, "e: line 1", 9) != 0)
            fail_msg("%s: %s", texts[i], error.what);
    }
    wh_expect *expect;
    wh_error error;
    assert_int_equal(wh_expect_load("/nonexistent/file", &expect, &error), WH_ERR_NOT_FOUND);
}

static void test_limit(void **state)
{
    (void)state;
    static char lines[3 * (WH_EXPECT_LINES_MAX + 1) + 1];
    for (size_t i = 0; i <= WH_EXPECT_LINES_MAX; i++)
        memcpy(lines + 3 * i, "{}\n", 4);
    wh_expect *expect;
    wh_error error;
    assert_int_equal(wh_expect_parse("e", lines, sizeof lines - 1, &expect, &error), WH_ERR_LIMIT);
    assert_int_equal(wh_expect_parse("e", lines, sizeof lines - 4, &expect, &error), WH_OK);
    assert_int_equal(wh_expect_count(expect), WH_EXPECT_LINES_MAX);
    wh_expect_destroy(&expect);
}

int main(void)
{
    setlocale(LC_ALL, ""); /* with a comma, where the build could provide that */
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_demanding_lines_choose_first),
        cmocka_unit_test(test_nearest_in_time),
        cmocka_unit_test(test_offset_tolerance_is_20_ms),
        cmocka_unit_test(test_half_a_digit),
        cmocka_unit_test(test_null_is_not_absent),
        cmocka_unit_test(test_missing_and_extra),
        cmocka_unit_test(test_malformed),
        cmocka_unit_test(test_limit),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
