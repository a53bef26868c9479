#include "mixer.h"

#include "../air.h"
#include "../near.h"

#define COUNT 1500

/* Against exp(-j x) in double precision, at frequencies of either sign and any offset, divided into calls in any way: the same
 * numbers however divided, and right to single precision. */
static void test_mixer(void **state)
{
    (void)state;
    static float complex in[COUNT];
    static float re[COUNT], im[COUNT], again_re[COUNT], again_im[COUNT];
    wh_rng rng;
    wh_rng_seed(&rng, 5);
    for (size_t i = 0; i < COUNT; i++)
        in[i] = (float)(2.0 * wh_rng_uniform(&rng) - 1.0) + (float)(2.0 * wh_rng_uniform(&rng) - 1.0) * I;
    static const double frequencies[] = {0.0, 0.001, -0.3, 1.5707963, 3.1, -3.1};
    static const size_t steps[] = {1, 7, 256, 300, COUNT};
    for (size_t f = 0; f < sizeof frequencies / sizeof frequencies[0]; f++) {
        wh_mixer mixer;
        wh_mixer_begin(&mixer, frequencies[f]);
        wh_mixer_run(&mixer, in, 100000, 0.5, COUNT, re, im);
        for (size_t i = 0; i < COUNT; i++) {
            const double complex right = (double complex)in[i] * cexp(-I * frequencies[f] * (100000.5 + (double)i));
            assert_near((double)re[i], creal(right), 2e-6);
            assert_near((double)im[i], cimag(right), 2e-6);
        }
        for (size_t s = 0; s < sizeof steps / sizeof steps[0]; s++) {
            for (size_t at = 0; at < COUNT; at += steps[s])
                wh_mixer_run(&mixer, in + at, 100000 + at, 0.5, COUNT - at < steps[s] ? COUNT - at : steps[s],
                             again_re + at, again_im + at);
            assert_memory_equal(re, again_re, sizeof re);
            assert_memory_equal(im, again_im, sizeof im);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_mixer)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
