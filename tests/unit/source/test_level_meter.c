#include "level_meter.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

static void near(double value, double expected, double tolerance)
{
    if (!(fabs(value - expected) <= tolerance))
        fail_msg("%.6f is not within %g of %.6f", value, tolerance, expected);
}

static void test_full_scale_square_is_clipped(void **state)
{
    (void)state;
    /* I and Q at the ends of the scale: |z|^2 = 2, 10 log10 2 = 3.01 dB; the mean is 0. */
    static const uint8_t bytes[8] = {0, 0, 255, 255, 0, 255, 255, 0};
    wh_level_meter meter = {0};
    wh_level_meter_add(&meter, WH_IQ_CU8, bytes, 4);
    near(wh_level_dbfs(&meter), 3.0103, 1e-4);
    near(wh_level_steps(&meter), 127.5, 1e-9);
    near(wh_level_clipped(&meter), 1.0, 0.0);
}

static void test_constant_part_does_not_count(void **state)
{
    (void)state;
    /* I alternates 140, 144, Q stays: deviation of I 2 steps, of Q 0; sqrt(4 / 2) = 1.4142 steps. */
    uint8_t bytes[4000];
    for (size_t i = 0; i < sizeof bytes; i++)
        bytes[i] = i % 4 == 0 ? 140 : i % 4 == 2 ? 144 : 90;
    wh_level_meter meter = {0};
    for (size_t at = 0; at < 2000; at += 100) /* in pieces */
        wh_level_meter_add(&meter, WH_IQ_CU8, bytes + 2 * at, 100);
    near(wh_level_steps(&meter), 1.41421, 1e-4);
    near(wh_level_dbfs(&meter), 20.0 * log10(2.0 / 127.5), 1e-4);
    near(wh_level_clipped(&meter), 0.0, 0.0);
    assert_int_equal(meter.samples, 2000);
}

static void test_other_formats(void **state)
{
    (void)state;
    static const int8_t bytes[4] = {127, 0, -128, 5};
    static const int16_t words[4] = {32767, 0, 100, -32768};
    static const float floats[4] = {1.0f, 1.0f, -3.0f, 0.0f};
    wh_level_meter meter = {0};
    wh_level_meter_add(&meter, WH_IQ_CI8, bytes, 2);
    assert_int_equal(meter.clipped, 2);
    wh_level_meter_add(&meter, WH_IQ_CI16, words, 2);
    assert_int_equal(meter.clipped, 4);
    wh_level_meter_add(&meter, WH_IQ_CF32, floats, 2);
    assert_int_equal(meter.clipped, 4);
    assert_int_equal(meter.samples, 6);
}

static void test_nothing_is_silent(void **state)
{
    (void)state;
    const wh_level_meter meter = {0};
    assert_true(isinf(wh_level_dbfs(&meter)) && wh_level_dbfs(&meter) < 0);
    assert_true(wh_level_clipped(&meter) == 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_full_scale_square_is_clipped),
        cmocka_unit_test(test_constant_part_does_not_count),
        cmocka_unit_test(test_other_formats),
        cmocka_unit_test(test_nothing_is_silent),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
