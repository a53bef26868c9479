/* The transform that runs on every sample, against the definition of the discrete Fourier transform and Parseval's theorem. */
#include "power_fft.h"

#include "../air.h"
#include "../near.h"

#include <complex.h>
#include <string.h>

#define MOST 512

static const size_t sizes[] = {64, 128, 256, 512};

struct scene {
    _Alignas(32) float sum[MOST];
    float iq[2 * MOST];
};

static void enter(wh_power_fft *fft, const float *iq, size_t size)
{
    for (size_t i = 0; i < size; i++) {
        wh_power_fft_real(fft)[i] = iq[2 * i];
        wh_power_fft_imag(fft)[i] = iq[2 * i + 1];
    }
}

/* |X[b]|^2, X[b] = sum of x[n] exp(-2 pi i b n / N), in double precision. */
static double direct(const float *iq, size_t size, size_t bin)
{
    double complex sum = 0.0;
    for (size_t n = 0; n < size; n++) {
        const double angle = -AIR_TURN * (double)(bin * n % size) / (double)size;
        sum += ((double)iq[2 * n] + (double)iq[2 * n + 1] * I) * (cos(angle) + sin(angle) * I);
    }
    return creal(sum) * creal(sum) + cimag(sum) * cimag(sum);
}

static void test_against_definition(void **state)
{
    (void)state;
    static struct scene s;
    for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
        const size_t size = sizes[i];
        wh_power_fft *fft = wh_power_fft_create(size);
        assert_non_null(fft);
        memset(&s, 0, sizeof s);
        air_noise(s.iq, size, 1.0, size);
        enter(fft, s.iq, size);
        wh_power_fft_add(fft, s.sum);
        double all = 0.0, energy = 0.0;
        for (size_t b = 0; b < size; b++) {
            assert_near((double)s.sum[b], direct(s.iq, size, b), 2e-5 * (double)size);
            all += (double)s.sum[b];
            energy += (double)(s.iq[2 * b] * s.iq[2 * b] + s.iq[2 * b + 1] * s.iq[2 * b + 1]);
        }
        assert_near(all / (double)size, energy, 1e-5 * energy); /* Parseval */
        wh_power_fft_destroy(&fft);
        assert_null(fft);
    }
    wh_power_fft *none = NULL;
    wh_power_fft_destroy(&none); /* nothing there: no harm */
}

/* Registers of another width, the same bytes: what a recording gives does not depend on the computer it is read on. */
static void test_widths_agree(void **state)
{
    (void)state;
    static struct scene s, narrow;
    for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
        const size_t size = sizes[i];
        wh_power_fft *fft = wh_power_fft_create(size);
        assert_non_null(fft);
        memset(&s, 0, sizeof s);
        memset(&narrow, 0, sizeof narrow);
        air_noise(s.iq, size, 1.0, 7 + size);
        enter(fft, s.iq, size);
        wh_power_fft_add(fft, s.sum);
        enter(fft, s.iq, size);
        wh_power_fft_add_narrow(fft, narrow.sum);
        assert_memory_equal(s.sum, narrow.sum, sizeof s.sum);
        wh_power_fft_destroy(&fft);
    }
}

/* Sums go on from what is there; a tone on a bin is in that bin alone, negative frequencies come last. */
static void test_tone_added(void **state)
{
    (void)state;
    static struct scene s;
    const size_t size = 512, bin = size - 37;
    wh_power_fft *fft = wh_power_fft_create(size);
    assert_non_null(fft);
    for (size_t b = 0; b < size; b++)
        s.sum[b] = 3.0f;
    for (size_t round = 1; round <= 2; round++) {
        memset(s.iq, 0, sizeof s.iq);
        air_tone(s.iq, 0, size, (double)size, -37.0, 0.5);
        enter(fft, s.iq, size);
        wh_power_fft_add(fft, s.sum);
        const double power = (double)round * 0.25 * (double)(size * size);
        for (size_t b = 0; b < size; b++)
            assert_near((double)s.sum[b], b == bin ? 3.0 + power : 3.0, b == bin ? 1e-5 * power : 1e-3);
    }
    wh_power_fft_destroy(&fft);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_against_definition),
        cmocka_unit_test(test_widths_agree),
        cmocka_unit_test(test_tone_added),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
