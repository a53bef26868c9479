/* Correlation of a burst with a tone over equal short intervals. */
#ifndef WH_CORRELATE_H
#define WH_CORRELATE_H

#include <complex.h>
#include <stddef.h>

/* out[i] = samples[i] exp(-j radians (i + 1/2)): the tone shifted to 0 Hz, phase counted to the middle of each sample, because a
 * sample stands for the whole of its interval. in and out may be the same. */
void wh_mix_down(const float complex *samples, size_t count, double radians, float complex *out);

/* For one tone or two (v = 0 .. tones - 1): out[v][j] = integral of the tone shifted to 0 Hz, as by wh_mix_down, over
 * [start + j step, start + (j+1) step), j = 0 .. count - 1; sample k held over [k, k+1) and 0 outside the samples. step > 0. Touches
 * only the samples inside. Two tones take hardly longer than one. */
void wh_correlate(const float complex *samples, size_t sample_count, const double radians[2], unsigned tones,
                  double start, double step, float complex *const out[2], size_t count);

/* power[j] = scale |parts[j] + ... + parts[j + width - 1]|^2, what lies beyond the array counted as 0; width is a power of two.
 * The parts are used up. */
void wh_sliding_power(float complex *parts, size_t count, size_t width, float scale, float *power);

#endif
