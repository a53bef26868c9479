/* What a technician sees the moment a sensor answers. */
#include "early_text.h"

#include "../near.h"

static void check(const wh_report_style *style, const wh_reading *reading, unsigned columns, const char *wanted)
{
    wh_text text = {0};
    wh_text_add(&text, "> ");
    wh_early_text(&text, style, reading, columns);
    assert_false(text.failed);
    assert_string_equal(text.data + 2, wanted);
    wh_text_free(&text);
}

static void test_values(void **state)
{
    (void)state;
    wh_reading r = {.sensor = "0A1B2C3D",
                    .pressure_state = WH_VALUE_OK,
                    .pressure = {724.0},
                    .temperature_state = WH_VALUE_OK,
                    .temperature_c = 18.5};
    const wh_report_style si = {.pressure = WH_KPA, .temperature = WH_CELSIUS};
    check(&si, &r, 200, "heard 0A1B2C3D, 724.0 kPa gauge, 18.5 C; waiting for further copies");
    /* 724 kPa / 6.894757 = 105.0 psi; 18.5 degC = 65.3 degF. */
    const wh_report_style us = {.pressure = WH_PSI, .temperature = WH_FAHRENHEIT};
    check(&us, &r, 200, "heard 0A1B2C3D, 105.0 psi gauge, 65.3 F; waiting for further copies");
    check(&si, &r, 21, "heard 0A1B2C3D, 724.0");
    /* What the sensor does not tell is left out. */
    r.temperature_state = WH_VALUE_ABSENT;
    r.pressure_state = WH_VALUE_FAULT;
    check(&si, &r, 200, "heard 0A1B2C3D; waiting for further copies");
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_values)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
