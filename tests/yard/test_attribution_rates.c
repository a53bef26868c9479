/* A quick gate on simulated walks; report_attribution measures more. All seeds are fixed, so these are no chances: the bounds
 * stand about three standard errors from what was measured, and the strongest-sensor rule is the yardstick from outside. */
#include "yard_sim.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

static sim_score score_of(const sim_case *sim, unsigned walks)
{
    sim_score score = {0};
    assert_int_equal(sim_run_many(sim, 900, walks, &score), 0);
    print_message("heard %u, strongest %.3f, right %.3f, sure %.3f, sure and wrong %u, odds %.3f, named right %.3f, "
                  "calibration error %.3f\n",
                  score.seats, (double)score.strongest_right / score.seats, (double)score.right / score.seats,
                  (double)score.sure / score.seats, score.sure_wrong, score.odds / score.named,
                  (double)score.named_right / score.named, sim_calibration_error(&score));
    return score;
}

static void assert_share(unsigned part, unsigned whole, double least, double most)
{
    const double share = (double)part / whole;
    if (share < least || share > most)
        print_error("%.4f is not within %.4f and %.4f\n", share, least, most);
    assert_true(share >= least && share <= most);
}

/* Woken and logged, faults and neighbours as usual. Of seats that are SURE, fewer than one in ten may be wrong by definition. */
static void test_usual_walks(void **state)
{
    (void)state;
    sim_case sim;
    sim_case_usual(&sim);
    const sim_score s = score_of(&sim, 150);
    assert_share(s.right, s.seats, 0.94, 1.0);
    assert_share(s.sure, s.seats, 0.75, 1.0);
    assert_share(s.sure_wrong, s.seats, 0.0, 0.02);
    assert_share(s.false_faults, s.seats, 0.0, 0.01);
    assert_true(s.right > s.strongest_right + s.seats / 20);
    assert_true(sim_calibration_error(&s) < 0.04);
}

/* The worst spread over wheel angles known: 20 dB. */
static void test_wide_spread(void **state)
{
    (void)state;
    sim_case sim;
    sim_case_usual(&sim);
    sim.air.angle_spread_db = 20.0;
    const sim_score s = score_of(&sim, 150);
    assert_share(s.right, s.seats, 0.93, 1.0);
    assert_share(s.sure_wrong, s.seats, 0.0, 0.02);
    assert_true(s.right > s.strongest_right + s.seats / 10);
    assert_true(sim_calibration_error(&s) < 0.04);
}

/* Nobody wakes anything, all sensors send about once a minute: levels alone. Then fewer seats may be sure. */
static void test_levels_alone(void **state)
{
    (void)state;
    sim_case sim;
    sim_case_usual(&sim);
    sim.habits.wakes = 0.0;
    sim.habits.stand_s = 20.0;
    sim.sends_itself = 1.0;
    const sim_score s = score_of(&sim, 150);
    assert_share(s.right, s.seats, 0.82, 1.0);
    assert_share(s.sure_wrong, s.seats, 0.0, 0.045);
    assert_true(s.right > 2 * s.strongest_right);
    assert_true(sim_calibration_error(&s) < 0.07);
}

/* Duals of which nothing but the levels is known and neither sensor is on record: half of the pairs must come out wrong, so
 * hardly any seat may be sure. */
static void test_duals_are_not_guessed(void **state)
{
    (void)state;
    sim_case sim;
    sim_case_usual(&sim);
    sim.habits.wakes = 0.0;
    sim.habits.stand_s = 20.0;
    sim.sends_itself = 1.0;
    sim.new_sensor = 1.0;
    sim.dead = 0.0;
    const sim_score s = score_of(&sim, 60);
    assert_share(s.sure, s.seats, 0.0, 0.03);
    assert_share(s.sure_wrong, s.seats, 0.0, 0.01);
}

static void test_many_wheels_and_strangers(void **state)
{
    (void)state;
    sim_case sim;
    sim_case_usual(&sim);
    sim.axles = 5;
    sim.dual[0] = false;
    sim.dual[2] = sim.dual[3] = sim.dual[4] = true;
    sim.neighbours_on_record = false;
    sim.passing = 20;
    const sim_score s = score_of(&sim, 30);
    assert_share(s.right, s.seats, 0.93, 1.0);
    assert_share(s.sure, s.seats, 0.70, 1.0);
    assert_share(s.sure_wrong, s.seats, 0.0, 0.02);
}

/* The simulator must be able to show a difference: what is certain here is certain because waking is. */
static void test_singles_that_always_answer(void **state)
{
    (void)state;
    sim_case sim;
    sim_case_usual(&sim);
    sim.dual[0] = sim.dual[1] = false;
    sim.axles = 3;
    sim.neighbours = 0;
    sim.passing = 0;
    sim.sends_itself = 0.0;
    sim.habits.wakes = 1.0;
    sim.habits.wakes_near = sim.habits.goes_on = 0.0;
    const sim_score s = score_of(&sim, 100);
    assert_int_equal(s.right, s.seats);
    assert_share(s.sure, s.seats, 0.9, 1.0);
    assert_int_equal(s.sure_wrong, 0);
    assert_int_equal(s.faults_found, s.faults);
    assert_true(s.faults > 20);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_usual_walks),
        cmocka_unit_test(test_wide_spread),
        cmocka_unit_test(test_levels_alone),
        cmocka_unit_test(test_duals_are_not_guessed),
        cmocka_unit_test(test_many_wheels_and_strangers),
        cmocka_unit_test(test_singles_that_always_answer),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
