/* Copies that fail alone, added up. The soft bits are those of a binary channel with Gaussian noise, computed here: sent +-1 plus noise
 * of deviation s has ln P(1)/P(0) = 2 y / s^2. */
#include "soft_merge.h"

#include "rng.h"
#include "wheelhark/descriptor.h"

#include "../near.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define BITS 80

typedef struct bench {
    wh_descriptor_set *set;
    wh_catalog *catalog;
    wh_soft_merge *merge;
    wh_rng rng;
} bench;

static int set_up(void **state)
{
    bench *b = calloc(1, sizeof *b);
    assert_non_null(b);
    b->set = wh_descriptor_set_create();
    assert_int_equal(wh_descriptor_set_load_file(b->set, WH_TEST_PROTOCOLS "/demo-fsk-manchester.yaml", NULL, NULL),
                     WH_OK);
    b->catalog = wh_catalog_create(b->set);
    b->merge = wh_soft_merge_create();
    assert_non_null(b->catalog);
    assert_non_null(b->merge);
    wh_rng_seed(&b->rng, 20260302);
    *state = b;
    return 0;
}

static int tear_down(void **state)
{
    bench *b = *state;
    wh_soft_merge_destroy(&b->merge);
    assert_null(b->merge);
    wh_catalog_destroy(&b->catalog);
    wh_descriptor_set_destroy(&b->set);
    free(b);
    return 0;
}

/* Two frames of the shipped descriptor's own examples. */
static const uint8_t frame_a[BITS / 8] = {0x0A, 0x1B, 0x2C, 0x3D, 0xB5, 0x3A, 0x82, 0x85, 0xFA, 0x2B};
static const uint8_t frame_b[BITS / 8] = {0xFF, 0xC0, 0x00, 0x42, 0x4A, 0x1C, 0x0E, 0xFF, 0x64, 0x12};

static wh_soft_frame copy_of(bench *b, const uint8_t *frame, double start_s, double deviation)
{
    wh_soft_frame soft = {.framing = &b->catalog->radios[0].framings[0], .tries = 1.0};
    soft.found.bits = BITS;
    soft.found.sync_score = 0.8f;
    soft.found.sync_chips = 32;
    soft.found.known_chips = 56;
    soft.start_s = start_s;
    soft.end_s = start_s + 0.011;
    soft.carrier_hz = 433.95e6;
    soft.carrier_slack_hz = 10e3;
    soft.snr_db = 4.0;
    for (unsigned i = 0; i < BITS; i += 2) {
        double noise[2];
        wh_rng_gauss_pair(&b->rng, noise);
        for (unsigned k = 0; k < 2; k++) {
            const double sent = frame[(i + k) / 8] >> (7 - (i + k) % 8) & 1 ? 1.0 : -1.0;
            soft.found.soft[i + k] = (float)(2.0 * (sent + deviation * noise[k]) / (deviation * deviation));
        }
    }
    return soft;
}

/* Deviation 0.75: 9 % of the bits wrong, seven in a frame; alone hopeless. Six copies: deviation 0.31, 1e-3. */
static void test_six_make_one(void **state)
{
    bench *b = *state;
    wh_candidate candidate;
    bool made = false;
    unsigned needed = 0;
    for (unsigned i = 0; i < 8 && !made; i++) {
        const wh_soft_frame copy = copy_of(b, frame_a, 1.0 + 0.08 * i, 0.75);
        wh_candidate alone;
        char detail[160];
        assert_int_not_equal(wh_match(copy.framing->descriptors[0], &copy.found, &alone, detail), WH_REASON_DECODED);
        made = wh_soft_merge_take(b->merge, &copy, &candidate);
        needed = i + 1;
    }
    assert_true(made);
    assert_true(needed >= 2 && needed <= 8);
    assert_memory_equal(candidate.frame.data, frame_a, sizeof frame_a);
    assert_int_equal(candidate.merged, needed);
    for (unsigned i = 0; i < needed; i++)
        assert_near(candidate.span[i].start_s, 1.0 + 0.08 * i, 1e-12);
    assert_near(candidate.start_s, 1.0, 1e-12);
    assert_near(candidate.end_s, 1.0 + 0.08 * (needed - 1) + 0.011, 1e-12);
    assert_true(wh_confidence(&candidate.evidence) > 0.5);
    /* The next copy brings it again, one copy stronger. */
    const wh_soft_frame next = copy_of(b, frame_a, 1.0 + 0.08 * needed, 0.75);
    assert_true(wh_soft_merge_take(b->merge, &next, &candidate));
    assert_int_equal(candidate.merged, needed + 1);
}

/* Two sensors taking turns are kept apart by what they say. */
static void test_two_sensors(void **state)
{
    bench *b = *state;
    unsigned made_a = 0, made_b = 0;
    for (unsigned i = 0; i < 8; i++) {
        wh_candidate candidate;
        const wh_soft_frame one = copy_of(b, frame_a, 1.0 + 0.1 * i, 0.7),
                            other = copy_of(b, frame_b, 1.05 + 0.1 * i, 0.7);
        if (wh_soft_merge_take(b->merge, &one, &candidate)) {
            assert_memory_equal(candidate.frame.data, frame_a, sizeof frame_a);
            made_a++;
        }
        if (wh_soft_merge_take(b->merge, &other, &candidate)) {
            assert_memory_equal(candidate.frame.data, frame_b, sizeof frame_b);
            made_b++;
        }
    }
    assert_true(made_a > 0 && made_b > 0);
}

/* Copies of one activation follow each other within the descriptor's pause, on one carrier, and do not overlap. Clean copies show
 * that they are not merged otherwise: two that belong together match at once. */
static void test_what_does_not_belong(void **state)
{
    bench *b = *state;
    wh_candidate candidate;
    wh_soft_frame first = copy_of(b, frame_a, 1.0, 0.3), second = copy_of(b, frame_a, 1.1, 0.3);
    assert_false(wh_soft_merge_take(b->merge, &first, &candidate));
    assert_true(wh_soft_merge_take(b->merge, &second, &candidate));
    assert_int_equal(candidate.merged, 2);
    wh_soft_frame late = copy_of(b, frame_a, 1.111 + 0.120 * 1.25 + 0.02, 0.3);
    assert_false(wh_soft_merge_take(b->merge, &late, &candidate));
    wh_soft_frame elsewhere = copy_of(b, frame_a, late.end_s + 0.05, 0.3);
    elsewhere.carrier_hz += 11e3;
    assert_false(wh_soft_merge_take(b->merge, &elsewhere, &candidate));
    wh_soft_frame overlapping = copy_of(b, frame_a, elsewhere.end_s - 0.001, 0.3);
    overlapping.carrier_hz = elsewhere.carrier_hz;
    assert_false(wh_soft_merge_take(b->merge, &overlapping, &candidate));
}

/* Whatever starts after copies that still wait for more must wait with them: its order must not depend on when it is asked for. */
static void test_awaited(void **state)
{
    bench *b = *state;
    wh_candidate candidate;
    assert_true(isinf(wh_soft_merge_awaited_s(b->merge, 0.0)));
    const wh_soft_frame first = copy_of(b, frame_a, 1.0, 0.75), second = copy_of(b, frame_a, 1.1, 0.75);
    wh_soft_merge_take(b->merge, &first, &candidate);
    wh_soft_merge_take(b->merge, &second, &candidate);
    const double window = 0.120 * 1.25 + 0.01; /* the descriptor's longest pause and slack */
    assert_near(wh_soft_merge_awaited_s(b->merge, 1.111 + window - 1e-3), 1.0, 1e-12);
    assert_true(isinf(wh_soft_merge_awaited_s(b->merge, 1.111 + window + 1e-3)));
}

/* Noise behind a sync does not add up to a reading at any confidence worth the name. */
static void test_noise(void **state)
{
    bench *b = *state;
    double surest = 0.0;
    for (unsigned i = 0; i < 2000; i++) {
        wh_candidate candidate;
        wh_soft_frame noise = copy_of(b, frame_a, 1.0 + 0.06 * i, 0.75);
        for (unsigned k = 0; k < BITS; k++)
            noise.found.soft[k] = (float)(3.0 * (wh_rng_uniform(&b->rng) - 0.5));
        noise.found.sync_score = 0.55f;
        if (wh_soft_merge_take(b->merge, &noise, &candidate))
            surest = fmax(surest, wh_confidence(&candidate.evidence));
    }
    assert_true(surest < 0.5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_six_make_one, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_two_sensors, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_what_does_not_belong, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_awaited, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_noise, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
