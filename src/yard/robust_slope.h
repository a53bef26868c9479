/* A straight line through points of which some are wrong: the median of the slopes of all pairs (Theil 1950), with Sen's
 * interval from the variance of Kendall's S (Sen 1968, JASA 63, equation 2.6, with its correction for ties).
 *
 * Points may fall into groups between which the level jumped by an unknown amount: then only pairs within a group are counted,
 * and the variances of the groups add up, as Hirsch, Slack and Smith (1982, Water Resources Research 18) do for seasons. */
#ifndef WH_ROBUST_SLOPE_H
#define WH_ROBUST_SLOPE_H

#include "wheelhark/status.h"

#include <stdbool.h>
#include <stddef.h>

#define WH_SLOPE_POINTS_MAX 400 /* 80 000 pairs */

typedef struct wh_slope_point {
    double x, y;
    unsigned group; /* groups stand together and in order */
} wh_slope_point;

typedef struct wh_robust_slope {
    size_t pairs;     /* with different x */
    bool bounded;     /* `low` and `high` hold: there are enough pairs for a 95 % interval */
    double slope;     /* holds when there is a pair */
    double low, high; /* the interval that holds the slope with a probability of 95 % */
} wh_robust_slope;

/* points[count], count at most WH_SLOPE_POINTS_MAX (WH_ERR_LIMIT); WH_ERR_MEMORY. */
wh_status wh_robust_slope_of(const wh_slope_point *points, size_t count, wh_robust_slope *out);

/* The median of values[count], count >= 1; sorts them. */
double wh_median(double *values, size_t count);

#endif
