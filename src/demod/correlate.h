/* Correlation of a burst with a tone over equal short intervals. */
#ifndef WH_CORRELATE_H
#define WH_CORRELATE_H

#include <complex.h>
#include <stddef.h>

/* out[j] = integral of samples(t) exp(-i w t) over [start + j step, start + (j+1) step), j = 0 .. count - 1, with t in samples and
 * sample k held over [k, k+1); outside the samples the signal is 0. w = tone in radians per sample. step > 0. */
void wh_correlate(const float complex *samples, size_t sample_count, double radians, double start, double step,
                  float complex *out, size_t count);

#endif
