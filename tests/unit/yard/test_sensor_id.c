#include "sensor_id.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

static void expect(const char *text, wh_id_base base, unsigned digits, const char *sensor)
{
    char got[WH_SENSOR_SIZE] = "untouched";
    wh_error error = {0};
    if (wh_sensor_id_parse(text, base, digits, got, &error) != WH_OK)
        fail_msg("'%s': %s", text, error.what);
    assert_string_equal(got, sensor);
}

static void expect_refused(const char *text, wh_id_base base, const char *word, const char *remedy)
{
    char got[WH_SENSOR_SIZE] = "untouched";
    wh_error error = {0};
    assert_int_equal(wh_sensor_id_parse(text, base, 8, got, &error), WH_ERR_DATA);
    if (!strstr(error.what, word) || !strstr(error.fix, remedy))
        fail_msg("'%s': %s / %s", text, error.what, error.fix);
    assert_string_equal(got, "untouched");
}

/* 305419896 = 0x12345678, 4294967295 = 2^32 - 1, 18446744073709551615 = 2^64 - 1: arithmetic. */
static void test_hex_and_decimal(void **state)
{
    (void)state;
    expect("0A1B2C3D", WH_ID_HEX, 8, "0A1B2C3D");
    expect(" 0x0a1b2c3d ", WH_ID_HEX, 8, "0A1B2C3D");
    expect("00000042", WH_ID_HEX, 8, "00000042");
    expect("0x42", WH_ID_DECIMAL, 8, "42"); /* 0x says hex whatever the column says */
    expect("12E05", WH_ID_HEX, 8, "12E05"); /* no sign: hex, not a short form */
    expect("305419896", WH_ID_DECIMAL, 8, "12345678");
    expect("4294967295", WH_ID_DECIMAL, 8, "FFFFFFFF");
    expect("42", WH_ID_DECIMAL, 8, "0000002A");
    expect("42", WH_ID_DECIMAL, 7, "000002A");
    expect("0042", WH_ID_DECIMAL, 8, "0000002A");
    expect("4294967296", WH_ID_DECIMAL, 8, "100000000"); /* longer than asked: nothing is cut */
    expect("18446744073709551615", WH_ID_DECIMAL, 8, "FFFFFFFFFFFFFFFF");
    expect("~1a2b3c", WH_ID_DECIMAL, 8, "~1A2B3C");
    expect("A1B2C3D4", WH_ID_BASE_OPEN, 8, "A1B2C3D4");
    expect("0x12345678", WH_ID_BASE_OPEN, 8, "12345678");
}

static void test_ambiguous(void **state)
{
    (void)state;
    expect_refused("12345678", WH_ID_BASE_OPEN, "hex or decimal", "0x");
    expect_refused("0", WH_ID_BASE_OPEN, "hex or decimal", "0x");
}

/* What spreadsheets display or store for long numbers: common practice, no source. */
static void test_damaged_by_spreadsheets(void **state)
{
    (void)state;
    static const wh_id_base bases[] = {WH_ID_BASE_OPEN, WH_ID_HEX, WH_ID_DECIMAL};
    for (int i = 0; i < 3; i++) {
        expect_refused("4.29E+09", bases[i], "spreadsheet", "0x");
        expect_refused("4,29E+09", bases[i], "spreadsheet", "0x");
        expect_refused("1E+10", bases[i], "spreadsheet", "0x");
        expect_refused("4,294,967,295", bases[i], "separators", "without");
        expect_refused("4.294.967.295", bases[i], "separators", "without");
        expect_refused("4 294 967 295", bases[i], "separators", "without");
    }
    expect_refused("1844674407370950000", WH_ID_DECIMAL, "rounded", "0x");
    expect("123456789012345", WH_ID_DECIMAL, 8, "7048860DDF79"); /* 15 digits: whole */
}

static void test_no_id(void **state)
{
    (void)state;
    expect_refused("", WH_ID_HEX, "no sensor ID", "0 to 9");
    expect_refused("0x", WH_ID_HEX, "no sensor ID", "0 to 9");
    expect_refused("left", WH_ID_BASE_OPEN, "no sensor ID", "0 to 9");
    expect_refused("0A1B2C3G", WH_ID_HEX, "no sensor ID", "0 to 9");
    expect_refused("~", WH_ID_HEX, "no sensor ID", "0 to 9");
    expect_refused("A1B2", WH_ID_DECIMAL, "no decimal", "hex");
    expect_refused("-5", WH_ID_DECIMAL, "no decimal", "hex");
    expect_refused("18446744073709551616", WH_ID_DECIMAL, "64 bits", "hex");
    char longest[200];
    memset(longest, 'A', sizeof longest);
    longest[65] = '\0';
    expect_refused(longest, WH_ID_HEX, "65 hex digits", "one ID");
    longest[64] = '\0';
    expect(longest, WH_ID_HEX, 8, longest);
    memset(longest, '1', sizeof longest);
    longest[199] = '\0';
    expect_refused(longest, WH_ID_HEX, "far too long", "one ID");
}

static void test_shown_in_decimal(void **state)
{
    (void)state;
    char text[WH_ID_DECIMAL_SIZE];
    assert_true(wh_sensor_id_decimal("12345678", text));
    assert_string_equal(text, "305419896");
    assert_true(wh_sensor_id_decimal("00000000000000000000002A", text));
    assert_string_equal(text, "42");
    assert_true(wh_sensor_id_decimal("FFFFFFFFFFFFFFFF", text));
    assert_string_equal(text, "18446744073709551615");
    assert_true(wh_sensor_id_decimal("00000000", text));
    assert_string_equal(text, "0");
    assert_false(wh_sensor_id_decimal("1FFFFFFFFFFFFFFFF", text));
    assert_false(wh_sensor_id_decimal("~1A2B3C", text));
    assert_false(wh_sensor_id_decimal("", text));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_hex_and_decimal),         cmocka_unit_test(test_ambiguous),
        cmocka_unit_test(test_damaged_by_spreadsheets), cmocka_unit_test(test_no_id),
        cmocka_unit_test(test_shown_in_decimal),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
