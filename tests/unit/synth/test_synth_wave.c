#include "synth_wave.h"

#include <complex.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "../near.h"

#define PI   3.14159265358979323846
#define RATE 250e3

/* Samples 0 .. count - 1 of a burst as doubles. */
static double complex *samples_of(const wh_wave_spec *spec, const char *digits, size_t count)
{
    uint8_t chips[512];
    const size_t chip_count = strlen(digits);
    for (size_t i = 0; i < chip_count; i++)
        chips[i] = (uint8_t)(digits[i] - '0');
    wh_wave *wave = wh_wave_create(spec, chips, chip_count);
    assert_non_null(wave);
    float *iq = calloc(2 * count, sizeof *iq);
    double complex *out = calloc(count, sizeof *out);
    assert_true(iq && out);
    wh_wave_add(wave, RATE, 0, count, iq);
    for (size_t i = 0; i < count; i++)
        out[i] = (double)iq[2 * i] + I * (double)iq[2 * i + 1];
    free(iq);
    wh_wave_destroy(&wave);
    assert_null(wave);
    return out;
}

/* Mean frequency between two samples that are close enough not to wrap. */
static double frequency(const double complex *x, size_t at)
{
    return carg(x[at + 1] * conj(x[at])) / (2.0 * PI) * RATE;
}

static wh_wave_spec fsk(void)
{
    return (wh_wave_spec){.radio = {.modulation = WH_MOD_FSK, .chip_rate_hz = 20e3, .deviation_hz = 40e3},
                          .amplitude = 0.5};
}

/* 20 kchip/s at 250 kS/s: 12.5 samples a chip. The tones are carrier +- deviation, errors included. */
static void test_tones(void **state)
{
    (void)state;
    wh_wave_spec spec = fsk();
    spec.carrier_hz = 7e3;
    double complex *x = samples_of(&spec, "110", 38);
    assert_near(frequency(x, 5), 47e3, 0.5);
    assert_near(frequency(x, 20), 47e3, 0.5);
    assert_near(frequency(x, 30), -33e3, 0.5);
    assert_near(cabs(x[30]), 0.5, 1e-6);
    free(x);
    spec.radio.low_tone_is_one = true;
    spec.deviation_error = 0.25;
    x = samples_of(&spec, "110", 38);
    assert_near(frequency(x, 5), -43e3, 0.5);
    assert_near(frequency(x, 30), 57e3, 0.5);
    free(x);
}

/* No sample-to-sample step of the phase is larger than the faster tone makes, through every transition; and the whole
 * advance of the phase is that of the tones' times: 2 pi deviation (ones - zeros) T. */
static void test_phase_is_continuous(void **state)
{
    (void)state;
    for (int raised = 0; raised < 2; raised++) {
        wh_wave_spec spec = fsk();
        spec.edge_s = raised ? 20e-6 : 0.0;
        spec.start_s = 12.3e-6;
        const char *digits = "1101001110100010111001";
        double complex *x = samples_of(&spec, digits, 276);
        double phase = 0.0;
        for (size_t i = 4; i + 1 < 276; i++) {
            const double step = carg(x[i + 1] * conj(x[i]));
            assert_true(fabs(step) <= 2.0 * PI * 40e3 / RATE + 1e-5);
            phase += step;
        }
        /* From t = 16 us - 12.3 us in the first chip (a one) to 1100 us - 12.3 us = 12.3 us before the end (a one). */
        const double ones = 12.0, zeros = 10.0;
        const double seconds = (ones - zeros) * 50e-6 - (16e-6 - 12.3e-6) - 12.3e-6;
        assert_near(phase, 2.0 * PI * 40e3 * seconds, 1e-4);
        free(x);
    }
}

/* OOK chips switch at their exact times: chip k covers [start + k T, start + (k + 1) T) with T = 1 / (rate (1 + error)). */
static void test_chip_times(void **state)
{
    (void)state;
    const wh_wave_spec spec = {.radio = {.modulation = WH_MOD_OOK, .chip_rate_hz = 10e3},
                               .rate_error = -0.03,
                               .start_s = 101.7e-6,
                               .amplitude = 1.0,
                               .carrier_hz = 30e3};
    const char *digits = "1011001010111";
    double complex *x = samples_of(&spec, digits, 500);
    for (size_t i = 0; i < 500; i++) {
        const double place = ((double)i / RATE - 101.7e-6) * 9700.0;
        const bool on = place >= 0.0 && place < 13.0 && digits[(size_t)place] == '1';
        assert_near(cabs(x[i]), on ? 1.0 : 0.0, 1e-6);
    }
    free(x);
}

/* A raised-cosine edge is at half its height on the boundary, at (1 + sin(pi/4)) / 2 = 0.8536 a quarter later. */
static void test_raised_edges(void **state)
{
    (void)state;
    wh_wave_spec spec = {
        .radio = {.modulation = WH_MOD_OOK, .chip_rate_hz = 5e3}, .start_s = 80e-6, .edge_s = 64e-6, .amplitude = 0.8};
    double complex *x = samples_of(&spec, "101", 250); /* 50 samples a chip; the first begins at sample 20 */
    assert_near(cabs(x[20]), 0.4, 1e-6);
    assert_near(cabs(x[24]), 0.8 * 0.853553, 1e-5);
    assert_near(cabs(x[16]), 0.8 * 0.146447, 1e-5);
    assert_near(cabs(x[11]), 0.0, 1e-9);
    assert_near(cabs(x[45]), 0.8, 1e-6);
    assert_near(cabs(x[70]), 0.4, 1e-6);
    assert_near(cabs(x[95]), 0.0, 1e-9);
    assert_near(cabs(x[170]), 0.4, 1e-6); /* the end */
    assert_near(cabs(x[179]), 0.0, 1e-9);
    free(x);
}

/* Power at one frequency, by definition of the Fourier transform with a Hann window. */
static double power_at(const double complex *x, size_t count, double hz)
{
    double complex sum = 0.0;
    for (size_t i = 0; i < count; i++)
        sum += x[i] * (1.0 - cos(2.0 * PI * (double)i / (double)count)) * cexp(-2.0 * PI * I * hz / RATE * (double)i);
    return creal(sum * conj(sum));
}

/* Raised edges are there to keep the neighbours quiet: 80 to 110 kHz off, OOK of 5 kchip/s with edges of half a chip
 * has less than a thousandth of the power of abrupt keying; near the carrier both are alike. */
static void test_spectrum_of_edges(void **state)
{
    (void)state;
    double far[2] = {0.0, 0.0}, near[2] = {0.0, 0.0};
    for (int raised = 0; raised < 2; raised++) {
        const wh_wave_spec spec = {.radio = {.modulation = WH_MOD_OOK, .chip_rate_hz = 5e3},
                                   .edge_s = raised ? 100e-6 : 0.0,
                                   .start_s = 1e-4,
                                   .amplitude = 1.0};
        double complex *x = samples_of(&spec, "1011001110001011010011", 1200);
        for (double hz = 80e3; hz < 110e3; hz += 333.0)
            far[raised] += power_at(x, 1200, hz);
        for (double hz = -2e3; hz < 2e3; hz += 100.0)
            near[raised] += power_at(x, 1200, hz);
        free(x);
    }
    assert_true(far[0] > 0.0 && far[1] < far[0] * 1e-3);
    assert_true(fabs(10.0 * log10(near[1] / near[0])) < 1.0);
}

/* FSK of +-40 kHz: the strongest places of the spectrum are the two tones, the middle is far below. */
static void test_spectrum_of_fsk(void **state)
{
    (void)state;
    wh_wave_spec spec = fsk();
    spec.carrier_hz = 10e3;
    double complex *x = samples_of(&spec, "1001011010010110011010010101100110010110", 500);
    const double upper = power_at(x, 500, 50e3), lower = power_at(x, 500, -30e3);
    assert_true(fabs(10.0 * log10(upper / lower)) < 3.0);
    assert_true(power_at(x, 500, 10e3) < 0.05 * upper);
    assert_true(power_at(x, 500, 110e3) < 0.01 * upper);
    free(x);
}

static void test_drift(void **state)
{
    (void)state;
    wh_wave_spec spec = fsk();
    spec.carrier_hz = -5e3;
    spec.drift_hz = 3e3;
    char digits[401];
    memset(digits, '1', 400);
    digits[400] = '\0';
    double complex *x = samples_of(&spec, digits, 5000); /* 20 ms */
    assert_near(frequency(x, 0), 35e3, 2.0);
    assert_near(frequency(x, 2500), 36.5e3, 2.0);
    assert_near(frequency(x, 4998), 38e3, 2.0);
    free(x);
}

/* The same bytes in one piece, and in pieces of 1 and 7 samples. */
static void test_pieces(void **state)
{
    (void)state;
    wh_wave_spec spec = fsk();
    spec.start_s = 33.3e-6;
    spec.edge_s = 10e-6;
    const uint8_t chips[] = {1, 0, 0, 1, 1, 0};
    wh_wave *wave = wh_wave_create(&spec, chips, sizeof chips);
    assert_non_null(wave);
    float whole[200] = {0}, pieces[200];
    wh_wave_add(wave, RATE, 0, 100, whole);
    static const size_t sizes[] = {1, 7};
    for (size_t s = 0; s < 2; s++) {
        memset(pieces, 0, sizeof pieces);
        for (size_t at = 0; at < 100; at += sizes[s])
            wh_wave_add(wave, RATE, at, 100 - at < sizes[s] ? 100 - at : sizes[s], pieces + 2 * at);
        assert_memory_equal(pieces, whole, sizeof whole);
    }
    double begin_s, end_s, low_hz, high_hz;
    wh_wave_span(wave, &begin_s, &end_s);
    assert_near(begin_s, 28.3e-6, 1e-9);
    assert_near(end_s, 338.3e-6, 1e-9);
    wh_wave_band(wave, &low_hz, &high_hz);
    assert_near(low_hz, -60e3, 1e-6);
    assert_near(high_hz, 60e3, 1e-6);
    wh_wave_destroy(&wave);
}

static void test_senseless_specifications(void **state)
{
    (void)state;
    const uint8_t chips[] = {1, 0};
    wh_wave_spec spec = fsk();
    assert_null(wh_wave_create(&spec, chips, 0));
    spec.edge_s = 51e-6; /* longer than a chip */
    assert_null(wh_wave_create(&spec, chips, 2));
    spec = fsk();
    spec.rate_error = -1.0;
    assert_null(wh_wave_create(&spec, chips, 2));
    spec = fsk();
    spec.start_s = NAN;
    assert_null(wh_wave_create(&spec, chips, 2));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_tones),
        cmocka_unit_test(test_phase_is_continuous),
        cmocka_unit_test(test_chip_times),
        cmocka_unit_test(test_raised_edges),
        cmocka_unit_test(test_spectrum_of_edges),
        cmocka_unit_test(test_spectrum_of_fsk),
        cmocka_unit_test(test_drift),
        cmocka_unit_test(test_pieces),
        cmocka_unit_test(test_senseless_specifications),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
