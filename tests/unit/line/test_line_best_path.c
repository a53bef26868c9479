/* The decoder's soft bits against trying out every sequence of bits: best path with a bit set minus best path without. And
 * against what neighbours' phases can add to that. */
#include "line_coherent.h"
#include "line_decode.h"

#include "../ideal_chips.h"
#include "../near.h"

#define BITS 8

/* ln of a path's likelihood: the code words chip by chip through the demodulator's own likelihood (equal lengths). */
static double even_path(const wh_line_spec *code, const wh_chips *chips, unsigned word, uint8_t before)
{
    double sum = 0.0;
    size_t at = 0;
    uint8_t level = before;
    for (unsigned i = 0; i < BITS; i++) {
        const uint8_t bit = word >> i & 1u;
        uint8_t pattern[16];
        const size_t count = wh_line_encode(code, &bit, 1, &level, pattern, sizeof pattern);
        sum += (double)wh_chips_likelihood(chips, at, pattern, count);
        at += count;
    }
    return sum;
}

/* Words of different lengths: what of the chips' llr is contradicted, as far as they reach behind the bits that of the tail too. NAN
 * when the chips do not reach. */
static double uneven_path(const wh_line_spec *code, const wh_chips *chips, wh_line_tail tail, unsigned word)
{
    uint8_t bits[BITS], pattern[BITS * 16 + 16], level = 0;
    for (unsigned i = 0; i < BITS; i++)
        bits[i] = word >> i & 1u;
    const size_t count = wh_line_encode(code, bits, BITS, &level, pattern, sizeof pattern);
    if (count > chips->count)
        return NAN;
    double sum = 0.0;
    for (size_t i = 0; i < tail.count; i++)
        pattern[count + i] = tail.chip[i];
    for (size_t i = 0; i < count + tail.count && i < chips->count; i++)
        if ((chips->llr[i] > 0.0f) != (pattern[i] == 1))
            sum -= fabs((double)chips->llr[i]);
    return sum;
}

static bool phase_runs_on(const wh_line_spec *code, const wh_chips *chips, int level, const float *soft)
{
    wh_line_words words;
    wh_line_words_make(code, &words);
    wh_branch branch[BITS];
    return wh_line_lend_phase(&words, chips, 0, level < 0 ? 0 : level, BITS, soft, branch) ||
           wh_line_lend_phase(&words, chips, 0, level < 0 ? 1 : level, BITS, soft, branch);
}

/* Words of different lengths: the decided bits' share of all paths' summed likelihoods, at the trust that was found. */
static void assert_joint(const double *value_of, const float *soft, const wh_line_result *result)
{
    double all = 0.0;
    unsigned decided = 0;
    for (unsigned word = 0; word < 1u << BITS; word++)
        all += isnan(value_of[word]) ? 0.0 : exp((double)result->trust * value_of[word]);
    for (unsigned i = 0; i < BITS; i++)
        decided |= (soft[i] > 0.0f ? 1u : 0u) << i;
    const double own = exp((double)result->trust * value_of[decided]);
    assert_near(exp((double)result->log_probability), own / all, 1e-4);
}

/* True when compared: where the phases happen to run on, the decoder knows more than the paths tried here. */
static bool compare(const wh_line_spec *code, const wh_chips *chips, wh_line_tail tail, int level)
{
    double best[BITS][2], value_of[1u << BITS];
    for (unsigned i = 0; i < BITS; i++)
        best[i][0] = best[i][1] = -INFINITY;
    const bool even = code->kind != WH_LINE_PULSE_WIDTH || code->zero_count == code->one_count;
    for (unsigned word = 0; word < 1u << BITS; word++) {
        for (uint8_t before = 0; before < 2; before++) {
            if (level >= 0 && before != level)
                continue;
            const double value = even ? even_path(code, chips, word, before) : uneven_path(code, chips, tail, word);
            value_of[word] = value;
            for (unsigned i = 0; i < BITS && !isnan(value); i++)
                best[i][word >> i & 1u] = fmax(best[i][word >> i & 1u], value);
        }
    }
    float soft[BITS], first[BITS];
    wh_line_result result;
    assert_true(wh_line_decode(code, chips, 0, level, BITS, tail, soft, &result));
    for (unsigned i = 0; i < BITS; i++)
        first[i] = (float)(best[i][1] - best[i][0]);
    if (even && phase_runs_on(code, chips, level, first))
        return false;
    for (unsigned i = 0; i < BITS; i++)
        assert_near((double)soft[i], best[i][1] - best[i][0], 1e-3 + 1e-5 * fabs(best[i][1] - best[i][0]));
    assert_true(result.mismatch >= 0.0f && result.mismatch <= 1.0f);
    assert_true(result.trust > 0.0f && result.trust <= 1.0f);
    assert_int_equal(result.is_joint, !even);
    if (!even)
        assert_joint(value_of, soft, &result);
    return true;
}

/* Returns how many of three levels could be compared. */
static unsigned run_code(const wh_line_spec *code, bool coherent, uint64_t seed)
{
    uint8_t bits[BITS + 2], sent[160], level = (uint8_t)(seed & 1);
    ideal_random(bits, BITS + 2, seed);
    /* Two bits more are sent: paths of long words must find chips to read. */
    const size_t count = wh_line_encode(code, bits, BITS + 2, &level, sent, sizeof sent);
    wh_chips chips = {0};
    ideal_chips(&chips, sent, count, 0, false);
    chips.coherent = coherent;
    ideal_turn(&chips, seed);
    ideal_noise(&chips, 0.3 + 0.7 * (double)(seed % 4), seed);
    unsigned compared = 0;
    static const uint8_t end[] = {1, 1, 1, 1, 1};
    for (int told = -1; told <= 1; told++) {
        compared += compare(code, &chips, (wh_line_tail){0}, told);
        compare(code, &chips, (wh_line_tail){sizeof end, end}, told);
    }
    wh_chips_free(&chips);
    return compared;
}

static void test_equal_words(void **state)
{
    (void)state;
    for (unsigned kind = 0; kind < WH_LINE_PULSE_WIDTH; kind++)
        for (int inverted = 0; inverted < 2; inverted++) {
            unsigned compared = 0;
            for (uint64_t seed = 0; seed < 200; seed++) {
                const wh_line_spec code = {.kind = (wh_line_kind)kind, .inverted = inverted};
                compared += run_code(&code, seed % 2, seed);
            }
            assert_true(compared > 5);
        }
}

static void test_unequal_words(void **state)
{
    (void)state;
    static const wh_line_spec codes[] = {
        {.kind = WH_LINE_PULSE_WIDTH, .zero_count = 3, .one_count = 3, .zero_chips = {1, 0, 0}, .one_chips = {1, 1, 0}},
        {.kind = WH_LINE_PULSE_WIDTH, .zero_count = 2, .one_count = 4, .zero_chips = {1, 0}, .one_chips = {1, 1, 1, 0}},
        {.kind = WH_LINE_PULSE_WIDTH,
         .zero_count = 5,
         .one_count = 2,
         .zero_chips = {1, 0, 0, 0, 0},
         .one_chips = {1, 0}}};
    for (size_t c = 0; c < sizeof codes / sizeof codes[0]; c++)
        for (uint64_t seed = 0; seed < 40; seed++)
            run_code(&codes[c], false, seed);
}

/* A known end tells the bits of unequal words: without it, one doubtful chip in a long word opens all bits behind it; with it the
 * doubt must find its match elsewhere. */
static void test_tail_settles_lengths(void **state)
{
    (void)state;
    const wh_line_spec code = {
        .kind = WH_LINE_PULSE_WIDTH, .zero_count = 2, .one_count = 4, .zero_chips = {1, 0}, .one_chips = {1, 1, 1, 0}};
    static const uint8_t end[] = {1, 1, 1, 1, 1}, bits[BITS] = {0, 0, 1, 0, 0, 0, 0, 0};
    uint8_t sent[BITS * 4 + sizeof end], level = 0;
    const size_t count = wh_line_encode(&code, bits, BITS, &level, sent, sizeof sent);
    memcpy(sent + count, end, sizeof end);
    wh_chips chips = {0};
    ideal_chips(&chips, sent, count + sizeof end, 0, true);
    chips.llr[5] = 1.0f; /* the middle of the long word: were it off, this would be two short ones */
    float open[BITS], settled[BITS];
    wh_line_result result;
    assert_true(wh_line_decode(&code, &chips, 0, 0, BITS, (wh_line_tail){0}, open, &result));
    assert_near((double)result.log_probability, -log1p(exp(-1.0)), 0.05);
    assert_near(fabs((double)open[2]), 1.0, 1e-3);
    assert_true(wh_line_decode(&code, &chips, 0, 0, BITS, (wh_line_tail){sizeof end, end}, settled, &result));
    assert_near((double)result.log_probability, 0.0, 1e-3);
    assert_true(settled[2] > 15.0f);
    wh_chips_free(&chips);
}

/* Mean trust in frames of Manchester bits at 4 dB a chip whose noise is taken to be `factor` times weaker than it is. */
static double mean_trust(double factor)
{
    enum { FRAME = 80, FRAMES = 100 };
    const wh_line_spec manchester = {.kind = WH_LINE_MANCHESTER};
    static const unsigned char zero[1] = {0}, one[1] = {1};
    double sum = 0.0;
    for (uint64_t seed = 0; seed < FRAMES; seed++) {
        uint8_t bits[FRAME], sent[2 * FRAME], level = 0;
        ideal_random(bits, FRAME, seed);
        wh_line_encode(&manchester, bits, FRAME, &level, sent, sizeof sent);
        wh_chips chips = {0};
        ideal_chips(&chips, sent, 2 * FRAME, 0, false);
        ideal_noise(&chips, pow(10.0, -0.4), seed);
        chips.noise *= (float)(1.0 / factor);
        wh_chips_even_costs(&chips);
        for (size_t k = 0; k < chips.count; k++)
            chips.llr[k] = wh_chips_likelihood(&chips, k, one, 1) - wh_chips_likelihood(&chips, k, zero, 1);
        float soft[FRAME];
        wh_line_result result;
        assert_true(wh_line_decode(&manchester, &chips, 0, -1, FRAME, (wh_line_tail){0}, soft, &result));
        sum += (double)result.trust / FRAMES;
        wh_chips_free(&chips);
    }
    return sum;
}

/* Likelihoods made with the noise that is there are trusted; made with a third of it they claim three times too much, and the
 * contradictions show it, less one standard deviation of grace. */
static void test_trust(void **state)
{
    (void)state;
    assert_true(mean_trust(1.0) > 0.95);
    assert_in_range((unsigned)(100.0 * mean_trust(3.0)), 30, 60);
}

/* With a phase that runs on, neighbours lend theirs: Manchester bits, 5 dB each chip, errors with and without. Without it a
 * bit is what its own two chips say. */
static void test_lent_phase(void **state)
{
    (void)state;
    enum { FRAME = 80 };
    const wh_line_spec manchester = {.kind = WH_LINE_MANCHESTER};
    static const unsigned char word[2][2] = {{0, 1}, {1, 0}};
    size_t alone = 0, together = 0;
    for (uint64_t seed = 0; seed < 300; seed++) {
        uint8_t bits[FRAME], sent[2 * FRAME], level = 0;
        ideal_random(bits, FRAME, seed);
        wh_line_encode(&manchester, bits, FRAME, &level, sent, sizeof sent);
        wh_chips chips = {0};
        ideal_chips(&chips, sent, 2 * FRAME, 0, false);
        ideal_noise(&chips, pow(10.0, -0.5), seed);
        float soft[FRAME];
        wh_line_result result;
        assert_true(wh_line_decode(&manchester, &chips, 0, -1, FRAME, (wh_line_tail){0}, soft, &result));
        for (size_t i = 0; i < FRAME; i++) {
            const float own =
                wh_chips_likelihood(&chips, 2 * i, word[1], 2) - wh_chips_likelihood(&chips, 2 * i, word[0], 2);
            alone += (own > 0.0f) != (bits[i] == 1);
            together += (soft[i] > 0.0f) != (bits[i] == 1);
        }
        wh_chips_free(&chips);
    }
    assert_true(alone > 300); /* else nothing was compared */
    assert_true((double)together < 0.8 * (double)alone);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_equal_words),          cmocka_unit_test(test_unequal_words),
        cmocka_unit_test(test_tail_settles_lengths), cmocka_unit_test(test_trust),
        cmocka_unit_test(test_lent_phase),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
