/* Against the C library, over all magnitudes that may come. */
#include "quick_math.h"

#include "../near.h"

static void test_logarithm(void **state)
{
    (void)state;
    for (double x = 1e-37; x < 1e38; x *= 1.00937) {
        const double exact = log((double)(float)x);
        assert_near((double)wh_quick_ln((float)x), exact, 1e-6 * fabs(exact) + 1e-7);
    }
    for (double x = 0.5; x < 2.0; x += 1.7e-4) {
        const double exact = log((double)(float)x);
        assert_near((double)wh_quick_ln((float)x), exact, 1e-6 * fabs(exact) + 1e-7);
    }
    assert_true(wh_quick_ln(1.0f) == 0.0f);
}

static void test_exponential(void **state)
{
    (void)state;
    for (double x = -86.0; x <= 86.0; x += 0.00713) {
        const double exact = exp((double)(float)x);
        assert_near((double)wh_quick_exp((float)x) / exact, 1.0, 1e-6 + 1e-7 * fabs(x));
    }
    assert_true(wh_quick_exp(0.0f) == 1.0f);
    assert_true(wh_quick_exp(-1e30f) == wh_quick_exp(-86.0f) && wh_quick_exp(1e30f) == wh_quick_exp(86.0f));
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_logarithm), cmocka_unit_test(test_exponential)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
