#include "match.h"

#include "bits.h"
#include "rng.h"

#include <string.h>

#include "../near.h"

#define SURE 20.0f

static wh_descriptor_set *set;

static int load(void **state)
{
    (void)state;
    set = wh_descriptor_set_create();
    return set && wh_descriptor_set_load_folder(set, WH_TEST_PROTOCOLS, NULL, NULL) == WH_OK ? 0 : -1;
}

static int unload(void **state)
{
    (void)state;
    wh_descriptor_set_destroy(&set);
    return 0;
}

static const wh_descriptor *descriptor_of(const char *name)
{
    const wh_descriptor *d = wh_descriptor_set_find(set, name);
    assert_non_null(d);
    return d;
}

/* The payload of the descriptor's first example, written by hand in its file, every bit equally sure. */
static wh_frame_try example(const wh_descriptor *d, float sure)
{
    wh_frame_try found = {.bits = d->examples[0].bits,
                          .sync_chips = 32,
                          .known_chips = 60,
                          .sync_score = 0.9f,
                          .sync_against = 1.5f,
                          .mismatch = 0.03f,
                          .mismatch_due = 0.02f};
    for (unsigned i = 0; i < found.bits; i++)
        found.soft[i] = wh_bit_get(d->examples[0].frame, i) ? sure : -sure;
    return found;
}

static void assert_frame(const wh_candidate *candidate)
{
    const wh_example *e = &candidate->descriptor->examples[0];
    assert_int_equal(candidate->frame.count, e->bits);
    assert_memory_equal(candidate->frame.data, e->frame, ((size_t)e->bits + 7) / 8);
}

/* A bit decided wrongly, with little conviction. */
static void doubt(wh_frame_try *found, unsigned bit, float conviction)
{
    found->soft[bit] = found->soft[bit] > 0.0f ? -conviction : conviction;
}

static void test_every_shipped_example(void **state)
{
    (void)state;
    for (size_t i = 0; i < wh_descriptor_set_count(set); i++) {
        const wh_descriptor *d = wh_descriptor_set_at(set, i);
        const wh_frame_try found = example(d, SURE);
        wh_candidate candidate;
        char detail[160] = "";
        assert_int_equal(wh_match(d, &found, &candidate, detail), WH_REASON_DECODED);
        assert_ptr_equal(candidate.descriptor, d);
        assert_frame(&candidate);
        assert_int_equal(candidate.repaired_bits, 0);
        assert_int_equal(candidate.patterns, 1);
        assert_int_equal(candidate.evidence.copies, 1);
        assert_near(candidate.evidence.tries, 1.0, 0.0);
    }
}

/* demo-fsk-manchester: CRC of 8 bits over 77 others and a constant of 3, which is known. Each bit is right with
 * 1 / (1 + exp -|llr|). */
static void test_evidence(void **state)
{
    (void)state;
    const wh_descriptor *d = descriptor_of("demo-fsk-manchester");
    wh_candidate candidate;
    char detail[160] = "";
    for (float sure = 0.5f; sure < 30.0f; sure *= 1.7f) {
        const wh_frame_try found = example(d, sure);
        assert_int_equal(wh_match(d, &found, &candidate, detail), WH_REASON_DECODED);
        assert_near(candidate.evidence.log_probability, 77.0 * log(1.0 / (1.0 + exp(-(double)sure))), 1e-9);
    }
    assert_near(candidate.evidence.check_bits, 11.0, 0.0);
    assert_true(candidate.evidence.rivals >= 0.0 && candidate.evidence.rivals < 1e-9);
    assert_near(candidate.evidence.sync_chips, 32.0, 0.0);
    assert_near(candidate.evidence.preamble_chips, 28.0, 0.0);
    assert_near(candidate.evidence.sync_score, 0.9, 1e-6);
    assert_near(candidate.evidence.against, 1.5, 1e-6);
    assert_near(candidate.evidence.mismatch, 0.01, 1e-6);
    assert_int_equal(candidate.evidence.implausible, 0);
}

/* A wrong bit is found again when it is among the least sure, wherever it stands, and its price is paid. */
static void test_repair_of_one(void **state)
{
    (void)state;
    const wh_descriptor *d = descriptor_of("demo-fsk-manchester");
    for (unsigned bit = 0; bit < 80; bit++) {
        wh_frame_try found = example(d, SURE);
        doubt(&found, bit, 1.0f);
        wh_candidate candidate;
        char detail[160] = "";
        assert_int_equal(wh_match(d, &found, &candidate, detail), WH_REASON_DECODED);
        assert_frame(&candidate);
        assert_int_equal(candidate.repaired_bits, 1);
        assert_true(candidate.patterns > 1);
        /* ln P(the flipped bit is right) = ln 1 / (1 + e). A constant is known; its price is paid as evidence of the kind. */
        const bool constant = bit >= 54 && bit < 57;
        assert_near(candidate.evidence.log_probability, constant ? 0.0 : -log1p(exp(1.0)), 1e-6);
        assert_near(candidate.evidence.against, constant ? 2.5 : 1.5, 1e-6);
    }
}

static void test_repair_of_several(void **state)
{
    (void)state;
    const wh_descriptor *d = descriptor_of("demo-fsk-biphase-mark"); /* 16-bit CRC: no wrong repair by chance */
    wh_rng rng;
    wh_rng_seed(&rng, 4);
    for (int round = 0; round < 300; round++) {
        wh_frame_try found = example(d, SURE);
        const unsigned wrong = 1 + (unsigned)wh_rng_below(&rng, 3);
        unsigned place[4];
        for (unsigned i = 0; i < 4; i++) {
            bool fresh = false;
            while (!fresh) {
                place[i] = (unsigned)wh_rng_below(&rng, found.bits);
                fresh = true;
                for (unsigned k = 0; k < i; k++)
                    fresh = fresh && place[k] != place[i];
            }
            found.soft[place[i]] =
                copysignf(0.5f + 0.3f * (float)i, found.soft[place[i]]); /* doubtful, some rightly decided */
            if (i < wrong)
                found.soft[place[i]] = -found.soft[place[i]];
        }
        wh_candidate candidate;
        char detail[160] = "";
        assert_int_equal(wh_match(d, &found, &candidate, detail), WH_REASON_DECODED);
        assert_frame(&candidate);
        assert_int_equal(candidate.repaired_bits, wrong);
    }
}

/* Sure bits are never touched, whatever the others allow: what is decoded differs from the hard bits in doubtful ones alone. */
static void test_sure_bits_stay(void **state)
{
    (void)state;
    const wh_descriptor *d = descriptor_of("demo-fsk-manchester");
    wh_rng rng;
    wh_rng_seed(&rng, 6);
    unsigned decoded = 0, refused = 0;
    for (int round = 0; round < 4000; round++) {
        wh_frame_try found = example(d, SURE);
        for (unsigned i = 0; i < 80; i++)
            if (wh_rng_below(&rng, 20) == 0)
                found.soft[i] = copysignf(3.0f * (float)wh_rng_uniform(&rng), found.soft[i]);
        const unsigned sure = (unsigned)wh_rng_below(&rng, 80);
        doubt(&found, sure, SURE);
        wh_candidate candidate;
        char detail[160] = "";
        if (wh_match(d, &found, &candidate, detail) == WH_REASON_DECODED) {
            decoded++;
            unsigned flips = 0;
            for (unsigned i = 0; i < 80; i++) {
                const bool flipped = (found.soft[i] > 0.0f) != (wh_bit_get(candidate.frame.data, i) == 1);
                assert_false(flipped && fabsf(found.soft[i]) >= SURE);
                flips += flipped;
            }
            assert_int_equal(flips, candidate.repaired_bits);
            for (unsigned i = 0; i < d->check_count; i++)
                assert_true(wh_check_holds(d, i, &candidate.frame));
            assert_true(wh_constants_mismatch(d, &candidate.frame) < 0);
        } else {
            refused++;
        }
        assert_true(candidate.patterns >= 1);
    }
    assert_true(refused > 3000); /* 15 patterns in 2^8 pass by chance */
    assert_true(decoded > 0);
}

/* What a flip of one of the 80 bits does to the CRC: x^(79 - bit) modulo x^8 + x^2 + x + 1. */
static unsigned syndrome(unsigned bit)
{
    unsigned value = 1;
    for (unsigned i = bit; i < 79; i++)
        value = value & 0x80u ? (value << 1 ^ 0x107u) : value << 1;
    return value;
}

/* Four flips at once that the CRC cannot see. With one of them wrong, turning it back and turning the other three both make
 * the check hold: what contradicts the receiver less is taken. */
static void test_cheapest_repair(void **state)
{
    (void)state;
    const wh_descriptor *d = descriptor_of("demo-fsk-manchester");
    unsigned place[4] = {5, 11, 0, 0};
    for (unsigned k = 12; k < 48 && place[3] == 0; k++)
        for (unsigned l = k + 1; l < 48; l++)
            if ((syndrome(5) ^ syndrome(11) ^ syndrome(k) ^ syndrome(l)) == 0) {
                place[2] = k;
                place[3] = l;
            }
    assert_true(place[3] > 0);
    for (int turned = 0; turned < 2; turned++) {
        wh_frame_try found = example(d, SURE);
        doubt(&found, place[0], turned ? 2.0f : 1.0f);
        for (unsigned i = 1; i < 4; i++)
            found.soft[place[i]] = copysignf(0.5f, found.soft[place[i]]); /* 1.5 for all three */
        wh_candidate candidate;
        char detail[160] = "";
        assert_int_equal(wh_match(d, &found, &candidate, detail), WH_REASON_DECODED);
        assert_int_equal(candidate.repaired_bits, turned ? 3 : 1);
        for (unsigned i = 0; i < 4; i++)
            assert_int_equal(wh_bit_get(candidate.frame.data, place[i]) != wh_bit_get(d->examples[0].frame, place[i]),
                             turned);
    }
}

/* A check of less than eight bits, or one whose columns cancel, is no licence to flip: what fails is refused. */
static void test_no_repair_by_weak_checks(void **state)
{
    (void)state;
    static const char *const weak[] = {"demo-fsk-differential", "demo-ook-manchester", "demo-ook-nrz",
                                       "demo-ook-pulse-duration", "demo-ook-pulse-width"};
    for (size_t w = 0; w < sizeof weak / sizeof weak[0]; w++) {
        const wh_descriptor *d = descriptor_of(weak[w]);
        if (wh_guard_bits(d) >= 8)
            continue;
        for (unsigned bit = 0; bit < d->examples[0].bits; bit++) {
            wh_frame_try found = example(d, SURE);
            doubt(&found, bit, 0.1f);
            wh_candidate candidate;
            char detail[160] = "";
            const wh_reason reason = wh_match(d, &found, &candidate, detail);
            assert_int_equal(candidate.patterns, 1);
            assert_int_equal(candidate.repaired_bits, 0);
            if (d->check_count)
                assert_true(reason == WH_REASON_BAD_CHECK || reason == WH_REASON_WRONG_CONSTANT);
        }
    }
    assert_true(wh_guard_bits(descriptor_of("demo-fsk-differential")) < 8);
    assert_int_equal(wh_guard_bits(descriptor_of("demo-ook-nrz")), 0);
}

/* Of words that differ in trailing silence only, like 1000 and 10, the last one of a frame cannot be told by listening: either is as likely,
 * and any check may say which. */
static void test_undetermined_bit(void **state)
{
    (void)state;
    const wh_descriptor *d = descriptor_of("demo-ook-pulse-width"); /* a sum and a parity */
    for (unsigned bit = 0; bit < d->examples[0].bits; bit++) {
        wh_frame_try found = example(d, SURE);
        doubt(&found, bit, 0.0001f);
        wh_candidate candidate;
        char detail[160] = "";
        assert_int_equal(wh_match(d, &found, &candidate, detail), WH_REASON_DECODED);
        assert_frame(&candidate);
        assert_int_equal(candidate.repaired_bits, 1);
        assert_int_equal(candidate.patterns, 2);
    }
}

/* Another family with a CRC that holds is another kind of sensor; a wrong CRC is damage. The figures name the field, the
 * value and the check. */
static void test_reasons(void **state)
{
    (void)state;
    const wh_descriptor *d = descriptor_of("demo-fsk-manchester");
    wh_frame_bits frame = {.count = 80};
    memcpy(frame.data, d->examples[0].frame, 10);
    wh_bits_write(frame.data, 54, 3, 2); /* family, must be 5 */
    wh_checks_write(d, &frame);
    wh_frame_try found = example(d, SURE);
    for (unsigned i = 0; i < 80; i++)
        found.soft[i] = wh_bit_get(frame.data, i) ? SURE : -SURE;
    wh_candidate candidate;
    char detail[160] = "";
    assert_int_equal(wh_match(d, &found, &candidate, detail), WH_REASON_WRONG_CONSTANT);
    assert_non_null(strstr(detail, "'family'"));
    assert_non_null(strstr(detail, "0x5"));
    found = example(d, SURE);
    doubt(&found, 79, SURE);
    assert_int_equal(wh_match(d, &found, &candidate, detail), WH_REASON_BAD_CHECK);
    assert_non_null(strstr(detail, "'frame check'"));
    assert_int_equal(candidate.patterns, 1); /* nothing in doubt, nothing tried */
}

/* Temperature raw 0xC8 is 160 degC, beyond the plausible 150. It counts against the frame, but the frame is one. */
static void test_implausible(void **state)
{
    (void)state;
    const wh_descriptor *d = descriptor_of("demo-fsk-manchester");
    wh_frame_bits frame = {.count = 80};
    memcpy(frame.data, d->examples[0].frame, 10);
    wh_bits_write(frame.data, 40, 8, 0xC8);
    wh_checks_write(d, &frame);
    wh_frame_try found = example(d, SURE);
    for (unsigned i = 0; i < 80; i++)
        found.soft[i] = wh_bit_get(frame.data, i) ? SURE : -SURE;
    wh_candidate candidate;
    char detail[160] = "";
    assert_int_equal(wh_match(d, &found, &candidate, detail), WH_REASON_DECODED);
    assert_int_equal(candidate.evidence.implausible, 1);
}

/* Soft values of any size: no overflow, no number that is none. */
static void test_extreme_soft_values(void **state)
{
    (void)state;
    const wh_descriptor *d = descriptor_of("demo-fsk-manchester");
    static const float sizes[] = {0.0f, 1e-38f, 1e-3f, 700.0f, 1e6f, 1e30f, INFINITY};
    for (size_t s = 0; s < sizeof sizes / sizeof sizes[0]; s++) {
        wh_frame_try found = example(d, sizes[s]);
        wh_candidate candidate;
        char detail[160] = "";
        if (wh_match(d, &found, &candidate, detail) == WH_REASON_DECODED) {
            assert_true(candidate.evidence.log_probability <= 0.0);
            const double confidence = wh_confidence(&candidate.evidence);
            assert_true(confidence >= 0.0 && confidence <= 1.0);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_shipped_example),
        cmocka_unit_test(test_evidence),
        cmocka_unit_test(test_repair_of_one),
        cmocka_unit_test(test_repair_of_several),
        cmocka_unit_test(test_sure_bits_stay),
        cmocka_unit_test(test_cheapest_repair),
        cmocka_unit_test(test_no_repair_by_weak_checks),
        cmocka_unit_test(test_undetermined_bit),
        cmocka_unit_test(test_reasons),
        cmocka_unit_test(test_implausible),
        cmocka_unit_test(test_extreme_soft_values),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
