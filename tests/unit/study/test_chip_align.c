#include "like_frames.h"

#include <stdio.h>

#define HEAD                                                                                                           \
    "1010101010101010"                                                                                                 \
    "1110001001101"

static void make(wh_emission_set *set, unsigned frames)
{
    for (unsigned f = 0; f < frames; f++) {
        uint8_t bits[32];
        char text[256] = HEAD;
        like_bits(f, bits);
        like_put(text, bits, 32, "10", "01");
        /* Some begin late, some with a chip of the transmitter's waking in front. */
        const char woken[] = "1";
        char sent[260] = "";
        if (f % 4 == 3)
            strcat(sent, woken);
        strcat(sent, text + (f % 4 == 1 ? 1 : f % 4 == 2 ? 6 : 0));
        like_add(set, sent, false);
    }
}

static void test_lays_beginnings_over_each_other(void **state)
{
    (void)state;
    wh_emission_set set = {0};
    make(&set, 12);
    assert_int_equal(wh_align_emissions(&set), 12);
    const long base = wh_emission_first_column(&set.items[0]);
    static const long late[4] = {0, 1, 6, -1};
    for (unsigned f = 0; f < 12; f++)
        assert_int_equal(wh_emission_first_column(&set.items[f]) - base, late[f % 4]);
    wh_columns columns;
    assert_true(wh_columns_make(&set, &columns));
    /* A6, 5B, 90: the first bit already differs. */
    assert_int_equal(columns.vary - base, (long)strlen(HEAD));
    for (size_t i = 8; i < strlen(HEAD); i++)
        assert_int_equal(wh_columns_common(&columns, base + (long)i), HEAD[i] == '1' ? 1 : -1);
    assert_int_equal(wh_columns_common(&columns, columns.vary), 0);
    wh_columns_free(&columns);
    wh_emission_set_free(&set);
}

static void test_leaves_strays_for_another_kind(void **state)
{
    (void)state;
    wh_emission_set set = {0};
    make(&set, 8);
    const char *other = "1100110011001100110011001111100000101101110100101101011001101001011010010110";
    like_add(&set, other, false);
    like_add(&set, other, false);
    assert_int_equal(wh_align_emissions(&set), 8);
    assert_false(set.items[8].aligned);
    assert_false(set.items[9].aligned);
    wh_emission_set_free(&set);
}

static void test_random_chips_are_not_alike(void **state)
{
    (void)state;
    wh_emission_set set = {0};
    wh_rng rng;
    wh_rng_seed(&rng, 5);
    for (unsigned f = 0; f < 8; f++) {
        char text[200] = "";
        for (unsigned i = 0; i < 120; i++)
            strcat(text, wh_rng_below(&rng, 2) ? "1" : "0");
        like_add(&set, text, false);
    }
    assert_int_equal(wh_align_emissions(&set), 0);
    wh_emission_set none = {0};
    assert_int_equal(wh_align_emissions(&none), 0);
    wh_emission_set_free(&set);
}

static void test_cuts_what_repeats_itself(void **state)
{
    (void)state;
    wh_emission_set set = {0};
    uint8_t bits[32];
    char text[400] = HEAD;
    like_bits(1, bits);
    like_put(text, bits, 32, "10", "01");
    const size_t length = strlen(text);
    char thrice[1200];
    snprintf(thrice, sizeof thrice, "%s%s%s", text, text, text);
    assert_int_equal(wh_repeat_of(like_add(&set, text, false)), 0);
    assert_int_equal(wh_repeat_of(like_add(&set, thrice, false)), length);
    wh_emission_set_cut(&set, 1, length);
    assert_int_equal(set.count, 4);
    size_t begins = 0;
    for (size_t i = 1; i < 4; i++) {
        assert_int_equal(set.items[i].end - set.items[i].begin, length);
        begins += set.items[i].begin - LIKE_PAD;
    }
    assert_int_equal(begins, length + 2 * length);
    wh_emission_set_free(&set);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lays_beginnings_over_each_other),
        cmocka_unit_test(test_leaves_strays_for_another_kind),
        cmocka_unit_test(test_random_chips_are_not_alike),
        cmocka_unit_test(test_cuts_what_repeats_itself),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
