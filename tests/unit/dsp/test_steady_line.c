/* Steady carriers measured and taken away; waveforms from their definition, noise from the seeded generator. */
#include "steady_line.h"

#include "rng.h"

#include "../near.h"

#include <math.h>
#include <stdlib.h>

#define RATE   400e3
#define BEFORE 6400 /* 16 ms */
#define ALL    12800

/* Amplitude `line` at hz, noise of variance `noise` a sample, and an on-off keyed burst in the second half at 60 kHz. */
static float complex *make(double hz, double line, double noise, double burst)
{
    float complex *x = malloc(ALL * sizeof *x);
    assert_non_null(x);
    wh_rng rng;
    wh_rng_seed(&rng, 7);
    for (size_t i = 0; i < ALL; i++) {
        const double phase = 2.0 * M_PI * hz * (double)i / RATE + 1.0, tone = 2.0 * M_PI * 60e3 * (double)i / RATE;
        double pair[2];
        wh_rng_gauss_pair(&rng, pair);
        const double on = i >= BEFORE && i / 40 % 3 == 0 ? burst : 0.0;
        x[i] = (float)(line * cos(phase) + on * cos(tone) + sqrt(0.5 * noise) * pair[0]) +
               (float)(line * sin(phase) + on * sin(tone) + sqrt(0.5 * noise) * pair[1]) * I;
    }
    return x;
}

static double power(const float complex *x, size_t from, size_t to)
{
    double sum = 0.0;
    for (size_t i = from; i < to; i++)
        sum += (double)(crealf(x[i]) * crealf(x[i]) + cimagf(x[i]) * cimagf(x[i]));
    return sum / (double)(to - from);
}

/* Bound of Rife and Boorstyn (1974) on the deviation of a frequency estimate: sqrt(6 noise / line^2 / N) / (2 pi T) with N samples in
 * T seconds. Comparing two halves is about a fifth worse than the bound; three deviations are allowed. */
static void test_frequency_and_depth(void **state)
{
    (void)state;
    const double hz = -51234.5, line = 1.0, noise = 0.1;
    float complex *x = make(hz, line, noise, 0.0);
    const wh_steady_line found = wh_steady_line_measure(x, BEFORE, RATE, hz + 2100.0, 3e3);
    const double bound = sqrt(6.0 * noise / (line * line) / BEFORE) / (2.0 * M_PI * BEFORE / RATE);
    assert_near(found.hz, hz, 3.0 * 1.2 * bound);
    assert_near((double)cabsf(found.amplitude), line, 0.02);
    wh_steady_line_remove(&found, RATE, 0, x, BEFORE);
    wh_steady_line_remove(&found, RATE, BEFORE, x + BEFORE, ALL - BEFORE);
    /* What is left is the noise, also in the half that was not measured. */
    assert_near(power(x, 0, BEFORE), noise, 0.01 * noise + 0.004);
    assert_near(power(x, BEFORE, ALL), noise, 0.1 * noise);
    free(x);
}

static void test_spike_and_burst(void **state)
{
    (void)state;
    const double noise = 0.01, burst = 0.5;
    float complex *x = make(0.0, 2.0, noise, burst);
    const wh_steady_line spike = wh_steady_line_measure(x, BEFORE, RATE, 0.0, 0.0);
    assert_near(spike.hz, 0.0, 0.0);
    assert_near((double)cabsf(spike.amplitude), 2.0, 0.01);
    wh_steady_line_remove(&spike, RATE, BEFORE, x + BEFORE, ALL - BEFORE);
    /* The burst stays as it was: on for a third of the time. */
    assert_near(power(x, BEFORE, ALL), burst * burst / 3.0 + noise, 0.004);
    free(x);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_frequency_and_depth),
                                       cmocka_unit_test(test_spike_and_burst)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
