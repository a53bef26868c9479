#include "confidence.h"

#include "rng.h"

#include <string.h>

#include "../near.h"

/* H2(1/4) = 0.811278, H2(1/10) = 0.468996 (entropy tables, e.g. Cover and Thomas). */
static void test_agreement_table(void **state)
{
    (void)state;
    assert_near(wh_agreement_bits(32.0, 1.0), 32.0, 1e-12);
    assert_near(wh_agreement_bits(32.0, 0.5), 32.0 * (1.0 - 0.811278), 1e-4);
    assert_near(wh_agreement_bits(10.0, 0.8), 10.0 * (1.0 - 0.468996), 1e-4);
    assert_near(wh_agreement_bits(32.0, 0.0), 0.0, 0.0);
    assert_near(wh_agreement_bits(32.0, -0.7), 0.0, 0.0);
    assert_near(wh_agreement_bits(0.0, 1.0), 0.0, 0.0);
    assert_near(wh_agreement_bits(8.0, 1.5), 8.0, 1e-12);
    assert_near(wh_agreement_bits(-3.0, 1.0), 0.0, 0.0);
    assert_near(wh_agreement_bits(32.0, (double)NAN), 0.0, 0.0);
}

/* The bits are a bound: chance agrees in `with` of n chips or more with at most 2^-bits (exact binomial sum). */
static void test_agreement_is_a_bound(void **state)
{
    (void)state;
    for (int n = 1; n <= 60; n++) {
        double tail = 0.0;
        for (int with = n; 2 * with > n; with--) {
            tail += exp(lgamma(n + 1.0) - lgamma(with + 1.0) - lgamma(n - with + 1.0) - n * M_LN2);
            const double bits = wh_agreement_bits(n, 2.0 * with / n - 1.0);
            assert_true(tail <= exp2(-bits) * (1.0 + 1e-9));
        }
    }
}

static wh_evidence certain(void)
{
    return (wh_evidence){.log_probability = 0.0, .rivals = 0.0, .check_bits = 200.0, .tries = 1.0, .copies = 1};
}

static double odds(double p)
{
    return p / (1.0 - p);
}

/* With nothing but the soft values to go by, Bayes' rule is the answer: the frame against the rivals that pass as well. */
static void test_soft_values(void **state)
{
    (void)state;
    for (double p = 0.05; p < 1.0; p += 0.05) {
        wh_evidence e = certain();
        e.log_probability = log(p);
        e.rivals = 1.0 - p;
        assert_near(wh_confidence(&e), p, 1e-9);
        for (double guard = 1.0; guard <= 16.0; guard += 1.0) {
            e.rivals = (1.0 - p) * exp2(-guard);
            assert_near(odds(wh_confidence(&e)) / (odds(p) * exp2(guard)), 1.0, 1e-6);
        }
    }
}

/* Trying twice as many patterns costs just what one bit of check gives. */
static void test_tries_against_bits(void **state)
{
    (void)state;
    for (double bits = 4.0; bits < 24.0; bits += 1.0) {
        wh_evidence e = certain();
        e.check_bits = bits;
        for (e.tries = 1.0; e.tries < 1e5; e.tries *= 2.0) {
            wh_evidence more = e;
            more.tries *= 2.0;
            more.check_bits += 1.0;
            assert_near(wh_confidence(&more), wh_confidence(&e), 1e-12);
            more.check_bits = e.check_bits;
            assert_near(odds(wh_confidence(&more)) / odds(wh_confidence(&e)), 0.5, 1e-6);
        }
    }
}

/* A frame without any evidence is more likely chance than not, and one with all of it is near certain, never more. */
static void test_ends(void **state)
{
    (void)state;
    const wh_evidence none = {.tries = 1.0, .copies = 1};
    assert_true(wh_confidence(&none) < 0.5);
    const wh_evidence all = certain();
    assert_true(wh_confidence(&all) > 0.999 && wh_confidence(&all) <= 1.0);
}

static wh_evidence drawn(wh_rng *rng)
{
    return (wh_evidence){
        .log_probability = -exp(8.0 * wh_rng_uniform(rng) - 5.0),
        .rivals = exp2(-20.0 * wh_rng_uniform(rng)),
        .check_bits = (double)wh_rng_below(rng, 41),
        .sync_chips = (double)wh_rng_below(rng, 65),
        .preamble_chips = (double)wh_rng_below(rng, 65),
        .sync_score = 2.0 * wh_rng_uniform(rng) - 1.0,
        .against = 20.0 * wh_rng_uniform(rng) * wh_rng_uniform(rng),
        .end_chips = (double)wh_rng_below(rng, 17),
        .end_score = 2.0 * wh_rng_uniform(rng) - 1.0,
        .mismatch = wh_rng_uniform(rng) * wh_rng_uniform(rng),
        .tries = exp(10.0 * wh_rng_uniform(rng)),
        .implausible = (unsigned)wh_rng_below(rng, 3),
        .carrier_excess_hz = 3e5 * wh_rng_uniform(rng) * wh_rng_uniform(rng),
        .copies = 1 + (unsigned)wh_rng_below(rng, 8),
    };
}

/* Change one member of the evidence for the better. */
static void improve(wh_evidence *e, unsigned member, double by)
{
    switch (member) {
    case 0: e->log_probability *= 1.0 - by; break;
    case 1: e->rivals *= 1.0 - by; break;
    case 2: e->check_bits += 8.0 * by; break;
    case 3: e->sync_chips += 32.0 * by; break;
    case 4: e->preamble_chips += 32.0 * by; break;
    case 5: e->sync_score += (1.0 - e->sync_score) * by; break;
    case 6: e->against *= 1.0 - by; break;
    case 7: e->end_chips += 8.0 * by; break;
    case 8: e->end_score += (1.0 - e->end_score) * by; break;
    case 9: e->mismatch *= 1.0 - by; break;
    case 10: e->tries = 1.0 + (e->tries - 1.0) * (1.0 - by); break;
    case 11: e->implausible = 0; break;
    case 12: e->carrier_excess_hz *= 1.0 - by; break;
    default: e->copies++; break;
    }
}

/* Better evidence never lowers the confidence, and every member counts somewhere. */
static void test_monotone(void **state)
{
    (void)state;
    wh_rng rng;
    wh_rng_seed(&rng, 2);
    for (unsigned member = 0; member < 14; member++) {
        unsigned rises = 0;
        for (int i = 0; i < 20000; i++) {
            const wh_evidence e = drawn(&rng);
            wh_evidence better = e;
            improve(&better, member, wh_rng_uniform(&rng));
            const double before = wh_confidence(&e), after = wh_confidence(&better);
            assert_true(before >= 0.0 && before <= 1.0);
            assert_true(after >= before * (1.0 - 1e-12));
            rises += after > before * (1.0 + 1e-6);
        }
        assert_true(rises > 100);
    }
}

/* Whatever finite numbers come, the answer is a probability. */
static void test_extremes(void **state)
{
    (void)state;
    static const double values[] = {-1e300, -1.0, -0.0, 0.0, 1e-300, 0.5, 1.0, 1e9, 1e300};
    const unsigned count = sizeof values / sizeof values[0];
    wh_rng rng;
    wh_rng_seed(&rng, 3);
    for (int i = 0; i < 200000; i++) {
        double v[12];
        for (int k = 0; k < 12; k++)
            v[k] = values[wh_rng_below(&rng, count)];
        const wh_evidence e = {.log_probability = v[0],
                               .rivals = v[1],
                               .check_bits = v[2],
                               .sync_chips = v[3],
                               .preamble_chips = v[4],
                               .sync_score = v[5],
                               .against = v[6],
                               .end_chips = v[7],
                               .end_score = v[8],
                               .mismatch = v[9],
                               .tries = v[10],
                               .implausible = i % 3 ? 0 : UINT32_MAX,
                               .carrier_excess_hz = v[11],
                               .copies = i % 5 ? (unsigned)(i % 7) : UINT32_MAX};
        const double confidence = wh_confidence(&e);
        assert_true(confidence >= 0.0 && confidence <= 1.0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_agreement_table),
        cmocka_unit_test(test_agreement_is_a_bound),
        cmocka_unit_test(test_soft_values),
        cmocka_unit_test(test_tries_against_bits),
        cmocka_unit_test(test_ends),
        cmocka_unit_test(test_monotone),
        cmocka_unit_test(test_extremes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
