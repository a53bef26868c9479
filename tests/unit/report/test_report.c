#include "report.h"

#include <locale.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static wh_reading reading(void)
{
    return (wh_reading){.offset_s = 4.12035,
                        .has_time = true,
                        .at_utc_us = 1772435704120350, /* 2026-03-02T07:15:04.120350Z */
                        .source = "dock.sigmf-meta",
                        .descriptor = "demo-fsk-a",
                        .sensor = "0A1B2C3D",
                        .pressure_state = WH_VALUE_OK,
                        .pressure = {724.0},
                        .temperature_state = WH_VALUE_OK,
                        .temperature_c = 18.5,
                        .confidence = 0.998,
                        .carrier_hz = 433918400,
                        .snr_db = 21.3,
                        .level_dbfs = -12,
                        .copies = 3,
                        .frame_bits = 16,
                        .frame = {0xA0, 0x0F},
                        .flag_count = 1,
                        .flags = {{"battery low", false}}};
}

/* What a report of one format writes for one reading; the caller frees. */
static char *written(wh_report_format format, const wh_reading *r)
{
    char *text = NULL;
    size_t length = 0;
    FILE *out = open_memstream(&text, &length);
    const wh_report_style style = {.format = format};
    wh_report *report = wh_report_create(&style, out);
    assert_int_equal(wh_report_reading(report, r), WH_OK);
    assert_int_equal(wh_report_finish(report), WH_OK);
    wh_report_destroy(&report);
    fclose(out);
    return text;
}

static void test_json_key_order(void **state)
{
    (void)state;
    const wh_reading r = reading();
    char *text = written(WH_REPORT_JSON, &r);
    assert_string_equal(text, "{\"record\":\"reading\",\"at\":\"2026-03-02T07:15:04.120350Z\",\"offset_s\":4.120350,"
                              "\"source\":\"dock.sigmf-meta\",\"descriptor\":\"demo-fsk-a\",\"sensor\":\"0A1B2C3D\","
                              "\"gauge_kpa\":724.0,\"temp_c\":18.5,\"confidence\":0.998,\"carrier_hz\":433918400,"
                              "\"snr_db\":21.3,\"level_dbfs\":-12.0,\"copies\":3,\"frame\":\"A00F\","
                              "\"flags\":{\"battery_low\":false}}\n");
    free(text);
}

static void test_nothing_is_certain(void **state)
{
    (void)state;
    wh_reading r = reading();
    static const double given[] = {1.0, 0.99999, 0.8999};
    static const char *const said[] = {"\"confidence\":0.999,", "\"confidence\":0.999,", "\"confidence\":0.899,"};
    for (size_t i = 0; i < 3; i++) {
        r.confidence = given[i];
        char *text = written(WH_REPORT_JSON, &r);
        assert_non_null(strstr(text, said[i]));
        free(text);
    }
}

static void test_text_with_time(void **state)
{
    (void)state;
    const wh_reading r = reading();
    char *text = written(WH_REPORT_TEXT, &r);
    assert_string_equal(
        text,
        "time (UTC)                sensor          kPa gauge        temp. C  confidence    dBFS  copies  descriptor "
        "               notes\n"
        "2026-03-02T07:15:04.120Z  0A1B2C3D            724.0           18.5       0.998   -12.0       3  demo-fsk-a\n");
    free(text);
}

static void test_csv_row(void **state)
{
    (void)state;
    const wh_reading r = reading();
    char *text = written(WH_REPORT_CSV, &r);
    const char *row = strstr(text, "\r\n");
    assert_non_null(row);
    assert_string_equal(row + 2, "2026-03-02T07:15:04.120350Z,4.120350,dock.sigmf-meta,demo-fsk-a,0A1B2C3D,724.0,,ok,"
                                 "18.5,ok,0.998,433918400,21.3,-12.0,3,0,A00F,,\r\n");
    free(text);
}

static void test_heading_changes_with_the_clock(void **state)
{
    (void)state;
    char *text = NULL;
    size_t length = 0;
    FILE *out = open_memstream(&text, &length);
    const wh_report_style style = {.format = WH_REPORT_TEXT};
    wh_report *report = wh_report_create(&style, out);
    wh_reading r = reading();
    for (int i = 0; i < 4; i++) {
        r.has_time = i < 2;
        wh_report_reading(report, &r);
    }
    wh_report_finish(report);
    wh_report_destroy(&report);
    fclose(out);
    const char *first = strstr(text, "time (UTC)"), *second = strstr(text, "time in s");
    assert_non_null(first);
    assert_non_null(second);
    assert_null(strstr(first + 1, "time (UTC)"));
    assert_null(strstr(second + 1, "time in s"));
    free(text);
}

static void test_failure_stays(void **state)
{
    (void)state;
    FILE *full = fopen("/dev/full", "w");
    if (!full)
        skip();
    setvbuf(full, NULL, _IONBF, 0);
    const wh_report_style style = {.format = WH_REPORT_JSON};
    wh_report *report = wh_report_create(&style, full);
    const wh_reading r = reading();
    assert_int_equal(wh_report_reading(report, &r), WH_ERR_IO);
    assert_int_equal(wh_report_reading(report, &r), WH_ERR_IO);
    assert_int_equal(wh_report_finish(report), WH_ERR_IO);
    wh_report_destroy(&report);
    assert_null(report);
    fclose(full);
}

int main(void)
{
    /* Where numbers are written with a comma the same must hold; the build provides that locale if it can. */
    setlocale(LC_ALL, "");
    if (getenv("WH_COMMA_LOCALE") && strcmp(localeconv()->decimal_point, ",") != 0)
        return 1;
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_json_key_order),
        cmocka_unit_test(test_text_with_time),
        cmocka_unit_test(test_csv_row),
        cmocka_unit_test(test_nothing_is_certain),
        cmocka_unit_test(test_heading_changes_with_the_clock),
        cmocka_unit_test(test_failure_stays),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
