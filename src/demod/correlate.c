#include "correlate.h"

#include <math.h>

/* Phasors for a block are computed once; each block then needs one multiplication by its own start phase, which comes from sine
 * and cosine so that rounding does not build up. The inner loop is plain arithmetic that the compiler vectorises. */
#define BLOCK 64

void wh_mix_down(const float complex *samples, size_t count, double radians, float complex *out)
{
    float wr[BLOCK], wi[BLOCK];
    for (size_t k = 0; k < BLOCK; k++) {
        wr[k] = (float)cos(radians * (double)k);
        wi[k] = (float)-sin(radians * (double)k);
    }
    const float *in = (const float *)samples;
    float *to = (float *)out;
    for (size_t at = 0; at < count; at += BLOCK) {
        const double phase = fmod(radians * ((double)at + 0.5), 2.0 * M_PI);
        const float br = (float)cos(phase), bi = (float)-sin(phase);
        const size_t length = count - at < BLOCK ? count - at : BLOCK;
        const float *x = in + 2 * at;
        float *y = to + 2 * at;
        for (size_t k = 0; k < length; k++) {
            const float pr = wr[k] * br - wi[k] * bi, pi = wr[k] * bi + wi[k] * br;
            const float xr = x[2 * k], xi = x[2 * k + 1];
            y[2 * k] = xr * pr - xi * pi;
            y[2 * k + 1] = xr * pi + xi * pr;
        }
    }
}

/* Integral over [from, to) inside the samples. */
static float complex integral(const float *samples, double from, double to)
{
    const size_t first = (size_t)from, last = (size_t)to;
    const float *x = samples + 2 * first;
    if (first == last) {
        const float width = (float)(to - from);
        return width * x[0] + width * x[1] * I;
    }
    const float head = (float)((double)(first + 1) - from), tail = (float)(to - (double)last);
    float re = head * x[0], im = head * x[1];
    for (size_t i = first + 1; i < last; i++) {
        re += samples[2 * i];
        im += samples[2 * i + 1];
    }
    if (tail > 0.0f) {
        re += tail * samples[2 * last];
        im += tail * samples[2 * last + 1];
    }
    return re + im * I;
}

void wh_integrate(const float complex *samples, size_t sample_count, double start, double step, float complex *out, size_t count)
{
    const double end = (double)sample_count;
    for (size_t j = 0; j < count; j++) {
        double from = start + step * (double)j, to = start + step * (double)(j + 1);
        from = from > 0.0 ? from : 0.0;
        to = to < end ? to : end;
        out[j] = to > from ? integral((const float *)samples, from, to) : 0.0f;
    }
}
