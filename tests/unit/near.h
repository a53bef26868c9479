/* Comparison of doubles for tests: cmocka's own compares as float. */
#ifndef WH_TEST_NEAR_H
#define WH_TEST_NEAR_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

static inline void near_at(double got, double wanted, double tolerance, const char *file, int line)
{
    if (!(fabs(got - wanted) <= tolerance)) {
        print_error("%.12g is not within %.3g of %.12g\n", got, tolerance, wanted);
        _fail(file, line);
    }
}

#define assert_near(got, wanted, tolerance) near_at((got), (wanted), (tolerance), __FILE__, __LINE__)

#endif
