#include "correlate.h"

#include "mixer.h"
#include "wide.h"

#include <math.h>

#define BLOCK WH_MIXER_BLOCK

/* Real and imaginary parts apart: plain loops over them fill vector registers. */
typedef struct lanes {
    float re[BLOCK], im[BLOCK];
} lanes;

void wh_mix_down(const float complex *samples, size_t count, double radians, float complex *out)
{
    wh_mixer mixer;
    lanes mixed;
    wh_mixer_begin(&mixer, radians);
    float *to = (float *)out;
    for (size_t at = 0; at < count; at += BLOCK) {
        const size_t length = count - at < BLOCK ? count - at : BLOCK;
        wh_mixer_run(&mixer, samples + at, at, 0.5, length, mixed.re, mixed.im);
        for (size_t k = 0; k < length; k++) {
            to[2 * (at + k)] = mixed.re[k];
            to[2 * (at + k) + 1] = mixed.im[k];
        }
    }
}

/* sums[k] = x[0] + ... + x[k - 1]; by fours, because a plain running sum waits for each addition. Returns the sum of all. */
static float running_sums(const float *x, size_t count, float *sums)
{
    float sum = 0.0f;
    size_t k = 0;
    for (; k + 4 <= count; k += 4) {
        const float two = x[k] + x[k + 1], three = two + x[k + 2], four = two + (x[k + 2] + x[k + 3]);
        sums[k] = sum;
        sums[k + 1] = sum + x[k];
        sums[k + 2] = sum + two;
        sums[k + 3] = sum + three;
        sum += four;
    }
    for (; k < count; k++) {
        sums[k] = sum;
        sum += x[k];
    }
    return sum;
}

/* An integral is the difference of the running integral at two places; between samples that one is a straight line. Only the
 * part inside a block is kept in single precision. */
void wh_correlate(const float complex *samples, size_t sample_count, double radians, double start, double step,
                  float complex *out, size_t count)
{
    wh_mixer mixer;
    lanes mixed, sums;
    wh_mixer_begin(&mixer, radians);
    double all_re = 0.0, all_im = 0.0, last_re = 0.0, last_im = 0.0, place = start;
    size_t j = 0; /* next boundary; boundary j ends interval j - 1 */
    for (; j <= count && place <= 0.0; j++, place = start + step * (double)j)
        if (j > 0)
            out[j - 1] = 0.0f;
    const size_t first = start > 0.0 ? (size_t)fmin(start, (double)sample_count) / BLOCK * BLOCK : 0;
    for (size_t at = first; at < sample_count && j <= count; at += BLOCK) {
        const size_t length = sample_count - at < BLOCK ? sample_count - at : BLOCK;
        wh_mixer_run(&mixer, samples + at, at, 0.5, length, mixed.re, mixed.im);
        const float sum_re = running_sums(mixed.re, length, sums.re), sum_im = running_sums(mixed.im, length, sums.im);
        for (const double end = (double)(at + length); j <= count && place < end;
             j++, place = start + step * (double)j) {
            const double inside = place - (double)at;
            const int k = (int)inside;
            const float part = (float)(inside - (double)k);
            const double now_re = all_re + (double)(sums.re[k] + part * mixed.re[k]);
            const double now_im = all_im + (double)(sums.im[k] + part * mixed.im[k]);
            if (j > 0)
                out[j - 1] = (float)(now_re - last_re) + (float)(now_im - last_im) * I;
            last_re = now_re;
            last_im = now_im;
        }
        all_re += (double)sum_re;
        all_im += (double)sum_im;
    }
    for (; j <= count; j++) {
        if (j > 0)
            out[j - 1] = (float)(all_re - last_re) + (float)(all_im - last_im) * I;
        last_re = all_re;
        last_im = all_im;
    }
}

WH_WIDE static void add_ahead(float *x, size_t count, size_t ahead)
{
    for (size_t i = 0; i + ahead < count; i++)
        x[i] += x[i + ahead];
}

WH_WIDE static void square(const float *restrict x, size_t count, float scale, float *restrict power)
{
    for (size_t j = 0; j < count; j++)
        power[j] = (x[2 * j] * x[2 * j] + x[2 * j + 1] * x[2 * j + 1]) * scale;
}

void wh_sliding_power(float complex *parts, size_t count, size_t width, float scale, float *power)
{
    for (size_t have = 1; have < width; have *= 2) /* sums of one become sums of two, of four, ... */
        add_ahead((float *)parts, 2 * count, 2 * have);
    square((const float *)parts, count, scale, power);
}
