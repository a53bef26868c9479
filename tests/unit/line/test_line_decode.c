#include "line_decode.h"

#include "../ideal_chips.h"
#include "../near.h"

static const wh_line_spec pulses = {
    .kind = WH_LINE_PULSE_WIDTH, .zero_count = 3, .one_count = 3, .zero_chips = {1, 0, 0}, .one_chips = {1, 1, 0}};
static const wh_line_spec uneven = {
    .kind = WH_LINE_PULSE_WIDTH, .zero_count = 2, .one_count = 4, .zero_chips = {1, 0}, .one_chips = {1, 1, 1, 0}};
static const wh_line_spec long_zero = {.kind = WH_LINE_PULSE_WIDTH,
                                       .zero_count = 7,
                                       .one_count = 3,
                                       .zero_chips = {1, 1, 0, 0, 0, 0, 0},
                                       .one_chips = {1, 0, 0}};

/* All codes in both senses. */
static size_t all_codes(wh_line_spec codes[16])
{
    size_t count = 0;
    for (unsigned kind = 0; kind < WH_LINE_PULSE_WIDTH; kind++)
        for (int inverted = 0; inverted < 2; inverted++)
            codes[count++] = (wh_line_spec){.kind = (wh_line_kind)kind, .inverted = inverted};
    codes[count++] = pulses;
    codes[count++] = uneven;
    codes[count++] = long_zero;
    return count;
}

static void round_trip(const wh_line_spec *code, const uint8_t *bits, size_t count, uint8_t before, int told,
                       bool keyed)
{
    uint8_t sent[WH_LINE_BITS_MAX * 8], level = before;
    const size_t chip_count = wh_line_encode(code, bits, count, &level, sent, sizeof sent);
    assert_true(chip_count > 0);
    wh_chips chips = {0};
    ideal_chips(&chips, sent, chip_count, 5, keyed);
    float soft[WH_LINE_BITS_MAX];
    wh_line_result result;
    assert_true(wh_line_decode(code, &chips, 5, told, count, (wh_line_tail){0}, soft, &result));
    /* Whether a differential code begins with an edge cannot be seen without the level before. */
    const bool open = code->kind == WH_LINE_DIFFERENTIAL_MANCHESTER && told < 0;
    if (open)
        assert_near((double)soft[0], 0.0, 1e-3);
    for (size_t i = open; i < count; i++)
        assert_true(bits[i] ? soft[i] > 5.0f : soft[i] < -5.0f);
    assert_int_equal(result.end, 5 + chip_count);
    assert_int_equal(result.level, level);
    assert_int_equal(result.violations, 0);
    assert_near((double)result.mismatch, 0.0, 1e-6);
    wh_chips_free(&chips);
}

static void test_round_trip(void **state)
{
    (void)state;
    wh_line_spec codes[16];
    const size_t count = all_codes(codes);
    static const size_t lengths[] = {1, 2, 3, 8, 80, WH_LINE_BITS_MAX};
    uint8_t bits[WH_LINE_BITS_MAX];
    for (size_t c = 0; c < count; c++)
        for (size_t l = 0; l < sizeof lengths / sizeof lengths[0]; l++)
            for (uint8_t before = 0; before < 2; before++)
                for (int keyed = 0; keyed < 2; keyed++) {
                    ideal_random(bits, lengths[l], 100 * c + l);
                    round_trip(&codes[c], bits, lengths[l], before, before, keyed);
                    round_trip(&codes[c], bits, lengths[l], before, -1, keyed);
                }
}

/* NXP NTM88 user manual UM11227 rev 6, section 10.16: the figure's 001101 as Manchester and as bi-phase from the low level.
 * Independent of our own encoder. */
static void test_published_chips(void **state)
{
    (void)state;
    static const uint8_t bits[6] = {0, 0, 1, 1, 0, 1};
    static const uint8_t manchester[12] = {0, 1, 0, 1, 1, 0, 1, 0, 0, 1, 1, 0};
    static const uint8_t space[12] = {1, 0, 1, 0, 1, 1, 0, 0, 1, 0, 1, 1};
    const wh_line_spec codes[2] = {{.kind = WH_LINE_MANCHESTER}, {.kind = WH_LINE_BIPHASE_SPACE}};
    for (int c = 0; c < 2; c++) {
        wh_chips chips = {0};
        ideal_chips(&chips, c ? space : manchester, 12, 0, false);
        float soft[6];
        wh_line_result result;
        assert_true(wh_line_decode(&codes[c], &chips, 0, -1, 6, (wh_line_tail){0}, soft, &result));
        for (int i = 0; i < 6; i++)
            assert_int_equal(soft[i] > 0.0f, bits[i]);
        wh_chips_free(&chips);
    }
}

/* A chip turned over in each of `wrong` Manchester bits leaves pairs that no bit has: one violation each, a share of the
 * weight like their share of the chips, and the other bits untouched. */
static void test_violations(void **state)
{
    (void)state;
    const wh_line_spec manchester = {.kind = WH_LINE_MANCHESTER};
    uint8_t bits[64], sent[128], level = 0;
    ideal_random(bits, 64, 3);
    wh_line_encode(&manchester, bits, 64, &level, sent, sizeof sent);
    for (size_t wrong = 0; wrong <= 32; wrong++) {
        wh_chips chips = {0};
        ideal_chips(&chips, sent, 128, 0, false);
        for (size_t i = 0; i < wrong; i++)
            ideal_put(&chips, 4 * i + i % 2, !sent[4 * i + i % 2]);
        ideal_turn(&chips, 5);
        float soft[64];
        wh_line_result result;
        assert_true(wh_line_decode(&manchester, &chips, 0, 0, 64, (wh_line_tail){0}, soft, &result));
        assert_int_equal(result.violations, wrong);
        assert_near((double)result.mismatch, (double)wrong / 128.0, 1e-5);
        for (size_t i = 0; i < 64; i++) {
            if (i % 2 == 0 && i / 2 < wrong)
                assert_near((double)soft[i], 0.0, 1e-3); /* one chip for, one against */
            else
                assert_int_equal(soft[i] > 0.0f, bits[i]);
        }
        wh_chips_free(&chips);
    }
}

/* Both chips of a bit count: a weak wrong chip beside a strong right one does no harm, and where the two disagree equally
 * strongly the decision is open. The bit stands among others whose phases tell nothing about its own. */
static void test_both_halves(void **state)
{
    (void)state;
    enum { BITS = 101, MIDDLE = 50 };
    const wh_line_spec manchester = {.kind = WH_LINE_MANCHESTER};
    uint8_t bits[BITS], sent[2 * BITS], level = 0;
    ideal_random(bits, BITS, 4);
    bits[MIDDLE] = 1;
    wh_line_encode(&manchester, bits, BITS, &level, sent, sizeof sent);
    wh_chips chips = {0};
    float before = -1e9f;
    for (float second = 0.0f; second <= 1.0f; second += 0.05f) {
        ideal_chips(&chips, sent, 2 * BITS, 0, false);
        chips.value[1][2 * MIDDLE + 1] = 1.0f - second; /* the second half turns from wrong to right */
        chips.value[0][2 * MIDDLE + 1] = second;
        ideal_turn(&chips, 6);
        float soft[BITS];
        wh_line_result result;
        assert_true(wh_line_decode(&manchester, &chips, 0, 0, BITS, (wh_line_tail){0}, soft, &result));
        assert_true(soft[MIDDLE] > before);
        before = soft[MIDDLE];
        assert_true(second > 0.01f ? before > 0.0f : fabsf(before) < 1e-3f);
    }
    wh_chips_free(&chips);
}

static void test_too_few_chips(void **state)
{
    (void)state;
    wh_line_spec codes[16];
    const size_t count = all_codes(codes);
    uint8_t bits[20], sent[200];
    ideal_random(bits, 20, 8);
    for (size_t c = 0; c < count; c++) {
        uint8_t level = 0;
        const size_t chip_count = wh_line_encode(&codes[c], bits, 20, &level, sent, sizeof sent);
        wh_chips chips = {0};
        ideal_chips(&chips, sent, chip_count, 0, false);
        float soft[21] = {[0] = 42.0f, [20] = 42.0f};
        wh_line_result result = {.end = 4242};
        const size_t least = 20 * wh_line_chips_min(&codes[c]);
        chips.count = least - 1;
        assert_false(wh_line_decode(&codes[c], &chips, 0, -1, 20, (wh_line_tail){0}, soft, &result));
        chips.count = chip_count;
        assert_false(wh_line_decode(&codes[c], &chips, chip_count + 1, -1, 1, (wh_line_tail){0}, soft, &result));
        assert_false(wh_line_decode(&codes[c], &chips, chip_count, -1, 1, (wh_line_tail){0}, soft, &result));
        assert_false(wh_line_decode(&codes[c], &chips, 0, -1, 0, (wh_line_tail){0}, soft, &result));
        assert_false(wh_line_decode(&codes[c], &chips, 0, -1, WH_LINE_BITS_MAX + 1, (wh_line_tail){0}, soft, &result));
        assert_near((double)soft[0], 42.0, 0.0);
        assert_int_equal(result.end, 4242);
        assert_true(wh_line_decode(&codes[c], &chips, 0, 0, 20, (wh_line_tail){0}, soft, &result));
        assert_near((double)soft[20], 42.0, 0.0);
        wh_chips_free(&chips);
    }
}

/* ln I0 is what a tone of unknown phase is worth: a whole word coherently is one Bessel function of the sum, chip by chip
 * it is the sum of several (Proakis, Digital Communications, noncoherent detection). */
static void test_likelihood(void **state)
{
    (void)state;
    static const uint8_t sent[4] = {1, 0, 0, 1};
    wh_chips chips = {0};
    ideal_chips(&chips, sent, 4, 0, false);
    for (unsigned i = 0; i < 4; i++)
        chips.cost[0][i] = chips.cost[1][i] = 0.0f;
    /* I0(20) = 43558282.5595 (power series of Abramowitz and Stegun 9.6.10). */
    const double one = log(43558282.5595);
    assert_near((double)wh_chips_likelihood(&chips, 0, sent, 4), 4.0 * one, 0.02);
    chips.coherent = true;
    /* I0(80), first terms of Hankel's expansion 9.7.1. */
    const double all = 80.0 - 0.5 * log(2.0 * M_PI * 80.0) + log1p(1.0 / 640.0 + 9.0 / (128.0 * 6400.0));
    assert_near((double)wh_chips_likelihood(&chips, 0, sent, 4), all, 0.02);
    /* Turned by a quarter at every 1 -> 0 and back at 0 -> 1, as `turn` says: as good as before. */
    chips.turn[1][0] = I;
    chips.turn[0][1] = -I;
    chips.value[0][1] = chips.value[0][2] = I;
    assert_near((double)wh_chips_likelihood(&chips, 0, sent, 4), all, 0.02);
    chips.turn[1][0] = 1.0f; /* forgotten: the halves add up across */
    assert_true(wh_chips_likelihood(&chips, 0, sent, 4) < (float)all - 10.0f);
    chips.turn[1][0] = I;
    /* What a value costs is taken off once for every chip of it. */
    for (unsigned i = 0; i < 4; i++) {
        chips.cost[0][i] = 3.0f;
        chips.cost[1][i] = 0.5f;
    }
    assert_near((double)wh_chips_likelihood(&chips, 0, sent, 4), all - 7.0, 0.02);
    wh_chips_free(&chips);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_round_trip),  cmocka_unit_test(test_published_chips), cmocka_unit_test(test_violations),
        cmocka_unit_test(test_both_halves), cmocka_unit_test(test_too_few_chips),   cmocka_unit_test(test_likelihood),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
