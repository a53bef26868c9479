#include "../near.h"
#include "poisson_limit.h"

#include <setjmp.h>
#include <stdarg.h>

#include <cmocka.h>

/* scipy.stats.chi2.ppf(0.95, 2 * (n + 1)) / 2, SciPy 1.10; the first three are in the Particle Data Group's table as well
 * (Review of Particle Physics, Statistics, limits for Poisson data): 3.00, 4.74, 6.30. */
static void test_known_limits(void **state)
{
    static const struct {
        size_t seen;
        double limit;
    } known[] = {{0, 2.995732}, {1, 4.743865}, {2, 6.295794}, {10, 16.962219}, {100, 118.079}};
    (void)state;
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
        assert_near(wh_poisson_limit(known[i].seen, 0.95), known[i].limit, 1e-3);
    assert_near(wh_poisson_limit(0, 0.9), 2.302585, 1e-5);
    assert_true(wh_poisson_limit(20000, 0.95) > 20000.0 && wh_poisson_limit(20000, 0.95) < 20300.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_known_limits)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
