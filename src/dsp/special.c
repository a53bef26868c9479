#include "special.h"

#include <math.h>

double wh_ln_bessel_i0(double x)
{
    if (x < 3.75) {
        const double t = x / 3.75, s = t * t;
        return (double)logf(
            1.0f +
            (float)(s * (3.5156229 +
                         s * (3.0899424 + s * (1.2067492 + s * (0.2659732 + s * (0.0360768 + s * 0.0045813)))))));
    }
    const double t = 3.75 / x;
    const double p =
        0.39894228 +
        t * (0.01328592 +
             t * (0.00225319 +
                  t * (-0.00157565 +
                       t * (0.00916281 + t * (-0.02057706 + t * (0.02635537 + t * (-0.01647633 + t * 0.00392377)))))));
    return x + (double)logf((float)(p / sqrt(x))); /* single precision: a tenth of a millionth, in half the time */
}

double wh_normal_upper_quantile(double p)
{
    if (p > 0.5)
        return -wh_normal_upper_quantile(1.0 - p);
    /* Abramowitz and Stegun 26.2.23, then two Newton steps on erfc, which is exact. */
    const double t = sqrt(-2.0 * log(p));
    double z = t - (2.515517 + t * (0.802853 + t * 0.010328)) / (1.0 + t * (1.432788 + t * (0.189269 + t * 0.001308)));
    for (int i = 0; i < 2; i++) {
        const double density = exp(-0.5 * z * z) / sqrt(2.0 * M_PI);
        z += (0.5 * erfc(z / sqrt(2.0)) - p) / density;
    }
    return z;
}

double wh_gamma_upper_quantile(double shape, double p)
{
    const double c = 1.0 / (9.0 * shape);
    const double root = 1.0 - c + wh_normal_upper_quantile(p) * sqrt(c);
    return root > 0.0 ? root * root * root : 0.0;
}
