/* What a layout looks like on the air: known chips and lengths, drawn by hand from the codes' definitions. */
#include "frame_search.h"

#include "../ideal_chips.h"

static wh_pattern pattern(bool chips, const char *digits)
{
    wh_pattern p = {.chips = chips, .count = (uint16_t)strlen(digits)};
    for (size_t i = 0; i < p.count; i++)
        p.value[i] = (uint8_t)(digits[i] - '0');
    return p;
}

static void assert_chips(const uint8_t *chips, size_t count, const char *digits)
{
    assert_int_equal(count, strlen(digits));
    for (size_t i = 0; i < count; i++)
        assert_int_equal(chips[i], digits[i] - '0');
}

/* Manchester, Thomas sense: 0 is 01, 1 is 10. */
static void test_sync_alone(void **state)
{
    (void)state;
    const wh_line_spec line = {.kind = WH_LINE_MANCHESTER};
    const wh_frame_spec frame = {.sync = pattern(false, "1101"), .bits_min = 8, .bits_max = 8, .bits_step = 8};
    wh_framing framing;
    wh_framing_make(&line, &frame, &framing);
    assert_int_equal(framing.variants, 1);
    assert_chips(framing.chip[0], framing.known[0], "10100110");
    assert_int_equal(framing.sync_chips[0], 8);
    assert_int_equal(framing.level[0], 0);
    assert_int_equal(framing.shortest_chips, 8 + 16);
    assert_int_equal(framing.longest_chips, 8 + 16);
    assert_int_equal(framing.zero_run, 2);
}

/* Raw chips are taken as they are, and bits behind them see the last raw chip. */
static void test_raw_sync(void **state)
{
    (void)state;
    const wh_line_spec line = {.kind = WH_LINE_BIPHASE_MARK};
    const wh_frame_spec frame = {
        .sync = pattern(true, "1110001"), .bits_min = 4, .bits_max = 4, .bits_step = 1, .end = pattern(true, "0001")};
    wh_framing framing;
    wh_framing_make(&line, &frame, &framing);
    assert_int_equal(framing.variants, 1);
    assert_chips(framing.chip[0], framing.known[0], "1110001");
    assert_int_equal(framing.level[0], 1);
    assert_int_equal(framing.longest_chips, 7 + 8 + 4);
    assert_int_equal(framing.shortest_chips, 7 + 8); /* the end pattern may be lost */
}

/* A code that knows only edges has two forms, each the other's negative. */
static void test_two_forms(void **state)
{
    (void)state;
    const wh_line_spec line = {.kind = WH_LINE_BIPHASE_SPACE};
    const wh_frame_spec frame = {.sync = pattern(false, "1011"), .bits_min = 4, .bits_max = 4, .bits_step = 1};
    wh_framing framing;
    wh_framing_make(&line, &frame, &framing);
    assert_int_equal(framing.variants, 2);
    /* FS-1037C, biphase space, 1011 after level 0 and after level 1, drawn by hand. */
    assert_chips(framing.chip[0], framing.known[0], "11010011");
    assert_chips(framing.chip[1], framing.known[1], "00101100");
    assert_int_equal(framing.level[0], 1);
    assert_int_equal(framing.level[1], 0);
}

/* Of a preamble only the last part is relied on, never more than is sent, and always in step with the sync. */
static void test_preamble(void **state)
{
    (void)state;
    const wh_line_spec line = {.kind = WH_LINE_MANCHESTER};
    for (uint16_t repeats = 1; repeats <= 300; repeats = (uint16_t)(repeats + 1 + repeats / 3)) {
        const wh_frame_spec frame = {.preamble = pattern(false, "0"),
                                     .preamble_repeats = repeats,
                                     .sync = pattern(false, "11"),
                                     .bits_min = 8,
                                     .bits_max = 8,
                                     .bits_step = 8};
        wh_framing framing;
        wh_framing_make(&line, &frame, &framing);
        const size_t kept = framing.known[0] - framing.sync_chips[0];
        assert_true(kept > 0 && kept <= 2u * repeats);
        assert_int_equal(framing.sync_chips[0], 4);
        assert_int_equal(framing.longest_chips, 2u * repeats + 4 + 16);
        assert_int_equal(framing.shortest_chips, 4 + 16);
        /* Read from the back: 1010, then ...0101. */
        const uint8_t *end = framing.chip[0] + framing.known[0];
        assert_chips(end - 4, 4, "1010");
        for (size_t i = 1; i <= kept; i++)
            assert_int_equal(end[-4 - (int)i], i % 2);
    }
}

/* Longest patterns with the longest words: nothing leaves the arrays, and known chips stay within their bound. */
static void test_largest(void **state)
{
    (void)state;
    wh_line_spec line = {
        .kind = WH_LINE_PULSE_WIDTH, .zero_count = 16, .one_count = 16, .zero_chips = {1}, .one_chips = {1, 1}};
    wh_frame_spec frame = {.preamble_repeats = UINT16_MAX, .bits_min = 256, .bits_max = 256, .bits_step = 8};
    for (int chips = 0; chips < 2; chips++) {
        frame.preamble = (wh_pattern){.chips = chips, .count = WH_PATTERN_MAX};
        frame.sync = (wh_pattern){.chips = chips, .count = chips ? WH_PATTERN_MAX : 17};
        frame.end = frame.sync;
        wh_framing framing;
        wh_framing_make(&line, &frame, &framing);
        assert_true(framing.known[0] <= WH_KNOWN_CHIPS_MAX);
        assert_int_equal(framing.sync_chips[0], chips ? WH_PATTERN_MAX : 17 * 16);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sync_alone), cmocka_unit_test(test_raw_sync), cmocka_unit_test(test_two_forms),
        cmocka_unit_test(test_preamble),   cmocka_unit_test(test_largest),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
