#include "rng.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>

#include <cmocka.h>

/* The first outputs from state {1, 2, 3, 4}; the first is by hand rotl(1 + 4, 23) + 1, the others are the reference
 * values that implementations of xoshiro256++ share. */
static void test_reference_sequence(void **state)
{
    (void)state;
    wh_rng rng = {{1, 2, 3, 4}};
    static const uint64_t expected[] = {41943041, 58720359, UINT64_C(3588806011781223), UINT64_C(3591011842654386)};
    for (size_t i = 0; i < 4; i++)
        assert_true(wh_rng_next(&rng) == expected[i]);
}

/* splitmix64 from seed 1234567, reference values of its public description. */
static void test_seeding(void **state)
{
    (void)state;
    wh_rng rng;
    wh_rng_seed(&rng, 1234567);
    assert_true(rng.state[0] == UINT64_C(6457827717110365317));
    assert_true(rng.state[1] == UINT64_C(3203168211198807973));
    assert_true(rng.state[2] == UINT64_C(9817491932198370423));
    wh_rng other;
    wh_rng_seed(&other, 1234568);
    assert_true(wh_rng_next(&rng) != wh_rng_next(&other));
}

/* Mean, variance, fourth moment and tails of the Gaussian within five standard errors of 0, 1, 3, and Q(2) = 0.02275. */
static void test_gauss_moments(void **state)
{
    (void)state;
    wh_rng rng;
    wh_rng_seed(&rng, 7);
    const int pairs = 200000;
    const double n = 2.0 * pairs;
    double sum = 0.0, square = 0.0, fourth = 0.0, product = 0.0, beyond = 0.0;
    for (int i = 0; i < pairs; i++) {
        double pair[2];
        wh_rng_gauss_pair(&rng, pair);
        product += pair[0] * pair[1];
        for (int k = 0; k < 2; k++) {
            const double x2 = pair[k] * pair[k];
            sum += pair[k];
            square += x2;
            fourth += x2 * x2;
            beyond += pair[k] > 2.0;
        }
    }
    assert_true(fabs(sum / n) < 5.0 / sqrt(n));
    assert_true(fabs(square / n - 1.0) < 5.0 * sqrt(2.0 / n));
    assert_true(fabs(fourth / n - 3.0) < 5.0 * sqrt(96.0 / n));
    assert_true(fabs(product / pairs) < 5.0 / sqrt(pairs));
    assert_true(fabs(beyond / n - 0.02275) < 5.0 * sqrt(0.02275 / n));
}

static void test_uniform_and_below(void **state)
{
    (void)state;
    wh_rng rng;
    wh_rng_seed(&rng, 3);
    double sum = 0.0;
    int counts[6] = {0};
    for (int i = 0; i < 60000; i++) {
        const double u = wh_rng_uniform(&rng);
        assert_true(u >= 0.0 && u < 1.0);
        sum += u;
        counts[wh_rng_below(&rng, 6)]++;
    }
    assert_true(fabs(sum / 60000.0 - 0.5) < 5.0 * sqrt(1.0 / 12.0 / 60000.0));
    for (int i = 0; i < 6; i++) /* 10000 expected, standard deviation 91 */
        assert_in_range(counts[i], 10000 - 456, 10000 + 456);
    assert_int_equal(wh_rng_below(&rng, 1), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_reference_sequence),
        cmocka_unit_test(test_seeding),
        cmocka_unit_test(test_gauss_moments),
        cmocka_unit_test(test_uniform_and_below),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
