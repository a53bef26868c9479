#include "clock_metric.h"

#include "wide.h"

#include <math.h>

#define BAR 0.55f /* of an on chip's amplitude: half-way in likelihood between off and on */

WH_WIDE static void level_over(const float *restrict energy, size_t count, float bar, float *restrict metric)
{
    for (size_t j = 0; j < count; j++)
        metric[j] = sqrtf(energy[j]) - bar;
}

void wh_clock_metric_keyed(const float *energy, size_t count, float on_power, float *metric)
{
    level_over(energy, count, BAR * sqrtf(on_power), metric);
}

/* ln I0(x) to 20 %: enough to weigh, and cheap. */
static inline float rough_ln_i0(float x)
{
    return x * x / (4.0f + x);
}

/* ln(exp(a) + exp(b)): the greater and ln(1 + exp(-d)), here the square of a rational function fitted to it by least squares over
 * d = 0..30: off by at most 0.0017. */
static inline float rough_ln_sum(float a, float b)
{
    const float d = fabsf(a - b), y = 1.0f + d * (0.37346553f + d * (0.073713f + d * 0.0377121f));
    return (a > b ? a : b) + (float)M_LN2 / (y * y);
}

WH_WIDE static void either_likelihood(const float *restrict energy, const float *restrict difference, size_t count,
                                      float scale, float *restrict metric)
{
    for (size_t j = 0; j < count; j++) {
        const float one = energy[j] + difference[j], zero = energy[j] - difference[j];
        metric[j] = rough_ln_sum(rough_ln_i0(scale * sqrtf(0.5f * (one > 0.0f ? one : 0.0f))),
                                 rough_ln_i0(scale * sqrtf(0.5f * (zero > 0.0f ? zero : 0.0f))));
    }
}

void wh_clock_metric_weak(const float *energy, const float *difference, size_t count, float noise, float *metric)
{
    double sum = 0.0;
    for (size_t j = 0; j < count; j++)
        sum += (double)energy[j];
    const float power = fmaxf((float)(sum / (double)count) - 2.0f * noise, 0.5f * noise);
    either_likelihood(energy, difference, count, 2.0f * sqrtf(power) / noise, metric);
}
