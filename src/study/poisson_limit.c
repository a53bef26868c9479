#include "poisson_limit.h"

#include <math.h>

/* P(X <= seen) for mean m: terms e^-m m^k / k! from their logarithms, which neither under- nor overflow. */
static double at_most(size_t seen, double mean)
{
    double sum = 0.0;
    for (size_t k = 0; k <= seen; k++)
        sum += exp((double)k * log(mean) - mean - lgamma((double)k + 1.0));
    return sum;
}

double wh_poisson_limit(size_t seen, double confidence)
{
    /* The tail falls as the mean grows; twelve standard deviations above are beyond any confidence that a double can say. */
    double low = 1e-12, high = (double)seen + 12.0 * sqrt((double)seen + 1.0) + 40.0;
    for (int i = 0; i < 200; i++) {
        const double middle = 0.5 * (low + high);
        if (at_most(seen, middle) > 1.0 - confidence)
            low = middle;
        else
            high = middle;
    }
    return high;
}
