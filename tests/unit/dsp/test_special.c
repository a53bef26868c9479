#include "special.h"

#include "../near.h"

/* The promise of the header: 2e-4 of the value plus 1e-7. */
static void assert_ln_i0(double x, double exact)
{
    float many[9];
    for (size_t i = 0; i < sizeof many / sizeof many[0]; i++)
        many[i] = (float)x;
    wh_ln_bessel_i0s(many, sizeof many / sizeof many[0]);
    assert_near((double)wh_ln_bessel_i0((float)x), exact, 2e-4 * exact + 1e-7);
    for (size_t i = 0; i < sizeof many / sizeof many[0]; i++)
        assert_true(many[i] == wh_ln_bessel_i0((float)x));
}

/* Abramowitz and Stegun, table 9.8: exp(-x) I0(x). */
static void test_bessel_table(void **state)
{
    (void)state;
    static const double table[][2] = {{0.0, 1.0},          {0.2, 0.8269385516}, {0.5, 0.6450352706},
                                      {1.0, 0.4657596077}, {2.0, 0.3085083225}, {5.0, 0.1835408126},
                                      {10.0, 0.1278333371}};
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++)
        assert_ln_i0(table[i][0], table[i][0] + log(table[i][1]));
}

/* The power series (Abramowitz and Stegun 9.6.12), sum of (x/2)^2k / k!^2, from 0 across the seam of the two
 * approximations at 3.75. */
static void test_bessel_series(void **state)
{
    (void)state;
    for (double x = 0.0; x < 60.0; x += 0.037) {
        double term = 1.0, sum = 1.0;
        for (int k = 1; k < 200; k++) {
            term *= 0.25 * x * x / ((double)k * (double)k);
            sum += term;
        }
        assert_ln_i0(x, log(sum));
    }
}

/* Hankel's expansion for large arguments (9.7.1): exp(x) / sqrt(2 pi x) (1 + 1/8x + 9/128x^2 + ...). */
static void test_bessel_far_out(void **state)
{
    (void)state;
    for (double x = 100.0; x < 1e9; x *= 3.0)
        assert_ln_i0(x, x - 0.5 * log(2.0 * M_PI * x) + log1p(1.0 / (8.0 * x) + 9.0 / (128.0 * x * x)));
}

/* Upper points of the normal distribution (Abramowitz and Stegun, table 26.5). */
static void test_normal_quantile(void **state)
{
    (void)state;
    static const double table[][2] = {{0.5, 0.0},       {0.25, 0.67449}, {0.1, 1.28155},  {0.05, 1.64485},
                                      {0.025, 1.95996}, {0.01, 2.32635}, {1e-3, 3.09023}, {1e-4, 3.71902},
                                      {1e-6, 4.75342},  {1e-9, 5.99781}};
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        assert_near(wh_normal_upper_quantile(table[i][0]), table[i][1], 1.1e-5);
        assert_near(wh_normal_upper_quantile(1.0 - table[i][0]), -table[i][1], 2e-5);
    }
}

/* Percentage points of chi-square (Abramowitz and Stegun, table 26.8): a gamma variable of shape k and mean 1 is chi-square
 * with 2k degrees of freedom over 2k. */
static void test_gamma_table(void **state)
{
    (void)state;
    static const double table[][3] = {{4, 0.05, 9.488},     {4, 0.01, 13.277},    {4, 0.001, 18.467},
                                      {10, 0.05, 18.307},   {10, 0.01, 23.209},   {10, 0.001, 29.588},
                                      {20, 0.05, 31.410},   {20, 0.01, 37.566},   {20, 0.001, 45.315},
                                      {100, 0.05, 124.342}, {100, 0.001, 149.449}};
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        const double freedom = table[i][0], exact = table[i][2] / freedom;
        assert_near(wh_gamma_upper_quantile(0.5 * freedom, table[i][1]), exact, 0.03 * exact);
    }
}

/* P(X > x) of an Erlang variable of whole shape k and mean 1: exp(-kx) sum of (kx)^i / i!, i < k. */
static double erlang_upper(unsigned shape, double x)
{
    const double y = (double)shape * x;
    double sum = 0.0;
    for (unsigned i = 0; i < shape; i++)
        sum += exp((double)i * log(y) - y - lgamma((double)i + 1.0));
    return sum;
}

/* Down to the probabilities that thresholds are set with, the exact point lies close to the approximate one (4 % from eight
 * averages on, as a slot of spectra has them; 14 % for two), and thresholds are never too low: no excess of false alarms. */
static void test_gamma_tail(void **state)
{
    (void)state;
    for (unsigned shape = 2; shape <= 512; shape *= 2) {
        const double slack = shape < 8 ? 0.14 : 0.04;
        for (double p = 1e-3; p >= 1e-12; p *= 0.1) {
            const double x = wh_gamma_upper_quantile(shape, p);
            assert_true(erlang_upper(shape, x / (1.0 + slack)) > p);
            assert_true(erlang_upper(shape, x) < 1.01 * p);
        }
    }
}

/* Rarer is higher, and more averages come closer to the mean. */
static void test_gamma_order(void **state)
{
    (void)state;
    for (double shape = 2.0; shape < 200.0; shape *= 1.5) {
        for (double p = 0.4; p > 1e-12; p *= 0.5) {
            assert_true(wh_gamma_upper_quantile(shape, 0.5 * p) > wh_gamma_upper_quantile(shape, p));
            if (p < 0.05)
                assert_true(wh_gamma_upper_quantile(1.5 * shape, p) < wh_gamma_upper_quantile(shape, p));
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_bessel_table),   cmocka_unit_test(test_bessel_series),
        cmocka_unit_test(test_bessel_far_out), cmocka_unit_test(test_normal_quantile),
        cmocka_unit_test(test_gamma_table),    cmocka_unit_test(test_gamma_tail),
        cmocka_unit_test(test_gamma_order),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
