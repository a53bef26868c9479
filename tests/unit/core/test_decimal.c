#include "decimal.h"

#include <locale.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>

#include <cmocka.h>

static void expect(const char *text, size_t used, double value)
{
    double got = 12345.0;
    const size_t n = wh_decimal_read(text, &got);
    if (n != used || got != value)
        fail_msg("'%s': %zu characters, %.17g", text, n, got);
}

/* The right-hand sides are read by the compiler: correctly rounded. */
static void test_numbers(void **state)
{
    (void)state;
    expect("0", 1, 0.0);
    expect("433.92 MHz", 6, 433.92);
    expect("-18.5degC", 5, -18.5);
    expect("+0.1", 4, 0.1);
    expect(".5", 2, 0.5);
    expect("5.", 1, 5.0);
    expect("1e3", 3, 1000.0);
    expect("2.5E-3x", 6, 0.0025);
    expect("5 eggs", 1, 5.0);
    expect("5eggs", 1, 5.0);
    expect("1.2.3", 3, 1.2);
    expect("123456789012345678901234567890", 30, 123456789012345678901234567890.0);
    expect("0.00000000000000000000000123", 28, 1.23e-24);
    expect("315e6", 5, 315e6);
    expect("1,5", 1, 1.0);
}

static void test_no_number(void **state)
{
    (void)state;
    expect("", 0, 12345.0);
    expect("-", 0, 12345.0);
    expect(".", 0, 12345.0);
    expect("abc", 0, 12345.0);
    expect(" 1", 0, 12345.0);
    expect("nan", 0, 12345.0);
    expect("inf", 0, 12345.0);
    expect("1e999", 0, 12345.0);
    expect("1e99999999999999999999", 0, 12345.0);
    expect("1e-99999999999999999999", 23, 0.0);
}

static void test_locale_without_point(void **state)
{
    (void)state;
    if (!setlocale(LC_ALL, "de_DE.UTF-8"))
        print_message("locale de_DE.UTF-8 is not installed: only C tested\n");
    expect("2.5", 3, 2.5);
    setlocale(LC_ALL, "C");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_numbers),
        cmocka_unit_test(test_no_number),
        cmocka_unit_test(test_locale_without_point),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
