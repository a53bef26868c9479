#include "change_report.h"
#include "sheet_scene.h"

#include <setjmp.h>
#include <stdarg.h>

#include <cmocka.h>

static void check(wh_text *text, const char *expected)
{
    assert_false(text->failed);
    assert_string_equal(text->data, expected);
    wh_text_free(text);
}

/* 0A1B2C3E = 169552958 and 0A1B2C00 = 169552896 (GNU bc); the location byte is SAE J1939 SPN 929: axle and place from 0. */
static void test_changes(void **state)
{
    (void)state;
    sheet_scene scene;
    sheet_scene_make(&scene);
    wh_text text = {0};
    wh_changes_lines(&text, WH_TABLE_TEXT, "K-17", &scene.changes);
    check(&text, "    wheel old ID      new ID      decimal       J1939  centre-8 X12\n"
                 "[ ] 2LO   0A1B2C00    0A1B2C3E    169552958     0x10   -        -\n"
                 "          on no record\n");
    wh_changes_lines(&text, WH_TABLE_JSON, "K-17", &scene.changes);
    check(&text,
          "{\"record\":\"change\",\"unit\":\"K-17\",\"position\":\"2LO\",\"old_sensor\":\"0A1B2C00\","
          "\"old_decimal\":\"169552896\",\"new_sensor\":\"0A1B2C3E\",\"new_decimal\":\"169552958\",\"odds\":0.987,"
          "\"confirm\":false,\"j1939_location\":16,\"reason\":\"on no record\"}\n");
    wh_changes_lines(&text, WH_TABLE_CSV, "=K", &scene.changes);
    check(&text, "unit,wheel,old sensor (hex),new sensor (hex),old sensor (decimal),new sensor (decimal),"
                 "SAE J1939 location,centre-8 location,X12 302 location,reason\r\n"
                 "'=K,2LO,0A1B2C00,0A1B2C3E,169552896,169552958,0x10,,,on no record\r\n");
}

static void test_reasons(void **state)
{
    (void)state;
    static const struct {
        wh_change change;
        const char *reason;
    } rows[] = {
        {{.kind = WH_IDENTITY_CROSSED, .other = {2, WH_RIGHT, WH_OUTER}}, "crossed with 2RO"},
        {{.kind = WH_IDENTITY_MOVED, .other = {1, WH_LEFT, WH_SINGLE}}, "on record at 1L"},
        {{.kind = WH_IDENTITY_OTHER_UNIT, .other = {1, WH_LEFT, WH_SINGLE}, .other_unit = "T-9"},
         "on record for unit T-9 at 1L: take it off there"},
        {{.kind = WH_IDENTITY_EMPTY}, "the old one is elsewhere: take it off here"},
        {{.kind = WH_IDENTITY_NEW, .confirm = true},
         "on no record; heard once only: hear it again before you enter it"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        wh_text text = {0};
        wh_change_reason(&text, &rows[i].change);
        check(&text, rows[i].reason);
    }
}

static void test_verification(void **state)
{
    (void)state;
    sheet_scene scene;
    sheet_scene_make(&scene);
    wh_text text = {0};
    wh_verification_lines(&text, WH_TABLE_JSON, "K-17", &scene.verification);
    check(&text, "{\"record\":\"verified\",\"unit\":\"K-17\",\"position\":\"2LO\",\"verdict\":\"mended\","
                 "\"severity\":\"note\",\"before\":\"far-too-low\",\"heard\":true,"
                 "\"evidence\":\"560 kPa gauge before, 726 kPa gauge now\"}\n"
                 "{\"record\":\"verified\",\"unit\":\"K-17\",\"position\":\"2LI\",\"verdict\":\"not-heard\","
                 "\"severity\":\"note\",\"heard\":false,\"evidence\":\"not heard since the repair mark\"}\n");
    wh_verification_lines(&text, WH_TABLE_CSV, "K-17", &scene.verification);
    check(&text, "unit,wheel,verdict,severity,finding,evidence\r\n"
                 "K-17,2LO,mended,note,pressure far too low,\"560 kPa gauge before, 726 kPa gauge now\"\r\n"
                 "K-17,2LI,not-heard,note,,not heard since the repair mark\r\n");
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_changes), cmocka_unit_test(test_reasons),
                                       cmocka_unit_test(test_verification)};
    return cmocka_run_group_tests_name("changes and verification", tests, NULL, NULL);
}
