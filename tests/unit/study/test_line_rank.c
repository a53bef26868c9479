#include "line_rank.h"

#include "like_frames.h"

#include <math.h>

#define HEAD                                                                                                           \
    "101010101010101010101010"                                                                                         \
    "111000"

typedef enum code { MANCHESTER, MARK, PLAIN, WORDS, UNEVEN } code;

/* Twelve frames in a code, ranked. */
static wh_line_ranking rank_of(code made, unsigned frames, bool keyed)
{
    wh_emission_set set = {0};
    for (unsigned f = 0; f < frames; f++) {
        uint8_t bits[32];
        char text[400] = HEAD;
        like_bits(f, bits);
        switch (made) {
        case MANCHESTER: like_put(text, bits, 32, "10", "01"); break;
        case MARK: like_put_mark(text, bits, 32, 0); break;
        case PLAIN: like_put(text, bits, 32, "1", "0"); break;
        case WORDS: like_put(text, bits, 32, "110", "100"); break;
        case UNEVEN: like_put(text, bits, 32, "1110", "10"); break;
        }
        like_add(&set, text, keyed);
    }
    assert_int_equal(wh_align_emissions(&set), frames);
    wh_columns columns;
    wh_distinct_frames distinct;
    assert_true(wh_columns_make(&set, &columns));
    assert_true(wh_distinct_frames_make(&set, &columns, &distinct));
    wh_line_ranking ranking;
    assert_true(wh_line_rank(&distinct, columns.begin, columns.vary, &ranking));
    double sum = 0.0;
    for (size_t i = 0; i < ranking.count; i++)
        sum += ranking.candidate[i].probability;
    assert_true(fabs(sum - 1.0) < 1e-9);
    wh_distinct_frames_free(&distinct);
    wh_columns_free(&columns);
    wh_emission_set_free(&set);
    return ranking;
}

static void test_every_code_comes_first_where_it_was_used(void **state)
{
    (void)state;
    static const wh_line_kind kind[] = {[MANCHESTER] = WH_LINE_MANCHESTER,
                                        [MARK] = WH_LINE_BIPHASE_MARK,
                                        [PLAIN] = WH_LINE_NRZ,
                                        [WORDS] = WH_LINE_PULSE_WIDTH,
                                        [UNEVEN] = WH_LINE_PULSE_WIDTH};
    for (int made = MANCHESTER; made <= UNEVEN; made++) {
        const wh_line_ranking ranking = rank_of((code)made, 12, false);
        assert_int_equal(ranking.candidate[0].line.kind, kind[made]);
        assert_int_equal(ranking.candidate[0].violations, 0);
        assert_true(ranking.candidate[0].probability > 0.9);
    }
}

static void test_tells_the_words(void **state)
{
    (void)state;
    const wh_line_spec even = rank_of(WORDS, 12, true).candidate[0].line;
    static const uint8_t wide[3] = {1, 1, 0}, narrow[3] = {1, 0, 0};
    assert_int_equal(even.one_count, 3);
    assert_memory_equal(even.one_chips, wide, 3);
    assert_int_equal(even.zero_count, 3);
    assert_memory_equal(even.zero_chips, narrow, 3);
    const wh_line_spec uneven = rank_of(UNEVEN, 12, true).candidate[0].line;
    static const uint8_t longer[4] = {1, 1, 1, 0}, shorter[2] = {1, 0};
    assert_int_equal(uneven.one_count, 4);
    assert_memory_equal(uneven.one_chips, longer, 4);
    assert_int_equal(uneven.zero_count, 2);
    assert_memory_equal(uneven.zero_chips, shorter, 2);
}

static void test_two_frames_leave_it_open(void **state)
{
    (void)state;
    /* Without a check to keep, Manchester and its like are told apart by next to nothing. */
    const wh_line_ranking ranking = rank_of(MANCHESTER, 2, false);
    unsigned alike = 0;
    for (size_t i = 0; i < ranking.count; i++)
        alike += ranking.candidate[i].probability > 0.05;
    assert_true(alike >= 2);
    assert_true(ranking.candidate[0].probability < 0.95);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_code_comes_first_where_it_was_used),
        cmocka_unit_test(test_tells_the_words),
        cmocka_unit_test(test_two_frames_leave_it_open),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
