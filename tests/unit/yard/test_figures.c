#include "figures.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

/* 1 psi = 6.894757 kPa (NIST SP 811): 612 kPa = 88.763 psi; 41 kPa = 5.95 psi; 8.3 kPa = 1.204 psi. 18.5 C = 65.3 F. */
static void test_figures_in_every_unit(void **state)
{
    (void)state;
    char out[WH_FIGURE_SIZE];
    assert_string_equal(wh_gauge_figure(out, (wh_gauge){612}, WH_KPA), "612 kPa gauge");
    assert_string_equal(wh_gauge_figure(out, (wh_gauge){612}, WH_BAR), "6.12 bar gauge");
    assert_string_equal(wh_gauge_figure(out, (wh_gauge){612}, WH_PSI), "88.8 psi gauge");
    assert_string_equal(wh_difference_figure(out, 41, WH_PSI), "5.9 psi");
    assert_string_equal(wh_rate_figure(out, 8.3, WH_KPA, true), "8.3 kPa");
    assert_string_equal(wh_rate_figure(out, 8.3, WH_PSI, true), "1.2 psi");
    assert_string_equal(wh_rate_figure(out, 8.3, WH_BAR, false), "0.083");
    assert_string_equal(wh_temperature_figure(out, 18.5, WH_CELSIUS), "18.5 C");
    assert_string_equal(wh_temperature_figure(out, 18.5, WH_FAHRENHEIT), "65.3 F");
    assert_string_equal(wh_temperature_figure(out, -0.04, WH_CELSIUS), "0.0 C");
}

static void test_odds_are_never_certain(void **state)
{
    (void)state;
    char out[WH_FIGURE_SIZE];
    assert_string_equal(wh_share_figure(out, 0.847), "85 %");
    assert_string_equal(wh_share_figure(out, 0.9999), "99 %");
    assert_string_equal(wh_share_figure(out, 0.0001), "1 %");
    assert_string_equal(wh_share_figure(out, 1.0), "100 %");
    assert_string_equal(wh_share_figure(out, 0.0), "0 %");
}

static void test_durations(void **state)
{
    (void)state;
    char out[WH_FIGURE_SIZE];
    assert_string_equal(wh_duration_figure(out, 45), "45 s");
    assert_string_equal(wh_duration_figure(out, 240), "4 min");
    assert_string_equal(wh_duration_figure(out, 3 * 3600), "3 h");
    assert_string_equal(wh_duration_figure(out, 12 * 86400), "12 days");
}

static void test_wild_numbers_stay_in_bounds(void **state)
{
    (void)state;
    char out[WH_FIGURE_SIZE];
    assert_string_equal(wh_gauge_figure(out, (wh_gauge){1e300}, WH_PSI), "1000000000.0 psi gauge");
    assert_string_equal(wh_temperature_figure(out, -1e300, WH_FAHRENHEIT), "-1000000000.0 F");
    assert_non_null(strstr(wh_gauge_figure(out, (wh_gauge){(double)NAN}, WH_KPA), "kPa gauge"));
}

static void test_phrases_are_cut_between_characters(void **state)
{
    (void)state;
    char text[12];
    wh_phrase phrase = wh_phrase_in(text, sizeof text);
    wh_phrase_add(&phrase, "%s", "12345");
    wh_phrase_add(&phrase, "%d", 67);
    assert_string_equal(text, "1234567");
    wh_phrase_add(&phrase, "%s", "\xC3\xA4\xC3\xB6\xC3\xBC"); /* six bytes, four fit */
    assert_string_equal(text, "1234567...");
    wh_phrase_add(&phrase, "%s", "x");
    assert_string_equal(text, "1234567...");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_figures_in_every_unit),
        cmocka_unit_test(test_odds_are_never_certain),
        cmocka_unit_test(test_durations),
        cmocka_unit_test(test_wild_numbers_stay_in_bounds),
        cmocka_unit_test(test_phrases_are_cut_between_characters),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
