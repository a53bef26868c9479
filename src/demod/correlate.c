#include "correlate.h"

#include <math.h>

/* The rotating factor is renewed from sine and cosine this often, so that rounding does not build up. */
#define RENEW 64

void wh_correlate(const float complex *samples, size_t sample_count, double radians, double start, double step,
                  float complex *out, size_t count)
{
    const double end = start + step * (double)count;
    for (size_t j = 0; j < count; j++)
        out[j] = 0.0f;
    size_t i = start > 0.0 ? (size_t)start : 0;
    const size_t stop = end < (double)sample_count ? (size_t)ceil(fmax(end, 0.0)) : sample_count;
    const float complex turn = (float)cos(radians) - (float)sin(radians) * I;
    float complex phasor = 0.0f;
    size_t renew = 0, j = 0;
    for (; i < stop; i++) {
        if (renew == 0) {
            /* Mid-sample phase: the held sample stands for its whole interval. */
            const double phase = fmod(radians * ((double)i + 0.5), 2.0 * M_PI);
            phasor = (float)cos(phase) - (float)sin(phase) * I;
            renew = RENEW;
        }
        renew--;
        const float complex value = samples[i] * phasor;
        phasor *= turn;
        /* Share the sample out among the intervals it touches. */
        double from = fmax((double)i, start);
        const double to = fmin((double)i + 1.0, end);
        while (from < to) {
            while (j + 1 < count && start + step * (double)(j + 1) <= from)
                j++;
            const double edge = fmin(to, start + step * (double)(j + 1));
            if (edge <= from)
                break;
            out[j] += (float)(edge - from) * value;
            from = edge;
        }
    }
}
