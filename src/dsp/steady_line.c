#include "steady_line.h"

#include <math.h>

#define RENEW  64 /* samples after which a running phase is taken afresh */
#define ROUNDS 4  /* refinements; each leaves a tenth of the error or less */

/* Mean of samples x exp(-i 2 pi hz t), t from sample `first` of the whole. */
static float complex correlate(const float complex *samples, size_t first, size_t count, double cycles)
{
    const float complex turn = (float)cos(2.0 * M_PI * cycles) - (float)sin(2.0 * M_PI * cycles) * I;
    float complex sum = 0.0f, phasor = 1.0f;
    for (size_t i = 0; i < count; i++) {
        if (i % RENEW == 0) {
            const double phase = 2.0 * M_PI * cycles * (double)(first + i);
            phasor = (float)cos(phase) - (float)sin(phase) * I;
        }
        sum += samples[first + i] * phasor;
        phasor *= turn;
    }
    return sum / (float)count;
}

wh_steady_line wh_steady_line_measure(const float complex *samples, size_t count, double rate_hz, double guess_hz,
                                      double reach_hz)
{
    wh_steady_line line = {.hz = guess_hz};
    if (reach_hz > 0.0) {
        /* Half a resolution cell apart: no line between two trials loses more than 1 dB. */
        const double step = 0.5 * rate_hz / (double)count;
        float best = -1.0f;
        for (double hz = guess_hz - reach_hz; hz <= guess_hz + reach_hz; hz += step) {
            const float complex c = correlate(samples, 0, count, hz / rate_hz);
            const float power = crealf(c) * crealf(c) + cimagf(c) * cimagf(c);
            if (power > best) {
                best = power;
                line.hz = hz;
            }
        }
        /* The phase step between the halves, half the stretch apart, is what the frequency is off. */
        const size_t half = count / 2;
        for (int round = 0; round < ROUNDS && half > 0; round++) {
            const double cycles = line.hz / rate_hz;
            const float complex early = correlate(samples, 0, half, cycles),
                                late = correlate(samples, half, half, cycles);
            line.hz += (double)cargf(late * conjf(early)) / (2.0 * M_PI * (double)half) * rate_hz;
        }
    }
    line.amplitude = correlate(samples, 0, count, line.hz / rate_hz);
    return line;
}

void wh_steady_line_remove(const wh_steady_line *line, double rate_hz, size_t later, float complex *samples,
                           size_t count)
{
    const double cycles = line->hz / rate_hz;
    const float complex turn = (float)cos(2.0 * M_PI * cycles) + (float)sin(2.0 * M_PI * cycles) * I;
    float complex wave = 0.0f;
    for (size_t i = 0; i < count; i++) {
        if (i % RENEW == 0) {
            const double phase = 2.0 * M_PI * cycles * (double)(later + i);
            wave = line->amplitude * ((float)cos(phase) + (float)sin(phase) * I);
        }
        samples[i] -= wave;
        wave *= turn;
    }
}
