/* A carrier that moves evenly, against its own definition: 2 pi times the integral of a frequency that rises in a straight line. */
#include "drift.h"

#include "../near.h"
#include "rng.h"

#include <string.h>

#define CHIPS 200
#define FIRST 10

struct emission {
    wh_chips chips;
    float llr[CHIPS];
    float complex value[2][CHIPS];
};

/* Random chips of amplitude 1 over noise of this variance; the carrier turns by 0.3 of a turn per chip in the mean, and by `turns` more at the
 * end than at the beginning. */
static void send(struct emission *e, bool keyed, double turns, double noise, uint64_t seed)
{
    wh_rng rng;
    wh_rng_seed(&rng, seed);
    memset(e, 0, sizeof *e);
    e->chips = (wh_chips){.count = CHIPS,
                          .capacity = CHIPS,
                          .llr = e->llr,
                          .value = {e->value[0], e->value[1]},
                          .keyed = keyed,
                          .first = FIRST,
                          .last = CHIPS - FIRST};
    const double middle = 0.5 * (CHIPS - 1), all = CHIPS - 2 * FIRST;
    for (size_t k = 0; k < CHIPS; k++) {
        const unsigned bit = (unsigned)wh_rng_below(&rng, 2);
        const double off = (double)k - middle, phase = 2.0 * M_PI * (0.3 * off + 0.5 * turns * off * off / all);
        e->llr[k] = bit ? 10.0f : -10.0f;
        for (unsigned v = keyed ? 1 : 0; v < 2; v++) {
            double pair[2];
            wh_rng_gauss_pair(&rng, pair);
            const double size = sqrt(0.5 * noise), on = v == bit ? 1.0 : 0.0;
            e->value[v][k] = (float)(on * cos(phase) + size * pair[0]) + (float)(on * sin(phase) + size * pair[1]) * I;
        }
    }
    for (unsigned a = 0; a < 2; a++)
        for (unsigned b = 0; b < 2; b++)
            e->chips.turn[a][b] = (float)cos(0.6 * M_PI) + (float)sin(0.6 * M_PI) * I;
}

/* Greatest phase error, turns, of the chips sent against a carrier that stands still, up to a common phase and frequency. */
static double left_over(const struct emission *e)
{
    double worst = 0.0;
    for (size_t k = FIRST; k + 2 < CHIPS - FIRST; k++) { /* the second difference of the phase */
        const float complex *v[3];
        for (size_t i = 0; i < 3; i++)
            v[i] = &e->value[e->llr[k + i] > 0.0f][k + i];
        const float complex bend = *v[0] * *v[2] * conjf(*v[1]) * conjf(*v[1]);
        if (wh_magnitude(bend) > 0.5f)
            worst = fmax(worst, fabs((double)cargf(bend)) / (2.0 * M_PI) * (CHIPS - 2 * FIRST));
    }
    return worst;
}

static void test_is_taken_out(void **state)
{
    (void)state;
    static struct emission e;
    for (int keyed = 0; keyed < 2; keyed++)
        for (double turns = -0.5; turns <= 0.5; turns += 0.1) {
            if (fabs(turns) < 0.05)
                continue;
            send(&e, keyed, turns, 1e-12, 3);
            assert_true(left_over(&e) > 0.8 * fabs(turns));
            assert_true(wh_drift_straighten(&e.chips));
            assert_true(left_over(&e) < 0.01);
        }
}

/* Noise alone looks like drift by chance only: 3 deviations are passed once in 370. */
static void test_noise_is_no_drift(void **state)
{
    (void)state;
    static struct emission e;
    unsigned changed = 0, found = 0;
    const unsigned rounds = 1000;
    for (unsigned i = 0; i < rounds; i++) {
        send(&e, i % 2, 0.0, 0.2, 100 + i);
        changed += wh_drift_straighten(&e.chips);
        send(&e, i % 2, 0.3, 0.2, 100 + i);
        found += wh_drift_straighten(&e.chips);
    }
    assert_true(changed < 20); /* 2.7 expected of a thousand; the scatter is estimated from the products themselves */
    assert_true(found > 950);
}

static void test_short_and_silent(void **state)
{
    (void)state;
    static struct emission e;
    send(&e, false, 0.4, 1e-6, 5);
    e.chips.last = e.chips.first + 20; /* too short to tell */
    assert_false(wh_drift_straighten(&e.chips));
    send(&e, true, 0.4, 1e-6, 5);
    memset(e.value[1], 0, sizeof e.value[1]);
    assert_false(wh_drift_straighten(&e.chips));
    for (size_t k = 0; k < CHIPS; k++)
        assert_true(e.value[1][k] == 0.0f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_is_taken_out),
        cmocka_unit_test(test_noise_is_no_drift),
        cmocka_unit_test(test_short_and_silent),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
