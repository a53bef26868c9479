#include "demodulated.h"

static burst fsk(double chip_rate_hz, double deviation_hz, double rate_hz)
{
    burst b = {.radio = {.modulation = WH_MOD_FSK,
                         .chip_rate_hz = chip_rate_hz,
                         .rate_tolerance = 0.05,
                         .deviation_hz = deviation_hz,
                         .deviation_tolerance = 0.25},
               .rate_hz = rate_hz,
               .snr_db = 20.0,
               .start = 14.3};
    burst_fill(&b, 240, 5);
    return b;
}

static burst ook(double chip_rate_hz, double rate_hz)
{
    burst b = {.radio = {.modulation = WH_MOD_OOK, .chip_rate_hz = chip_rate_hz, .rate_tolerance = 0.05},
               .rate_hz = rate_hz,
               .snr_db = 20.0,
               .start = 14.3};
    burst_fill(&b, 240, 6);
    return b;
}

/* At 20 dB every chip is right, and the estimates are: the start to a sixth of a chip, the rate so that the end is no further
 * off, carrier to a twentieth of the chip rate, deviation to a twelfth. */
static void assert_good(const burst *b, const char *what, double figure)
{
    const told t = demodulated(b);
    const double rate = b->radio.chip_rate_hz, deviation = b->radio.deviation_hz * (1.0 + b->deviation_error);
    const bool good = t.any && t.wrong == 0 && fabs(t.late_chips) < 0.17 &&
                      fabs((1.0 + t.rate_error) / (1.0 + b->rate_error) - 1.0) * (double)b->count < 0.3 &&
                      fabs(t.carrier_hz - b->carrier_hz) < 0.05 * rate &&
                      fabs(t.deviation_hz - deviation) < 0.08 * rate && t.snr_db > 14.0 && t.snr_db < 23.0;
    if (!good)
        print_error("%s %g (%g chips/s, %g Hz deviation, %g S/s): %zu emissions, %zu chips wrong, %.2f chips late, "
                    "carrier %.0f of %.0f, deviation "
                    "%.0f of %.0f, rate %+.4f of %+.4f, %.1f dB\n",
                    what, figure, rate, b->radio.deviation_hz, b->rate_hz, t.emissions, t.wrong, t.late_chips,
                    t.carrier_hz, b->carrier_hz, t.deviation_hz, deviation, t.rate_error, b->rate_error, t.snr_db);
    assert_true(good);
}

static const double sample_rates[] = {250e3, 400e3};

static void test_rates(void **state)
{
    (void)state;
    static const double fsk_kinds[][2] = {{1e3, 5e3},   {8e3, 8e3},   {8e3, 35e3},
                                          {20e3, 20e3}, {20e3, 40e3}, {50e3, 50e3}};
    static const double ook_rates[] = {1e3, 8e3, 20e3, 50e3};
    for (size_t s = 0; s < 2; s++) {
        for (size_t k = 0; k < sizeof fsk_kinds / sizeof fsk_kinds[0]; k++) {
            const burst b = fsk(fsk_kinds[k][0], fsk_kinds[k][1], sample_rates[s]);
            assert_good(&b, "fsk", fsk_kinds[k][0]);
        }
        for (size_t k = 0; k < sizeof ook_rates / sizeof ook_rates[0]; k++) {
            const burst b = ook(ook_rates[k], sample_rates[s]);
            assert_good(&b, "ook", ook_rates[k]);
        }
    }
}

/* The detector places a burst to a few bins; data with more of one tone pull its middle further. */
static void test_carrier_errors(void **state)
{
    (void)state;
    for (double error = -25e3; error <= 25e3; error += 3.17e3) {
        burst b = fsk(20e3, 40e3, 400e3);
        b.carrier_hz = error;
        assert_good(&b, "carrier off", error);
        b = ook(10e3, 400e3);
        b.carrier_hz = error;
        assert_good(&b, "carrier off", error);
        b = fsk(8e3, 8e3, 250e3);
        b.carrier_hz = error / 4.0;
        assert_good(&b, "carrier off", error / 4.0);
    }
}

static void test_rate_errors(void **state)
{
    (void)state;
    for (double tolerance = 0.05; tolerance < 0.11; tolerance += 0.05)
        for (int i = -5; i <= 5; i++) {
            burst b = fsk(20e3, 40e3, 400e3);
            b.radio.rate_tolerance = tolerance;
            b.rate_error = 0.98 * tolerance * i / 5.0;
            assert_good(&b, "rate off", b.rate_error);
            b = ook(10e3, 250e3);
            b.radio.rate_tolerance = tolerance;
            b.rate_error = 0.98 * tolerance * i / 5.0;
            assert_good(&b, "rate off", b.rate_error);
        }
}

static void test_timing(void **state)
{
    (void)state;
    for (double part = 0.0; part < 1.0; part += 0.0913) {
        burst b = fsk(20e3, 40e3, 400e3);
        b.start = 20.0 + part;
        assert_good(&b, "start", b.start);
        b = fsk(50e3, 50e3, 250e3);
        b.start = 20.0 + part;
        assert_good(&b, "start", b.start);
        b = ook(8e3, 400e3);
        b.start = 20.0 + part;
        assert_good(&b, "start", b.start);
    }
}

static void test_deviation_errors(void **state)
{
    (void)state;
    for (double error = -0.24; error <= 0.24; error += 0.08) {
        burst b = fsk(20e3, 40e3, 400e3);
        b.deviation_error = error;
        assert_good(&b, "deviation off", error);
        b.carrier_hz = 9e3;
        assert_good(&b, "deviation off", error);
    }
}

static void test_polarity(void **state)
{
    (void)state;
    burst b = fsk(20e3, 40e3, 400e3);
    b.radio.low_tone_is_one = true;
    assert_good(&b, "lower tone", 1.0);
    /* Heard the wrong way round every chip is wrong. */
    size_t samples;
    float *iq = burst_air(&b, 30.0, &samples);
    burst other = b;
    other.radio.low_tone_is_one = false;
    told t = {.b = &other};
    assert_int_equal(demod_samples(iq, samples, &other, 60e3, told_take, &t), WH_DEMOD_OK);
    assert_int_equal(t.wrong, b.count);
    free(iq);
}

/* Chips decided alone: noncoherent orthogonal frequency-shift keying has 0.5 exp(-E/2N0) (Proakis, Digital Communications):
 * 2.13e-2 at 8 dB, 3.37e-3 at 10 dB. The receiver knows neither carrier, tones nor clock; it cannot beat that and should come
 * close. */
static void test_chip_errors(void **state)
{
    (void)state;
    size_t wrong = 0, all = 0;
    for (uint64_t seed = 0; seed < 60; seed++) {
        burst b = fsk(20e3, 40e3, 400e3);
        burst_fill(&b, 400, 100 + seed);
        b.snr_db = 8.0;
        b.start = 15.0 + 0.017 * (double)seed;
        b.carrier_hz = 100.0 * (double)seed;
        const told t = demodulated(&b);
        assert_true(t.any);
        wrong += t.wrong;
        all += b.count;
    }
    const double share = (double)wrong / (double)all;
    if (share < 0.8 * 2.13e-2 || share > 1.35 * 2.13e-2)
        print_error("%zu of %zu chips wrong\n", wrong, all);
    assert_true(share > 0.8 * 2.13e-2);
    assert_true(share < 1.35 * 2.13e-2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rates),       cmocka_unit_test(test_carrier_errors),   cmocka_unit_test(test_rate_errors),
        cmocka_unit_test(test_timing),      cmocka_unit_test(test_deviation_errors), cmocka_unit_test(test_polarity),
        cmocka_unit_test(test_chip_errors),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
