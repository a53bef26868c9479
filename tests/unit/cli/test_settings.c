#include "settings.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static wh_settings read_good(const char *text)
{
    wh_settings settings;
    wh_complaints complaints;
    wh_complaints_begin(&complaints, "settings.yaml", text, strlen(text));
    const wh_status status = wh_settings_read(&settings, NULL, &complaints);
    if (status != WH_OK)
        fail_msg("%s", complaints.count ? complaints.items[0].reason : "no complaint");
    wh_complaints_free(&complaints);
    return settings;
}

static bool near(double a, double b)
{
    return fabs(a - b) < 1e-6;
}

static void test_defaults(void **state)
{
    (void)state;
    static const char *const bare[] = {"", "\n\n", "# nothing yet\n", "  # nothing\r\n\t# at all"};
    for (size_t i = 0; i < sizeof bare / sizeof bare[0]; i++) {
        const wh_settings settings = read_good(bare[i]);
        wh_thresholds standard;
        wh_thresholds_defaults(&standard);
        assert_true(settings.pressure_unit == WH_KPA && settings.temperature_unit == WH_CELSIUS);
        assert_true(settings.site.kpa == WH_STANDARD_ATMOSPHERE_KPA);
        assert_true(isnan(settings.altitude_m) && isnan(settings.frequency_hz) && isnan(settings.gain_db));
        assert_memory_equal(&settings.thresholds, &standard, sizeof standard);
    }
}

/* 1 psi = 6.894757 kPa (NIST SP 811); 1500 m of standard atmosphere 84.556 kPa, 5000 ft 84.307 kPa (US Standard Atmosphere
 * 1976). */
static void test_values(void **state)
{
    (void)state;
    wh_settings settings = read_good("wheelhark settings: 1\nwho: Kim\npressure: psi\ntemperature: F\n"
                                     "altitude: 1500 m\nfrequency: 315 MHz\ngain: 32.8 dB\nppm: -12 ppm\n"
                                     "dongle: \"00000001\"\nlow share: 92 %\ndual difference: 7 psi\nhot: 185 degF\n"
                                     "loss: 0.2 psi/day\nsending interval: 2 min\nstrong level: 25 dB\n"
                                     "reference temperature: 15 C\n");
    assert_string_equal(settings.who, "Kim");
    assert_true(settings.pressure_unit == WH_PSI && settings.temperature_unit == WH_FAHRENHEIT);
    assert_true(fabs(settings.site.kpa - 84.556) < 0.01 && settings.altitude_m == 1500.0);
    assert_true(settings.frequency_hz == 315e6 && settings.gain_db == 32.8 && settings.ppm == -12.0);
    assert_string_equal(settings.dongle, "00000001");
    assert_true(near(settings.thresholds.low_share, 0.92));
    assert_true(near(settings.thresholds.dual_difference_kpa, 48.263299));
    assert_true(near(settings.thresholds.hot_c, 85.0));
    assert_true(near(settings.thresholds.loss_kpa_per_day, 1.3789514));
    assert_true(near(settings.thresholds.interval_s, 120.0));
    assert_true(near(settings.thresholds.strong_snr_db, 25.0));
    assert_true(near(settings.thresholds.reference_c, 15.0));
    settings = read_good("altitude: 5000 ft\ngain: auto\n");
    assert_true(fabs(settings.site.kpa - 84.307) < 0.02 && isnan(settings.gain_db));
    settings = read_good("air pressure: 985 hPa\n");
    assert_true(near(settings.site.kpa, 98.5) && isnan(settings.altitude_m));
}

/* Each setting's text is taken back as the same setting. */
static void test_texts_read_back(void **state)
{
    (void)state;
    const wh_settings settings = read_good("who: Kim\npressure: bar\naltitude: 350 m\nfrequency: 433.92 MHz\n"
                                           "gain: 20 dB\nppm: 3.5 ppm\ndongle: abc\nlow share: 93.5 %\n");
    for (size_t i = 0; i < wh_setting_count(); i++) {
        char text[WH_SETTING_TEXT_SIZE], again[WH_SETTING_TEXT_SIZE];
        wh_settings other;
        wh_error error;
        wh_settings_defaults(&other);
        if (wh_setting_text(&settings, i, text)[0] == '\0')
            continue;
        if (wh_setting_take(&other, i, text, &error) != WH_OK)
            fail_msg("%s: %s", wh_setting_at(i).name, error.what);
        assert_string_equal(wh_setting_text(&other, i, again), text);
        assert_int_equal(wh_setting_find(wh_setting_at(i).name, &error), i);
        assert_true(wh_setting_at(i).meaning[0]);
    }
}

static void expect_bad(const char *text, unsigned line, unsigned column, const char *reason, const char *hint)
{
    wh_settings settings;
    wh_complaints complaints;
    wh_complaints_begin(&complaints, "settings.yaml", text, strlen(text));
    assert_int_not_equal(wh_settings_read(&settings, NULL, &complaints), WH_OK);
    assert_true(complaints.count > 0);
    const wh_complaint *first = &complaints.items[0];
    if (first->line != line || first->column != column || !strstr(first->reason, reason) || !strstr(first->hint, hint))
        fail_msg("%u:%u: %s / %s", first->line, first->column, first->reason, first->hint);
    wh_complaints_free(&complaints);
}

static void test_complaints(void **state)
{
    (void)state;
    expect_bad("who: x\npresure: psi\n", 2, 1, "no setting 'presure'", "'pressure'");
    expect_bad("Who: x\n", 1, 1, "no setting 'Who'", "write 'who'");
    expect_bad("pressure: atm\n", 1, 11, "no unit of pressure", "kPa, bar or psi");
    expect_bad("low share: 92\n", 1, 12, "no figure", "90 %");
    expect_bad("far too low share: 70 %\n", 1, 20, "not between 80 and 100", "cannot be set lower");
    expect_bad("altitude: 9000 m\n", 1, 11, "-500 m and 5500 m", "350 m");
    expect_bad("altitude: 10 m\nair pressure: 98 kPa\n", 2, 1, "in two ways", "one of them");
    expect_bad("frequency: 136\n", 1, 12, "not between", "433.92 MHz"); /* MHz forgotten */
    expect_bad("gain: [1]\n", 1, 7, "single value", "");
    expect_bad("- a\n- b\n", 1, 1, "names and values", "name: value");
    expect_bad("wheelhark settings: 2\n", 1, 21, "another version", "version 1");
    expect_bad("who: 12345678901234567890123456789012345678901234567890\n", 1, 6, "47 bytes", "one line");
    expect_bad("who: a\nwho: b\n", 2, 1, "second time", "");
    expect_bad("who: [\n", 2, 1, "", "");
}

static void expect_edit(const char *text, const char *name, const char *value, const char *after)
{
    wh_text out = {0};
    wh_error error = {0};
    const wh_status status = wh_settings_edit(text, strlen(text), name, value, &out, &error);
    if (after && status != WH_OK)
        fail_msg("%s", error.what);
    if (after)
        assert_string_equal(out.data ? out.data : "", after);
    else
        assert_true(status == WH_ERR_DATA && strstr(error.fix, "by hand"));
    wh_text_free(&out);
}

static void test_editing(void **state)
{
    (void)state;
    expect_edit("", "pressure", "psi", "wheelhark settings: 1\npressure: psi\n");
    expect_edit("# mine\nwho: a # me\npressure: kPa", "who", "b", "# mine\nwho: b # me\npressure: kPa");
    expect_edit("who: \"ä\" # me\n", "who", "x: \"y\" \\", "who: \"x: \\\"y\\\" \\\\\" # me\n");
    expect_edit("pressure: kPa", "low share", "92 %", "pressure: kPa\nlow share: 92 %\n");
    expect_edit("who:\npressure: psi\n", "who", "a", "who: a\npressure: psi\n");
    expect_edit("who: a\r\npressure: psi\r\n", "pressure", "bar", "who: a\r\npressure: bar\r\n");
    expect_edit("a: 1\nwho: ä # me\n# end\n", "who", NULL, "a: 1\n# end\n");
    expect_edit("who: a\n", "who", NULL, "");
    expect_edit("pressure: psi\n", "who", NULL, "pressure: psi\n");
    expect_edit("who:    # nobody\npressure: psi\n", "who", "a", "who: a    # nobody\npressure: psi\n");
    expect_edit("\"who\" : a\n", "who", "b", "\"who\": b\n");
    expect_edit("{who: a}\n", "who", "b", NULL);
    expect_edit("who: |\n  a\n  b\n", "who", "b", NULL);
    expect_edit("who: [a]\n", "who", "b", NULL);
    expect_edit("who: [\n", "who", "b", NULL);
    expect_edit("who: a\n---\nwho: b\n", "who", "b", NULL);
    expect_edit("who: a\n...\n", "pressure", "psi", NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_defaults),   cmocka_unit_test(test_values),  cmocka_unit_test(test_texts_read_back),
        cmocka_unit_test(test_complaints), cmocka_unit_test(test_editing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
