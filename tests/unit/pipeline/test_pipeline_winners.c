#include "winners.h"

#include "rng.h"

#include <string.h>

#include "../near.h"

static wh_descriptor fsk = {.name = "b-fsk",
                            .radio = {.modulation = WH_MOD_FSK, .chip_rate_hz = 20e3, .deviation_hz = 40e3}};
static wh_descriptor ook = {.name = "a-ook", .radio = {.modulation = WH_MOD_OOK, .chip_rate_hz = 10e3}};

static wh_candidate candidate(const wh_descriptor *d, double start_s, double length_s, double carrier_hz,
                              double confidence)
{
    return (wh_candidate){.descriptor = d,
                          .start_s = start_s,
                          .end_s = start_s + length_s,
                          .carrier_hz = carrier_hz,
                          .confidence = confidence,
                          .frame = {.count = 80}};
}

/* Side by side in time, or far apart in the band with other bits, is no clash; one tone of a pair read as on-off keying is. */
static void test_clash(void **state)
{
    (void)state;
    const wh_candidate a = candidate(&fsk, 1.0, 0.01, 0.0, 0.9);
    const wh_candidate same = candidate(&fsk, 1.0, 0.01, 500.0, 0.9), next = candidate(&fsk, 1.0101, 0.01, 0.0, 0.9);
    const wh_candidate tone = candidate(&ook, 1.002, 0.01, 40e3, 0.8), lobe = candidate(&fsk, 1.0, 0.01, 400e3, 0.9);
    wh_candidate far = lobe;
    far.frame.data[0] = 1;
    assert_true(wh_candidates_clash(&a, &same));
    assert_true(wh_candidates_clash(&a, &tone));
    assert_true(wh_candidates_clash(&tone, &a));
    assert_false(wh_candidates_clash(&a, &next));
    assert_true(wh_candidates_clash(&a, &lobe)); /* the very same bits: heard twice */
    assert_false(wh_candidates_clash(&a, &far));
    /* Another sensor of the same kind 50 kHz beside, other bits; 30 kHz beside are side lobes. */
    wh_candidate beside = candidate(&fsk, 1.0, 0.01, 50e3, 0.9), lobes = candidate(&fsk, 1.0, 0.01, 30e3, 0.9);
    beside.frame.data[0] = lobes.frame.data[0] = 1;
    assert_false(wh_candidates_clash(&a, &beside));
    assert_true(wh_candidates_clash(&a, &lobes));
    /* What showed beneath the other once that was taken out is another transmission, if both are sure. */
    wh_candidate beneath = candidate(&fsk, 1.0, 0.01, 1e3, 0.95);
    beneath.frame.data[0] = 1;
    assert_true(wh_candidates_clash(&a, &beneath));
    beneath.beneath = 1;
    assert_false(wh_candidates_clash(&a, &beneath));
    beneath.confidence = 0.8;
    assert_true(wh_candidates_clash(&a, &beneath));
    /* Pairs of another distance can share one tone with these. */
    const wh_descriptor narrow = {.name = "narrow",
                                  .radio = {.modulation = WH_MOD_FSK, .chip_rate_hz = 20e3, .deviation_hz = 15e3}};
    wh_candidate other = candidate(&narrow, 1.0, 0.01, 50e3, 0.9);
    other.frame.data[0] = 1;
    assert_true(wh_candidates_clash(&a, &other));
}

/* Three copies added up, the first of them beneath another sensor's frame: the two others carry the reading. */
static void test_merged_copies(void **state)
{
    (void)state;
    const wh_candidate strong = candidate(&fsk, 1.0, 0.01, 0.0, 0.999);
    wh_candidate merged = candidate(&fsk, 1.005, 0.11, 1e3, 0.95);
    merged.frame.data[0] = 1;
    merged.merged = 3;
    for (unsigned i = 0; i < 3; i++)
        merged.span[i] = (wh_air_span){1.005 + 0.05 * i, 1.015 + 0.05 * i};
    assert_false(wh_candidates_clash(&strong, &merged));
    assert_false(wh_candidates_clash(&merged, &strong));
    merged.merged = 2; /* of two copies the free one is not most of them */
    assert_true(wh_candidates_clash(&strong, &merged));
    merged.merged = 3;
    merged.confidence = 0.8; /* not sure: it may be made of the other after all */
    assert_true(wh_candidates_clash(&merged, &strong));
    merged.confidence = 0.95;
    merged.span[1] = (wh_air_span){1.002, 1.012};
    assert_true(wh_candidates_clash(&strong, &merged));
    wh_candidate again = strong; /* the same bits alone and merged are one reading, wherever the rest lies */
    again.merged = 3;
    again.span[0] = (wh_air_span){1.0, 1.01};
    again.span[1] = (wh_air_span){1.05, 1.06};
    again.span[2] = (wh_air_span){1.1, 1.11};
    assert_true(wh_candidates_clash(&strong, &again));
}

/* Total order: asymmetric, transitive over every triple, and 0 only for what cannot be told apart. */
static void test_order(void **state)
{
    (void)state;
    wh_candidate all[24];
    for (unsigned i = 0; i < 24; i++) {
        all[i] = candidate(i & 1 ? &fsk : &ook, i & 2 ? 1.0 : 2.0, 0.01, 0.0, i & 4 ? 0.5 : 0.9);
        all[i].frame.data[3] = (uint8_t)(i / 8);
    }
    for (unsigned i = 0; i < 24; i++)
        for (unsigned j = 0; j < 24; j++) {
            const int ij = wh_candidate_compare(&all[i], &all[j]), ji = wh_candidate_compare(&all[j], &all[i]);
            assert_true(i == j ? ij == 0 : (ij < 0) != (ji < 0));
            for (unsigned k = 0; k < 24; k++)
                if (ij < 0 && wh_candidate_compare(&all[j], &all[k]) < 0)
                    assert_true(wh_candidate_compare(&all[i], &all[k]) < 0);
        }
    /* Confidence comes first, then the name. */
    const wh_candidate sure = candidate(&fsk, 5.0, 0.01, 0.0, 0.9), unsure = candidate(&ook, 1.0, 0.01, 0.0, 0.8),
                       named = candidate(&ook, 9.0, 0.01, 0.0, 0.9);
    assert_true(wh_candidate_compare(&sure, &unsure) < 0);
    assert_true(wh_candidate_compare(&named, &sure) < 0);
}

/* The same candidates in any order give the same winners: in order of time, none clashing, every loser beaten by one. */
static void test_winners(void **state)
{
    (void)state;
    wh_rng rng;
    wh_rng_seed(&rng, 1);
    for (int round = 0; round < 200; round++) {
        wh_candidate all[12], first[12];
        size_t first_count = 0;
        for (unsigned i = 0; i < 12; i++)
            all[i] = candidate(i & 1 ? &fsk : &ook, 0.02 * wh_rng_uniform(&rng), 0.01, 4e5 * wh_rng_uniform(&rng),
                               (double)wh_rng_below(&rng, 5) / 5.0);
        for (int shuffle = 0; shuffle < 4; shuffle++) {
            for (unsigned i = 11; i > 0; i--) {
                const unsigned k = (unsigned)wh_rng_below(&rng, i + 1);
                const wh_candidate swap = all[i];
                all[i] = all[k];
                all[k] = swap;
            }
            wh_candidate_list list = {0};
            for (unsigned i = 0; i < 12; i++)
                wh_candidate_list_add(&list, &all[i]);
            assert_false(list.failed);
            wh_candidate winners[12];
            const size_t count = wh_candidate_list_winners(&list, winners, 12);
            wh_candidate_list_free(&list);
            assert_true(count >= 1);
            for (size_t i = 0; i < count; i++) {
                assert_true(i == 0 || winners[i - 1].start_s <= winners[i].start_s);
                for (size_t k = 0; k < i; k++)
                    assert_false(wh_candidates_clash(&winners[i], &winners[k]));
            }
            for (unsigned i = 0; i < 12; i++) {
                bool settled = false;
                for (size_t k = 0; k < count; k++)
                    settled =
                        settled || wh_candidate_compare(&winners[k], &all[i]) == 0 ||
                        (wh_candidates_clash(&winners[k], &all[i]) && wh_candidate_compare(&winners[k], &all[i]) < 0);
                assert_true(settled);
            }
            if (shuffle == 0) {
                memcpy(first, winners, sizeof first);
                first_count = count;
            }
            assert_int_equal(count, first_count);
            for (size_t i = 0; i < count; i++)
                assert_int_equal(wh_candidate_compare(&winners[i], &first[i]), 0);
        }
    }
}

static void test_room(void **state)
{
    (void)state;
    wh_candidate_list list = {0};
    wh_candidate winners[3];
    assert_int_equal(wh_candidate_list_winners(&list, winners, 3), 0);
    for (int i = 0; i < 10; i++) {
        const wh_candidate c = candidate(&fsk, i, 0.01, 0.0, 0.1 * i);
        wh_candidate_list_add(&list, &c);
    }
    assert_int_equal(wh_candidate_list_winners(&list, winners, 3), 3);
    for (int i = 0; i < 3; i++)
        assert_near(winners[i].start_s, 7.0 + i, 0.0); /* the three best */
    wh_candidate_list_free(&list);
    assert_int_equal(list.count, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_clash),   cmocka_unit_test(test_merged_copies), cmocka_unit_test(test_order),
        cmocka_unit_test(test_winners), cmocka_unit_test(test_room),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
