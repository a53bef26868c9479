#include "robust_slope.h"

#include <math.h>
#include <stdlib.h>

#define Z_95 1.959963984540054 /* the standard normal quantile of 0.975 */

static int upwards(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

double wh_median(double *values, size_t count)
{
    qsort(values, count, sizeof *values, upwards);
    return (values[(count - 1) / 2] + values[count / 2]) / 2.0;
}

/* 18 times the variance of S that n equal values take part in or, for ties, take away: n (n - 1) (2 n + 5). */
static double variance_term(size_t n)
{
    const double k = (double)n;
    return k * (k - 1.0) * (2.0 * k + 5.0);
}

/* Sum of the terms of all runs of equal values; sorts them. */
static double ties(double *values, size_t count)
{
    double sum = 0;
    qsort(values, count, sizeof *values, upwards);
    for (size_t i = 0, run = 1; i < count; i++, run++) {
        if (i + 1 == count || values[i + 1] > values[i]) {
            sum += variance_term(run);
            run = 0;
        }
    }
    return sum;
}

/* 18 Var S of one group; `scratch` holds `count` numbers. */
static double group_variance(const wh_slope_point *points, size_t count, double *scratch)
{
    double variance = variance_term(count);
    for (size_t i = 0; i < count; i++)
        scratch[i] = points[i].x;
    variance -= ties(scratch, count);
    for (size_t i = 0; i < count; i++)
        scratch[i] = points[i].y;
    return variance - ties(scratch, count);
}

static size_t group_slopes(const wh_slope_point *points, size_t count, double *slopes)
{
    size_t pairs = 0;
    for (size_t i = 0; i < count; i++) {
        for (size_t j = i + 1; j < count; j++) {
            const double dx = points[j].x - points[i].x;
            if (dx != 0)
                slopes[pairs++] = (points[j].y - points[i].y) / dx;
        }
    }
    return pairs;
}

wh_status wh_robust_slope_of(const wh_slope_point *points, size_t count, wh_robust_slope *out)
{
    *out = (wh_robust_slope){0};
    if (count > WH_SLOPE_POINTS_MAX)
        return WH_ERR_LIMIT;
    if (count < 2)
        return WH_OK;
    double *slopes = malloc((count * (count - 1) / 2 + count) * sizeof *slopes);
    if (!slopes)
        return WH_ERR_MEMORY;
    double *scratch = slopes + count * (count - 1) / 2;

    size_t pairs = 0;
    double variance = 0;
    for (size_t first = 0, next; first < count; first = next) {
        for (next = first + 1; next < count && points[next].group == points[first].group; next++)
            continue;
        pairs += group_slopes(points + first, next - first, slopes + pairs);
        variance += group_variance(points + first, next - first, scratch);
    }
    out->pairs = pairs;
    if (pairs > 0) {
        out->slope = wh_median(slopes, pairs);
        /* The interval runs from the M1-th to the (M2 + 1)-th smallest slope, M = (N -+ z sigma) / 2. */
        const double reach = Z_95 * sqrt(fmax(variance, 0) / 18.0), n = (double)pairs;
        out->bounded = reach <= n;
        const long low = lrint((n - reach) / 2.0) - 1, high = lrint((n + reach) / 2.0), last = (long)pairs - 1;
        out->low = slopes[low < 0 ? 0 : low];
        out->high = slopes[high > last ? last : high];
    }
    free(slopes);
    return WH_OK;
}
