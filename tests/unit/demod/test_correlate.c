#include "correlate.h"

#include <string.h>

#include "../air.h"
#include "../near.h"

#define COUNT 700
#define PARTS 300

static float complex samples[COUNT];

static void fill(void)
{
    wh_rng rng;
    wh_rng_seed(&rng, 21);
    for (size_t i = 0; i < COUNT; i++)
        samples[i] = (float)(2.0 * wh_rng_uniform(&rng) - 1.0) + (float)(2.0 * wh_rng_uniform(&rng) - 1.0) * I;
}

/* By definition: every sample's share of the interval, turned by the phase at the sample's middle. */
static double complex integral(double radians, double from, double to)
{
    double complex sum = 0.0;
    for (size_t i = 0; i < COUNT; i++) {
        const double share = fmin(to, (double)i + 1.0) - fmax(from, (double)i);
        if (share > 0.0)
            sum += share * (double complex)samples[i] * cexp(-I * radians * ((double)i + 0.5));
    }
    return sum;
}

/* Short and long intervals, beginning before, in and after the samples, and reaching beyond their end; one tone and two. */
static void test_integrals(void **state)
{
    (void)state;
    fill();
    static const double starts[] = {-75.3, 0.0, 0.4, 255.9, 256.0, 600.7, 699.0, 900.0},
                        steps[] = {0.31, 1.0, 2.7, 25.01}, tones[2] = {-0.7, 1.3};
    for (size_t a = 0; a < sizeof starts / sizeof starts[0]; a++)
        for (size_t b = 0; b < sizeof steps / sizeof steps[0]; b++)
            for (unsigned count = 1; count <= 2; count++) {
                float complex one[PARTS], other[PARTS], *const out[2] = {one, other};
                wh_correlate(samples, COUNT, tones, count, starts[a], steps[b], out, PARTS);
                for (size_t j = 0; j < PARTS * count; j++) {
                    const double from = starts[a] + steps[b] * (double)(j % PARTS);
                    const double complex right = integral(tones[j / PARTS], from, from + steps[b]);
                    assert_near((double)crealf(out[j / PARTS][j % PARTS]), creal(right), 2e-5);
                    assert_near((double)cimagf(out[j / PARTS][j % PARTS]), cimag(right), 2e-5);
                }
            }
}

static void test_sliding_power(void **state)
{
    (void)state;
    fill();
    for (size_t width = 1; width <= 8; width *= 2) {
        static float complex parts[COUNT];
        static float power[COUNT];
        memcpy(parts, samples, sizeof parts);
        wh_sliding_power(parts, COUNT, width, 0.25f, power);
        for (size_t j = 0; j < COUNT; j++) {
            double complex sum = 0.0;
            for (size_t i = j; i < j + width && i < COUNT; i++)
                sum += (double complex)samples[i];
            assert_near((double)power[j], 0.25 * creal(sum * conj(sum)), 1e-5);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_integrals), cmocka_unit_test(test_sliding_power)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
