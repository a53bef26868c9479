/* Correlation of a burst with a tone over equal short intervals. */
#ifndef WH_CORRELATE_H
#define WH_CORRELATE_H

#include <complex.h>
#include <stddef.h>

/* out[i] = samples[i] exp(-j radians (i + 1/2)): the tone shifted to 0 Hz, phase counted to the middle of each sample, because a
 * sample stands for the whole of its interval. in and out may be the same. */
void wh_mix_down(const float complex *samples, size_t count, double radians, float complex *out);

/* out[j] = integral over [start + j step, start + (j+1) step), j = 0 .. count - 1, sample k held over [k, k+1) and 0 outside the
 * samples. step > 0. */
void wh_integrate(const float complex *samples, size_t sample_count, double start, double step, float complex *out, size_t count);

#endif
