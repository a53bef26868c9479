/* Order statistics. */
#ifndef WH_SELECT_H
#define WH_SELECT_H

#include <stddef.h>

/* The value that would stand at `index` (< count, count >= 1) if values[count] were sorted upwards. Reorders the array; time
 * proportional to count on average. No NaN may be among the values. */
float wh_select(float *values, size_t count, size_t index);
/* The value at a share 0..1 of the way through the sorted array. */
float wh_quantile(float *values, size_t count, double share);

#endif
