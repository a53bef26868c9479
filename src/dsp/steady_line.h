/* Steady carriers: measured before a burst, taken away from it. */
#ifndef WH_STEADY_LINE_H
#define WH_STEADY_LINE_H

#include <complex.h>
#include <stddef.h>

/* amplitude x exp(i 2 pi hz t), t counted from the first sample of the stretch that it was measured in. */
typedef struct wh_steady_line {
    double hz;
    float complex amplitude;
} wh_steady_line;

/* The strongest line within guess_hz +- reach_hz; reach 0: exactly there (a tuner's spike at 0 Hz). count >= 1. */
wh_steady_line wh_steady_line_measure(const float complex *samples, size_t count, double rate_hz, double guess_hz,
                                      double reach_hz);
/* Subtract the line from samples[count], the first of which is `later` samples after the first that it was measured on. */
void wh_steady_line_remove(const wh_steady_line *line, double rate_hz, size_t later, float complex *samples,
                           size_t count);

#endif
