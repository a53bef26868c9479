/* The weak bursts' metric against what it stands for, worked out with library functions. */
#include "clock_metric.h"

#include <math.h>

#include "../near.h"

#define COUNT 100

/* ln of the sum of both likelihoods, with the same rough ln I0: x^2 / (4 + x). */
static double either(double one, double zero, double scale)
{
    const double x = scale * sqrt(0.5 * fmax(one, 0.0)), y = scale * sqrt(0.5 * fmax(zero, 0.0));
    return log(exp(x * x / (4.0 + x)) + exp(y * y / (4.0 + y)));
}

/* Powers of every size beside each other, from far below the noise to ten times above. */
static void test_weak(void **state)
{
    (void)state;
    const double noise = 0.3;
    float energy[COUNT], difference[COUNT], metric[COUNT];
    double sum = 0.0;
    for (int i = 0; i < COUNT; i++) {
        energy[i] = (float)(0.02 + 0.01 * (i % 10) * (i % 10) * (1 + i / 10));
        difference[i] = energy[i] * (float)((i * 37 % 21) - 10) / 10.0f;
        sum += (double)energy[i];
    }
    const double scale = 2.0 * sqrt(sum / COUNT - 2.0 * noise) / noise;
    assert_true(sum / COUNT > 3.0 * noise);
    wh_clock_metric_weak(energy, difference, COUNT, (float)noise, metric);
    for (int i = 0; i < COUNT; i++) {
        const double one = (double)energy[i] + (double)difference[i], zero = (double)energy[i] - (double)difference[i];
        assert_near((double)metric[i], either(one, zero, scale), 0.0018 + 1e-6 * scale);
    }
}

static void test_keyed(void **state)
{
    (void)state;
    const float energy[3] = {0.0f, 0.25f, 1.0f};
    float metric[3];
    wh_clock_metric_keyed(energy, 3, 1.0f, metric);
    assert_true(metric[0] < 0.0f && metric[2] > 0.0f);
    assert_near((double)(metric[2] - metric[0]), 1.0, 1e-6); /* amplitudes, not powers */
    assert_near((double)(metric[1] - metric[0]), 0.5, 1e-6);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_weak), cmocka_unit_test(test_keyed)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
