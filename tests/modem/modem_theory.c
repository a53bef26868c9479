#include "modem_theory.h"

#include <math.h>

double modem_ratio(double db)
{
    return pow(10.0, db / 10.0);
}

double modem_noncoherent_error(double e)
{
    return 0.5 * exp(-0.5 * e);
}

double modem_noncoherent_sum_error(double e, unsigned copies)
{
    /* 2^(1-2L) exp(-e/2) sum over k < L of (e/2)^k / k! times the sum over n < L - k of binomial(2L-1, n). */
    double sum = 0.0, power = 1.0;
    for (unsigned k = 0; k < copies; k++) {
        double ways = 0.0, binomial = 1.0;
        for (unsigned n = 0; n < copies - k; n++) {
            ways += binomial;
            binomial *= (double)(2 * copies - 1 - n) / (n + 1);
        }
        sum += power * ways;
        power *= e / 2.0 / (k + 1);
    }
    return ldexp(exp(-e / 2.0) * sum, 1 - 2 * (int)copies);
}

double modem_coherent_error(double e)
{
    return 0.5 * erfc(sqrt(0.5 * e));
}

/* exp(-x) I0(x) = (1 / pi) integral over 0..pi of exp(x (cos t - 1)); the midpoint rule converges exponentially for
 * periodic integrands, and x is below 1600 here: a peak of width 1 / sqrt(x), met by 256 points. */
static double scaled_bessel_i0(double x)
{
    double sum = 0.0;
    for (int i = 0; i < 256; i++)
        sum += exp(x * (cos(M_PI * (i + 0.5) / 256.0) - 1.0));
    return sum / 256.0;
}

/* Simpson's rule over the density x exp(-(x - a)^2 / 2) [exp(-a x) I0(a x)], on the side of b where less of it lies,
 * up to nine standard deviations away. */
double modem_marcum_q(double a, double b)
{
    const int upper = b > a;
    const double from = upper ? b : fmax(0.0, fmin(b, a - 9.0)), to = upper ? fmax(b, a) + 9.0 : b;
    const int steps = 400;
    const double h = (to - from) / steps;
    double sum = 0.0;
    for (int i = 0; i <= steps; i++) {
        const double x = from + h * i, weight = i == 0 || i == steps ? 1.0 : i % 2 ? 4.0 : 2.0;
        sum += weight * x * exp(-0.5 * (x - a) * (x - a)) * scaled_bessel_i0(a * x);
    }
    const double part = sum * h / 3.0;
    return upper ? part : 1.0 - part;
}

static double keyed_error_at(double a, double b)
{
    return 0.5 * (exp(-0.5 * b * b) + 1.0 - modem_marcum_q(a, b));
}

/* The amplitude in units of the noise of one quadrature is sqrt(2 E / N0). The error has one minimum between a third
 * of it and the point where noise alone hardly ever reaches: golden section. */
double modem_keyed_error(double on, double *threshold)
{
    const double a = sqrt(2.0 * on), ratio = 0.5 * (sqrt(5.0) - 1.0);
    double low = 0.3 * a, high = 1.2 * a + 2.0;
    while (high - low > 1e-4) {
        const double c = high - ratio * (high - low), d = low + ratio * (high - low);
        if (keyed_error_at(a, c) < keyed_error_at(a, d))
            high = d;
        else
            low = c;
    }
    if (threshold)
        *threshold = low / a;
    return keyed_error_at(a, low);
}

double modem_frame_loss(double error, unsigned bits)
{
    return -expm1((double)bits * log1p(-error));
}

static double log_choose(double n, double k)
{
    return lgamma(n + 1.0) - lgamma(k + 1.0) - lgamma(n - k + 1.0);
}

double modem_at_most(size_t count, size_t n, double p)
{
    double sum = 0.0;
    for (size_t k = 0; k <= count && k <= n; k++)
        sum += exp(log_choose((double)n, (double)k) + (double)k * log(p) + (double)(n - k) * log1p(-p));
    return fmin(sum, 1.0);
}

double modem_at_least(size_t count, size_t n, double p)
{
    return count == 0 ? 1.0 : fmax(0.0, 1.0 - modem_at_most(count - 1, n, p));
}

void modem_interval(size_t count, size_t n, double *low, double *high)
{
    const double z = 1.959964, all = (double)n, p = n ? (double)count / all : 0.5;
    const double middle = n ? (p + z * z / (2.0 * all)) / (1.0 + z * z / all) : 0.5;
    const double half = n ? z / (1.0 + z * z / all) * sqrt(p * (1.0 - p) / all + z * z / (4.0 * all * all)) : 0.5;
    *low = fmax(0.0, middle - half);
    *high = fmin(1.0, middle + half);
}
