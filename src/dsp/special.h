/* Special functions of detection theory. */
#ifndef WH_SPECIAL_H
#define WH_SPECIAL_H

#include <stddef.h>

/* ln I0(x), x >= 0: logarithm of the modified Bessel function, the metric of a tone of unknown phase.
 * Error below 2e-4 of the value plus 1e-7. */
float wh_ln_bessel_i0(float x);
/* The same of many, in place. */
void wh_ln_bessel_i0s(float *x, size_t count);

/* x with P(X > x) = p for X gamma distributed with shape k and mean 1 (Wilson-Hilferty cube approximation). In the
 * upper tail down to p = 1e-12 it is never too low, and too high by at most 4 % for k >= 7 and 14 % for k >= 2. 0 < p < 1. */
double wh_gamma_upper_quantile(double shape, double p);
/* The standard normal quantile: z with P(Z > z) = p. */
double wh_normal_upper_quantile(double p);

#endif
