#include "special.h"

#include "quick_math.h"
#include "wide.h"

#include <math.h>

/* I0(x) grows from 1 to exp(x) / sqrt(2 pi x), so (exp(x) / I0(x))^2 from 1 + 2 x to 2 pi x: a rational function with these ends, the
 * rest fitted by least squares (fourth powers at last, which evens out the greatest error) of ln I0 over its promised error, against
 * scipy's ive. Its error is a sixth of the promise. */
static inline float ln_bessel_i0(float x)
{
    const float slope = 6.2831853f, b4 = 0.01218657f, far = 1e6f;
    const float y = x < far ? x : far; /* its powers must not overflow; beyond, a straight line */
    const float above = 2.0f + y * (1.93410159f + y * (1.12210565f + y * (0.35644427f + y * (slope * b4))));
    const float below = 1.0f + y * (0.21708896f + y * (0.23090393f + y * (0.06047254f + y * b4)));
    return x - 0.5f * wh_quick_ln(1.0f + y * above / below + slope * (x - y));
}

float wh_ln_bessel_i0(float x)
{
    return ln_bessel_i0(x);
}

WH_WIDE static void ln_bessel_i0s(float *x, size_t count)
{
    for (size_t i = 0; i < count; i++)
        x[i] = ln_bessel_i0(x[i]);
}

void wh_ln_bessel_i0s(float *x, size_t count)
{
    ln_bessel_i0s(x, count);
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
