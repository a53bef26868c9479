/* Numbers with units, whole numbers, and the nearest right word. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "nearest_word.h"
#include "quantity.h"

#include <locale.h>
#include <math.h>

static void test_units(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        wh_dimension dimension;
        double value;
    } good[] = {
        {"433.92 MHz", WH_DIM_FREQUENCY, 433920000},
        {"35 kHz", WH_DIM_FREQUENCY, 35000},
        {"35kHz", WH_DIM_FREQUENCY, 35000},
        {"1e3 Hz", WH_DIM_FREQUENCY, 1000},
        {"9.6 kbit/s", WH_DIM_BIT_RATE, 9600},
        {"20 kchip/s", WH_DIM_CHIP_RATE, 20000},
        {"50 us", WH_DIM_DURATION, 50e-6},
        {"0.05 s", WH_DIM_DURATION, 0.05},
        {"5 %", WH_DIM_RATIO, 0.05},
        {"80 bits", WH_DIM_BITS, 80},
        {"1 bit", WH_DIM_BITS, 1},
        {"2.5 kPa", WH_DIM_PRESSURE, 2.5},
        {"250 Pa", WH_DIM_PRESSURE, 0.25},
        {"7.2 bar", WH_DIM_PRESSURE, 720},
        {"100 psi", WH_DIM_PRESSURE, 689.4757}, /* 1 psi = 6.894757 kPa, NIST SP 811 appendix B */
        /* NIST SP 811 appendix B: t/C = (t/F - 32) / 1.8, T/K = t/C + 273.15 */
        {"-40 degF", WH_DIM_TEMPERATURE, -40},
        {"212 degF", WH_DIM_TEMPERATURE, 100},
        {"273.15 K", WH_DIM_TEMPERATURE, 0},
        {"-40 degC", WH_DIM_TEMPERATURE, -40},
        {"1.8 degF", WH_DIM_TEMPERATURE_STEP, 1},
        {"2 K", WH_DIM_TEMPERATURE_STEP, 2},
    };
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        double value = NAN;
        assert_int_equal(wh_quantity_read(good[i].text, good[i].dimension, &value), WH_QUANTITY_OK);
        assert_true(fabs(value - good[i].value) <= 1e-12 * fmax(1, fabs(good[i].value)));
    }
    /* Durations and ratios come out as the nearest double, so that bounds written in the same unit are met. */
    double percent = 0, duration = 0;
    wh_quantity_read("10 %", WH_DIM_RATIO, &percent);
    wh_quantity_read("50 us", WH_DIM_DURATION, &duration);
    assert_true(percent == 0.1);
    assert_true(duration == 50e-6);
}

static void test_not_quantities(void **state)
{
    (void)state;
    double value = 7;
    assert_int_equal(wh_quantity_read("35", WH_DIM_FREQUENCY, &value), WH_QUANTITY_NO_UNIT);
    assert_int_equal(wh_quantity_read("35 khz", WH_DIM_FREQUENCY, &value), WH_QUANTITY_WRONG_UNIT);
    assert_int_equal(wh_quantity_read("35 kHz x", WH_DIM_FREQUENCY, &value), WH_QUANTITY_WRONG_UNIT);
    assert_int_equal(wh_quantity_read("35,5 kHz", WH_DIM_FREQUENCY, &value), WH_QUANTITY_WRONG_UNIT);
    assert_int_equal(wh_quantity_read("kHz", WH_DIM_FREQUENCY, &value), WH_QUANTITY_NO_NUMBER);
    assert_int_equal(wh_quantity_read("", WH_DIM_FREQUENCY, &value), WH_QUANTITY_NO_NUMBER);
    assert_int_equal(wh_quantity_read("nan Hz", WH_DIM_FREQUENCY, &value), WH_QUANTITY_NO_NUMBER);
    assert_int_equal(wh_quantity_read("1e999 Hz", WH_DIM_FREQUENCY, &value), WH_QUANTITY_NO_NUMBER);
    assert_true(value == 7);
}

static void test_integers(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        bool good;
        uint64_t value;
    } rows[] = {
        {"0", true, 0},
        {"18", true, 18},
        {"0x12", true, 18},
        {"0xFf", true, 255},
        {"0b10010", true, 18},
        {"18446744073709551615", true, UINT64_MAX},
        {"010", false, 0},
        {"", false, 0},
        {"0x", false, 0},
        {"0b2", false, 0},
        {"-1", false, 0},
        {"1.0", false, 0},
        {"1 ", false, 0},
        {"18446744073709551616", false, 0},
        {"0x10000000000000000", false, 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        uint64_t value = 99;
        assert_int_equal(wh_integer_read(rows[i].text, &value), rows[i].good);
        assert_true(value == (rows[i].good ? rows[i].value : 99));
    }
}

static void test_writing(void **state)
{
    (void)state;
    char text[40];
    wh_quantity_write(433.92e6, WH_DIM_FREQUENCY, text, sizeof text);
    assert_string_equal(text, "433.92 MHz");
    wh_quantity_write(0.001, WH_DIM_DURATION, text, sizeof text);
    assert_string_equal(text, "1 ms");
    wh_quantity_write(0, WH_DIM_DURATION, text, sizeof text);
    assert_string_equal(text, "0 us");
    wh_quantity_write(0.05, WH_DIM_RATIO, text, sizeof text);
    assert_string_equal(text, "5 %");
    wh_quantity_write(100, WH_DIM_PRESSURE, text, sizeof text);
    assert_string_equal(text, "100 kPa");
}

/* A locale with a decimal comma changes nothing. */
static void test_locale(void **state)
{
    (void)state;
    char text[40];
    double value = 0;
    if (!setlocale(LC_ALL, "de_DE.UTF-8"))
        print_message("no German locale here: only the default one is tested\n");
    assert_int_equal(wh_quantity_read("2.5 kPa", WH_DIM_PRESSURE, &value), WH_QUANTITY_OK);
    assert_true(value == 2.5);
    wh_quantity_write(2.5, WH_DIM_PRESSURE, text, sizeof text);
    assert_string_equal(text, "2.5 kPa");
    setlocale(LC_ALL, "C");
}

static void test_nearest_word(void **state)
{
    (void)state;
    static const char *const words[] = {"nrz",          "manchester",    "differential-manchester",
                                        "biphase-mark", "biphase-space", "pulse-width"};
    const size_t count = sizeof words / sizeof words[0];
    assert_string_equal(wh_nearest_word("manchestr", words, count), "manchester");
    assert_string_equal(wh_nearest_word("Manchester", words, count), "manchester");
    assert_string_equal(wh_nearest_word("mnachester", words, count), "manchester"); /* neighbours swapped */
    assert_string_equal(wh_nearest_word("pulse_width", words, count), "pulse-width");
    assert_string_equal(wh_nearest_word("nzr", words, count), "nrz");
    assert_string_equal(wh_nearest_word("biphase-mrk", words, count), "biphase-mark");
    assert_string_equal(wh_nearest_word("differential", words, count), "differential-manchester"); /* its beginning */
    assert_null(wh_nearest_word("biphase", words, count)); /* the beginning of two, near to none */
    assert_null(wh_nearest_word("fm0", words, count));
    assert_null(wh_nearest_word("", words, count));
    assert_null(wh_nearest_word("x", words, 0));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_units),   cmocka_unit_test(test_not_quantities), cmocka_unit_test(test_integers),
        cmocka_unit_test(test_writing), cmocka_unit_test(test_locale),         cmocka_unit_test(test_nearest_word),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
