/* The demodulator's chip errors against detection theory, from both sides: a receiver that beats the optimum has
 * been told something it cannot know, one that lags behind has lost something. */
#include "modem_chips.h"
#include "modem_theory.h"
#include "near.h"

/* A count this unlikely is no accident: with a dozen counts and fixed seeds a sound demodulator passes. */
#define ACCIDENT 1e-4
/* What timing, carrier and level estimates may cost. Measured over 120 000 chips a point: tones 0.0 dB, on-off
 * keying 0.04 to 0.16 dB. */
#define LOSS_DB 0.3
/* Chips need not begin on a sample. A correlation over 20 samples, each held until the next, then shares its edge
 * samples with the neighbour chips, which averages a little noise away: by 1 / 60 of it in the mean, 0.07 dB. */
#define EDGE_DB 0.1

static const wh_radio far_tones = {WH_MOD_FSK, 20e3, 0.05, 40e3, 0.25, false}; /* 4 chip rates apart: orthogonal */
static const wh_radio near_tones = {WH_MOD_FSK, 20e3, 0.05, 20e3, 0.25, true}; /* 2 chip rates apart */
static const wh_radio keyed = {WH_MOD_OOK, 20e3, 0.05, 0.0, 0.0, false};

static double error_at(const wh_radio *radio, double on_db)
{
    return radio->modulation == WH_MOD_OOK ? modem_keyed_error(modem_ratio(on_db), NULL)
                                           : modem_noncoherent_error(modem_ratio(on_db));
}

static void check_point(const wh_radio *radio, double on_db, size_t bursts, uint64_t seed)
{
    modem_chip_count count;
    assert_true(modem_chip_errors(radio, on_db, bursts, seed, &count));
    assert_int_equal(count.bursts, bursts);
    assert_int_equal(count.lost, 0);
    const double not_better = modem_at_most(count.errors, count.chips, error_at(radio, on_db + EDGE_DB));
    const double not_worse = modem_at_least(count.errors, count.chips, error_at(radio, on_db - LOSS_DB));
    print_message("%s %.1f dB: %zu of %zu chips wrong, theory %.1f\n",
                  radio->modulation == WH_MOD_OOK ? "keyed" : "tones", on_db, count.errors, count.chips,
                  error_at(radio, on_db) * (double)count.chips);
    assert_true(not_better > ACCIDENT);
    assert_true(not_worse > ACCIDENT);
}

static void two_tones_reach_the_noncoherent_optimum(void **state)
{
    (void)state;
    check_point(&far_tones, 8.0, 60, 1);
    check_point(&far_tones, 10.0, 200, 2);
    check_point(&far_tones, 12.0, 400, 3);
    check_point(&near_tones, 8.0, 60, 4);
    check_point(&near_tones, 10.0, 200, 5);
}

/* Figures by Eb/N0, the energy averaged over on and off: an on chip has twice as much. */
static void on_off_keying_reaches_the_optimum_threshold(void **state)
{
    (void)state;
    const double twice = 3.0103;
    check_point(&keyed, 6.0 + twice, 60, 6);
    check_point(&keyed, 8.0 + twice, 100, 7);
    check_point(&keyed, 10.0 + twice, 200, 8);
}

/* Noncoherent orthogonal FSK: 2.1324e-2, 3.3690e-3 and 1.8089e-4 at 8, 10 and 12 dB (0.5 exp(-Eb/2N0): LNTwww,
 * Exercise 4.18Z, TU Munich). Coherent: 6.0044e-3 and 7.8270e-4 at 8 and 10 dB, Q(sqrt(Eb/N0)), from the same
 * exercise. */
static void theory_of_tones(void **state)
{
    (void)state;
    assert_near(modem_noncoherent_error(modem_ratio(8.0)), 2.1324e-2, 1e-6);
    assert_near(modem_noncoherent_error(modem_ratio(10.0)), 3.3690e-3, 1e-7);
    assert_near(modem_noncoherent_error(modem_ratio(12.0)), 1.8089e-4, 1e-8);
    assert_near(modem_coherent_error(modem_ratio(8.0)), 6.0044e-3, 1e-7);
    assert_near(modem_coherent_error(modem_ratio(10.0)), 7.8270e-4, 1e-8);
}

/* Noncoherent on-off keying at its best threshold: 1.333e-2 (0.590 A), 1.913e-3 (0.562 A), 9.28e-5 (0.542 A) and
 * 8.11e-7 (0.529 A) at 8, 10, 12 and 14 dB, by numerical integration of the Rice and Rayleigh densities (the
 * formulas: Schwartz, Bennett and Stein, Communication Systems and Techniques). Marcum's Q1(a, 0) = 1, and Q1(0, b)
 * = exp(-b^2 / 2) by definition. */
static void theory_of_keying(void **state)
{
    (void)state;
    static const struct {
        double db, error, threshold;
    } known[] = {{8.0, 1.333e-2, 0.590}, {10.0, 1.913e-3, 0.562}, {12.0, 9.28e-5, 0.542}, {14.0, 8.11e-7, 0.529}};
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
        double threshold = 0.0;
        assert_near(modem_keyed_error(2.0 * modem_ratio(known[i].db), &threshold), known[i].error,
                    1e-3 * known[i].error);
        assert_near(threshold, known[i].threshold, 1e-3);
    }
    assert_near(modem_marcum_q(3.0, 0.0), 1.0, 1e-9);
    assert_near(modem_marcum_q(0.0, 2.0), 0.1353352832, 1e-9);
}

/* Frames: (1 - 1e-3)^98 = 0.9066 by hand. Binomial tails of 3 tosses of a fair coin: 1/8, 4/8, 7/8, 1. Wilson's
 * interval for 0 of 10 ends at z^2 / (n + z^2) by its formula. */
static void statistics(void **state)
{
    (void)state;
    assert_near(1.0 - modem_frame_loss(1e-3, 98), 0.9066, 5e-5);
    assert_near(modem_at_most(0, 3, 0.5), 0.125, 1e-12);
    assert_near(modem_at_most(1, 3, 0.5), 0.5, 1e-12);
    assert_near(modem_at_least(1, 3, 0.5), 0.875, 1e-12);
    assert_near(modem_at_least(0, 3, 0.5), 1.0, 1e-12);
    double low, high;
    modem_interval(0, 10, &low, &high);
    assert_near(low, 0.0, 1e-12);
    assert_near(high, 3.841459 / 13.841459, 1e-6);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(theory_of_tones),
        cmocka_unit_test(theory_of_keying),
        cmocka_unit_test(statistics),
        cmocka_unit_test(two_tones_reach_the_noncoherent_optimum),
        cmocka_unit_test(on_off_keying_reaches_the_optimum_threshold),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
