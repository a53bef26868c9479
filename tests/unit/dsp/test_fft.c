#include "fft.h"

#include <complex.h>
#include <string.h>

#include "../air.h"
#include "../near.h"

/* X[b] = sum of x[n] exp(-2 pi i b n / N), the definition. */
static double complex direct(const float complex *x, size_t size, size_t bin)
{
    double complex sum = 0.0;
    for (size_t n = 0; n < size; n++) {
        const double angle = -AIR_TURN * (double)(bin * n % size) / (double)size;
        sum += (double complex)x[n] * (cos(angle) + sin(angle) * I);
    }
    return sum;
}

static void test_against_definition(void **state)
{
    (void)state;
    static const size_t sizes[] = {16, 32, 256, 1024};
    for (size_t s = 0; s < sizeof sizes / sizeof sizes[0]; s++) {
        const size_t size = sizes[s], batch = 3;
        wh_fft *fft = wh_fft_create(size, batch);
        assert_non_null(fft);
        assert_int_equal(wh_fft_size(fft), size);
        float *noise = air_silence(size * batch);
        air_noise(noise, size * batch, 1.0, size);
        memcpy(wh_fft_input(fft), noise, 2 * size * batch * sizeof *noise);
        wh_fft_execute(fft);
        const float complex *x = (const float complex *)(const void *)noise;
        for (size_t row = 0; row < batch; row++)
            for (size_t bin = 0; bin < size; bin += 1 + size / 64) {
                const double complex exact = direct(x + row * size, size, bin);
                const double complex got = (double complex)wh_fft_output(fft)[row * size + bin];
                assert_near(cabs(got - exact), 0.0, 2e-6 * (double)size);
            }
        free(noise);
        wh_fft_destroy(&fft);
        assert_null(fft);
    }
}

/* The largest size: a tone on a bin fills that bin alone, negative frequencies come last. */
static void test_tone(void **state)
{
    (void)state;
    const size_t size = 16384;
    wh_fft *fft = wh_fft_create(size, 1);
    assert_non_null(fft);
    float *iq = air_silence(size);
    air_tone(iq, 0, size, (double)size, -1000.0, 0.5);
    memcpy(wh_fft_input(fft), iq, 2 * size * sizeof *iq);
    wh_fft_execute(fft);
    for (size_t bin = 0; bin < size; bin++)
        assert_near((double)cabsf(wh_fft_output(fft)[bin]), bin == size - 1000 ? 0.5 * (double)size : 0.0, 0.05);
    free(iq);
    wh_fft_destroy(&fft);
    wh_fft_destroy(&fft); /* twice does no harm */
}

/* Same input, same bits, from one object to the next: results must not depend on a plan's luck. */
static void test_repeatable(void **state)
{
    (void)state;
    const size_t size = 512, batch = 8;
    float *iq = air_silence(size * batch);
    air_noise(iq, size * batch, 1.0, 5);
    float complex first[512 * 8];
    for (int round = 0; round < 3; round++) {
        wh_fft *fft = wh_fft_create(size, batch);
        assert_non_null(fft);
        memcpy(wh_fft_input(fft), iq, sizeof first);
        wh_fft_execute(fft);
        if (round == 0)
            memcpy(first, wh_fft_output(fft), sizeof first);
        assert_memory_equal(first, wh_fft_output(fft), sizeof first);
        wh_fft_destroy(&fft);
    }
    free(iq);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_against_definition),
        cmocka_unit_test(test_tone),
        cmocka_unit_test(test_repeatable),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
