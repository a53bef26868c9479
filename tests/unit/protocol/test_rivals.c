/* What soft values and checks together say about a frame, against drawing: bits are sent, soft values are drawn as a Gaussian channel
 * gives them, and of the frames that pass as many must be right as claimed. */
#include "rivals.h"

#include "bits.h"
#include "match.h"
#include "rng.h"

#include <string.h>

#include "../near.h"

#define FRAMES 6000

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

/* Antipodal signals in Gaussian noise: ln P(1)/P(0) has mean +-m and variance 2 m (Hagenauer, Offer and Papke 1996). */
static void draw_soft(wh_rng *rng, const wh_frame_bits *sent, double mean, wh_frame_try *found)
{
    *found = (wh_frame_try){.bits = sent->count, .sync_chips = 32, .known_chips = 60, .sync_score = 1.0f};
    for (unsigned i = 0; i < sent->count; i += 2) {
        double pair[2];
        wh_rng_gauss_pair(rng, pair);
        for (unsigned k = 0; k < 2 && i + k < sent->count; k++) {
            const double m = wh_bit_get(sent->data, i + k) ? mean : -mean;
            found->soft[i + k] = (float)(m + sqrt(2.0 * mean) * pair[k]);
        }
    }
}

/* Frame bits with random content, constants and checks as they must be. */
static void draw_frame(wh_rng *rng, const wh_descriptor *d, wh_frame_bits *frame)
{
    wh_frame_blank(d, frame);
    const wh_frame_bits blank = *frame;
    for (unsigned i = 0; i < frame->count; i++)
        wh_bit_put(frame->data, i, (unsigned)(wh_rng_next(rng) >> 63));
    for (unsigned i = 0; i < d->field_count; i++)
        if (d->fields[i].role == WH_ROLE_CONSTANT)
            for (unsigned p = 0; p < d->fields[i].at.count; p++)
                for (unsigned k = 0; k < d->fields[i].at.piece[p].length; k++)
                    wh_bit_put(frame->data, d->fields[i].at.piece[p].at + k,
                               wh_bit_get(blank.data, d->fields[i].at.piece[p].at + k));
    wh_checks_write(d, frame);
}

static bool alike(const wh_frame_bits *a, const wh_frame_bits *b, const uint8_t *marks)
{
    for (unsigned i = 0; i < a->count; i++)
        if (wh_bit_get(marks, i) && wh_bit_get(a->data, i) != wh_bit_get(b->data, i))
            return false;
    return true;
}

static void claims_come_true(const char *name, double mean, unsigned frames, double slack)
{
    const wh_descriptor *d = descriptor_of(name);
    uint8_t marks[WH_FRAME_BITS_MAX / 8];
    wh_bits_that_matter(d, marks);
    wh_rng rng;
    wh_rng_seed(&rng, 5);
    double claimed = 0.0, variance = 0.0, passed = 0.0, right = 0.0, sorted[2][3] = {{0.0}};
    for (unsigned i = 0; i < frames; i++) {
        wh_frame_bits sent;
        wh_frame_try found;
        wh_candidate candidate;
        char detail[160] = "";
        draw_frame(&rng, d, &sent);
        draw_soft(&rng, &sent, mean, &found);
        if (wh_match(d, &found, &candidate, detail) != WH_REASON_DECODED)
            continue;
        const double p = exp(candidate.evidence.log_probability), claim = p / (p + candidate.evidence.rivals);
        const bool is_right = alike(&candidate.frame, &sent, marks);
        claimed += claim;
        variance += claim * (1.0 - claim);
        passed += 1.0;
        right += is_right;
        sorted[claim >= 0.5][0] += claim;
        sorted[claim >= 0.5][1] += is_right;
        sorted[claim >= 0.5][2] += claim * (1.0 - claim);
    }
    print_message("%s, mean %.1f: %.0f of %u pass, %.1f claimed right, %.0f are\n", name, mean, passed, frames, claimed,
                  right);
    assert_true(passed >= 20.0);
    assert_true(fabs(claimed - right) <= 4.0 * sqrt(variance) + slack * passed);
    for (int s = 0; s < 2; s++)
        assert_true(fabs(sorted[s][0] - sorted[s][1]) <= 4.0 * sqrt(sorted[s][2]) + slack * passed + 1.0);
}

/* A CRC of 8 and of 16 bits, a sum and XORs of words, and no check at all; from hopeless to good. */
static void test_claims_come_true(void **state)
{
    (void)state;
    for (double mean = 4.0; mean <= 9.0; mean += 2.5) {
        claims_come_true("demo-fsk-manchester", mean, FRAMES, 0.01);
        claims_come_true("demo-fsk-biphase-mark", mean, FRAMES, 0.01);
    }
    for (double mean = 6.0; mean <= 12.0; mean += 3.0) {
        claims_come_true("demo-fsk-differential", mean, FRAMES, 0.01);
        claims_come_true("demo-ook-manchester", mean, FRAMES, 0.01);
        claims_come_true("demo-ook-nrz", mean, FRAMES, 0.0);
        claims_come_true("demo-fsk-partial", mean, FRAMES, 0.0);
    }
}

/* All bits but one are certain: either the frame is right or the one with that bit turned was sent, which a CRC does not pass. */
static void test_one_doubtful_bit(void **state)
{
    (void)state;
    const wh_descriptor *d = descriptor_of("demo-fsk-manchester");
    wh_frame_bits frame = {.count = d->examples[0].bits};
    memcpy(frame.data, d->examples[0].frame, sizeof frame.data);
    wh_frame_try found = {.bits = frame.count};
    for (unsigned i = 0; i < frame.count; i++)
        found.soft[i] = wh_bit_get(frame.data, i) ? 100.0f : -100.0f;
    found.soft[7] *= 0.01f;
    const wh_rivalry r = wh_rivals(d, &found, &frame);
    assert_near(r.log_probability, -log1p(exp(-1.0)), 1e-6);
    assert_near(r.rivals, 0.0, 1e-12);
}

/* Two doubtful bits in the same column of an XOR: turned together they pass as well, with the product of their odds. */
static void test_a_column_that_cancels(void **state)
{
    (void)state;
    const wh_descriptor *d = descriptor_of("demo-ook-pulse-duration"); /* XOR of the bytes 0..6 */
    wh_frame_bits frame = {.count = d->examples[0].bits};
    memcpy(frame.data, d->examples[0].frame, sizeof frame.data);
    wh_frame_try found = {.bits = frame.count};
    for (unsigned i = 0; i < frame.count; i++)
        found.soft[i] = wh_bit_get(frame.data, i) ? 100.0f : -100.0f;
    found.soft[3] *= 0.02f;  /* 2 */
    found.soft[19] *= 0.03f; /* 3, two bytes on */
    const double both = 1.0 / (1.0 + exp(2.0)) / (1.0 + exp(3.0));
    assert_near(wh_rivals(d, &found, &frame).rivals, both, 1e-9);
    found.soft[19] = found.soft[19] > 0.0f ? 100.0f : -100.0f;
    found.soft[20] *= 0.03f; /* the next column: neither pair nor single passes */
    assert_near(wh_rivals(d, &found, &frame).rivals, 0.0, 1e-9);
}

/* Bits that hang together come with their own probability, whatever the single ones look like. */
static void test_joint_bits(void **state)
{
    (void)state;
    const wh_descriptor *d = descriptor_of("demo-ook-pulse-duration");
    wh_frame_bits frame = {.count = d->examples[0].bits};
    memcpy(frame.data, d->examples[0].frame, sizeof frame.data);
    wh_frame_try found = {.bits = frame.count, .is_joint = true, .log_probability = (float)log(0.25)};
    const wh_rivalry r = wh_rivals(d, &found, &frame);
    assert_near(exp(r.log_probability), 0.25, 1e-6);
    assert_near(r.rivals, 0.75 / 256.0, 1e-6); /* the XOR has 8 bits */
}

/* Constants are known, bits outside fields and checks tell nothing. */
static void test_bits_that_matter(void **state)
{
    (void)state;
    uint8_t marks[WH_FRAME_BITS_MAX / 8];
    wh_bits_that_matter(descriptor_of("demo-fsk-partial"), marks); /* constant 0..7, steady 8..31, nothing behind */
    for (unsigned i = 0; i < 72; i++)
        assert_int_equal(wh_bit_get(marks, i), i >= 8 && i < 32);
    wh_bits_that_matter(descriptor_of("demo-fsk-manchester"), marks); /* CRC over 72 of 80 bits, constant 54..56 */
    for (unsigned i = 0; i < 96; i++)
        assert_int_equal(wh_bit_get(marks, i), i < 80 && !(i >= 54 && i < 57));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_claims_come_true),      cmocka_unit_test(test_one_doubtful_bit),
        cmocka_unit_test(test_a_column_that_cancels), cmocka_unit_test(test_joint_bits),
        cmocka_unit_test(test_bits_that_matter),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
