#include "text_buffer.h"

#include <locale.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <cmocka.h>

static void fixed(double value, unsigned decimals, const char *expected)
{
    char out[WH_FIXED_SIZE];
    assert_string_equal(wh_fixed(out, value, decimals), expected);
}

static void test_fixed(void **state)
{
    (void)state;
    fixed(724.0, 1, "724.0");
    fixed(0.05, 1, "0.1");
    fixed(-0.05, 1, "-0.1");
    fixed(-0.04, 1, "0.0");
    fixed(-0.5, 0, "-1");
    fixed(1234567.891, 3, "1234567.891");
    fixed(0.000001, 6, "0.000001");
    fixed(433918400.4, 0, "433918400");
    fixed(NAN, 1, "nan");
    fixed(1e300, 2, "92000000000000000.00");
    fixed(-INFINITY, 0, "-9200000000000000000");
}

/* Every fourth of a thousandth is exact in binary after scaling: printf of the C library must agree. */
static void test_fixed_agrees_with_the_library(void **state)
{
    (void)state;
    setlocale(LC_ALL, "C");
    for (int i = -20000; i < 20000; i++) {
        if (i % 4 == 2 || i % 4 == -2)
            continue; /* halves: ours go away from zero, the library's to even */
        char ours[WH_FIXED_SIZE], theirs[64];
        snprintf(theirs, sizeof theirs, "%.2f", i / 400.0);
        if (strcmp(theirs, "-0.00") == 0)
            continue;
        assert_string_equal(wh_fixed(ours, i / 400.0, 2), theirs);
    }
}

static void test_rounding_down_never_gains(void **state)
{
    (void)state;
    char out[WH_FIXED_SIZE];
    assert_string_equal(wh_fixed_down(out, 0.99999, 3), "0.999");
    assert_string_equal(wh_fixed_down(out, 1.0, 3), "1.000");
    assert_string_equal(wh_fixed_down(out, 0.29, 2), "0.29"); /* 0.29 * 100 is 28.999999999999996 */
    assert_string_equal(wh_fixed_down(out, 0.8999, 3), "0.899");
    assert_string_equal(wh_fixed_down(out, 0.0, 3), "0.000");
}

static void test_plain(void **state)
{
    (void)state;
    char out[WH_FIXED_SIZE];
    assert_string_equal(wh_plain(out, 2.9, 6), "2.9");
    assert_string_equal(wh_plain(out, 12, 6), "12");
    assert_string_equal(wh_plain(out, 100, 0), "100");
    assert_string_equal(wh_plain(out, -0.0000001, 6), "0");
    assert_string_equal(wh_plain(out, -0.5, 6), "-0.5");
}

/* gmtime_r of the C library is the reference. */
static void test_time_agrees_with_the_library(void **state)
{
    (void)state;
    uint64_t random = 1;
    for (int i = 0; i < 20000; i++) {
        random = random * 6364136223846793005u + 1442695040888963407u;
        const int64_t year_0 = -62167219200, span = 315569520000; /* seconds; 10000 years */
        const int64_t second = year_0 + (int64_t)(random >> 11) % span;
        const unsigned micro = (unsigned)(random % 1000000);
        const time_t instant = (time_t)second;
        struct tm parts;
        gmtime_r(&instant, &parts);
        char expected[80], out[WH_TIME_SIZE];
        snprintf(expected, sizeof expected, "%04d-%02d-%02dT%02d:%02d:%02d.%06uZ", parts.tm_year + 1900,
                 parts.tm_mon + 1, parts.tm_mday, parts.tm_hour, parts.tm_min, parts.tm_sec, micro);
        assert_string_equal(wh_time_text(out, second * 1000000 + (int64_t)micro, 6), expected);
    }
}

static void test_time_at_the_edges(void **state)
{
    (void)state;
    char out[WH_TIME_SIZE];
    assert_string_equal(wh_time_text(out, 0, 3), "1970-01-01T00:00:00.000Z");
    assert_string_equal(wh_time_text(out, -1, 6), "1969-12-31T23:59:59.999999Z");
    assert_string_equal(wh_time_text(out, 951782399999999, 3), "2000-02-28T23:59:59.999Z");
    assert_string_equal(wh_time_text(out, 951782400000000, 3), "2000-02-29T00:00:00.000Z");
    assert_string_equal(wh_time_text(out, INT64_MAX, 3), "9999-12-31T23:59:59.999Z");
    assert_string_equal(wh_time_text(out, INT64_MIN, 3), "0000-01-01T00:00:00.000Z");
}

static void test_growing(void **state)
{
    (void)state;
    wh_text text = {0};
    char word[3000];
    memset(word, 'x', sizeof word - 1);
    word[sizeof word - 1] = '\0';
    for (int i = 0; i < 10; i++)
        wh_text_print(&text, "%s|", word);
    assert_false(text.failed);
    assert_int_equal(text.length, 10 * sizeof word);
    assert_int_equal(strlen(text.data), text.length);
    assert_int_equal(text.data[2 * sizeof word - 1], '|');
    wh_text_clear(&text);
    assert_string_equal(text.data, "");
    wh_text_free(&text);
    assert_null(text.data);
}

static void test_padding_counts_characters(void **state)
{
    (void)state;
    wh_text text = {0};
    wh_text_pad(&text, "ab", 4);
    wh_text_pad(&text, "ab", -4);
    wh_text_pad(&text,
                "Stra\xC3\x9F"
                "e",
                7);
    wh_text_pad(&text, "longer", 3);
    wh_text_pad(&text, "longer", -3);
    assert_string_equal(text.data, "ab    abStra\xC3\x9F"
                                   "e longerlonger");
    wh_text_free(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_fixed),
        cmocka_unit_test(test_fixed_agrees_with_the_library),
        cmocka_unit_test(test_rounding_down_never_gains),
        cmocka_unit_test(test_plain),
        cmocka_unit_test(test_time_agrees_with_the_library),
        cmocka_unit_test(test_time_at_the_edges),
        cmocka_unit_test(test_growing),
        cmocka_unit_test(test_padding_counts_characters),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
