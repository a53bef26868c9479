#include "command.h"

#include <locale.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void good(const char *text, const char *unit, double expected)
{
    double value = -1;
    if (!wh_number_parse(text, unit, &value) || value != expected)
        fail_msg("'%s' in %s: %.17g", text, unit ? unit : "no unit", value);
}

static void bad(const char *text, const char *unit)
{
    double value = 12345;
    if (wh_number_parse(text, unit, &value) || value != 12345)
        fail_msg("'%s' was taken for %.17g", text, value);
}

static void test_frequencies_are_exact(void **state)
{
    (void)state;
    good("433.92M", "Hz", 433920000);
    good("433.92 MHz", "Hz", 433920000);
    good("433.92mhz", "Hz", 433920000);
    good("433920 kHz", "Hz", 433920000);
    good("0.43392G", "Hz", 433920000);
    good("433920000", "Hz", 433920000);
    good("4.3392e8", "Hz", 433920000);
    good("314.9 MHz", "Hz", 314900000);
    good("250k", "S/s", 250000);
    good("1.024 MS/s", "S/s", 1024000);
    good("2.4M", "S/s", 2400000);
    good("  35 kHz\t", "Hz", 35000);
}

static void test_other_units(void **state)
{
    (void)state;
    good("98.5 kPa", "Pa", 98500);
    good("985 hPa", "Pa", 98500);
    good("350 m", "m", 350);
    good("350", "m", 350);
    good("-12.5 dB", "dB", -12.5);
    good("50 ms", "s", 0.05);
    good("50us", "s", 50e-6);
    good("+3", NULL, 3);
    good("7k", NULL, 7000);
    good("-0", NULL, 0);
}

static void test_what_is_no_number(void **state)
{
    (void)state;
    bad("", "Hz");
    bad("MHz", "Hz");
    bad("433,92M", "Hz");
    bad("433.92 Mhertz", "Hz");
    bad("433.92 MHz wide", "Hz");
    bad("12 dB", "Hz");
    bad("12 Hz", NULL);
    bad("1e999", "Hz");
    bad("nan", NULL);
    bad("inf", NULL);
    bad("0x10", NULL);
    bad("5 hHz", "Hz");
    bad("1 MMHz", "Hz");
    bad("1 aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa", "Hz");
}

int main(void)
{
    /* Where numbers are written with a comma the same must hold; the build provides that locale if it can. */
    setlocale(LC_ALL, "");
    if (getenv("WH_COMMA_LOCALE") && strcmp(localeconv()->decimal_point, ",") != 0)
        return 1;
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_frequencies_are_exact),
        cmocka_unit_test(test_other_units),
        cmocka_unit_test(test_what_is_no_number),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
