#include "descriptor_model.h"
#include "synth_chips.h"
#include "synth_frame.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "../near.h"

static const wh_absolute sea_level = {101.325};

static int load(void **state)
{
    wh_descriptor_set *set = wh_descriptor_set_create();
    *state = set;
    return wh_descriptor_set_load_folder(set, WH_TEST_PROTOCOLS, NULL, NULL) == WH_OK ? 0 : -1;
}

static int unload(void **state)
{
    wh_descriptor_set *set = *state;
    wh_descriptor_set_destroy(&set);
    return 0;
}

/* Chips of a frame as digits; the caller frees them. */
static char *chips_of(const wh_descriptor *descriptor, const wh_frame_bits *frame, size_t *count)
{
    uint8_t *chips = NULL;
    assert_int_equal(wh_synth_chips(descriptor, frame, &chips, count, NULL), WH_OK);
    char *text = malloc(*count + 1);
    assert_non_null(text);
    for (size_t i = 0; i < *count; i++)
        text[i] = (char)('0' + chips[i]);
    text[*count] = '\0';
    free(chips);
    return text;
}

/* Microchip UHF transceiver evaluation kit guide, table "Data Protocol": 55 ones, start bit 0, 64 00 EB B1 for 23.5 degC;
 * 0 = low-high, 1 = high-low; 88 bits at 8 kbit/s last 11 ms. Two illegal bits before and after. */
static void test_published_telegram(void **state)
{
    const wh_descriptor *d = wh_descriptor_set_find(*state, "remote-fsk-manchester-32");
    assert_non_null(d);
    wh_frame_bits frame;
    const wh_synth_value values[] = {{"temperature", "23.5 degC"}};
    assert_int_equal(wh_synth_frame(d, values, 1, 0, sea_level, &frame, NULL), WH_OK);
    assert_memory_equal(frame.data, ((uint8_t[]){0x64, 0x00, 0xEB, 0xB1}), 4);
    char expected[256] = "0011";
    for (int i = 0; i < 55; i++)
        strcat(expected, "10");
    strcat(expected, "01");
    for (const char *bit = "01100100"
                           "00000000"
                           "11101011"
                           "10110001";
         *bit; bit++)
        strcat(expected, *bit == '1' ? "10" : "01");
    strcat(expected, "0011");
    size_t count;
    char *text = chips_of(d, &frame, &count);
    assert_string_equal(text, expected);
    free(text);
    assert_near((double)(count - 8) / d->radio.chip_rate_hz, 0.011, 1e-9);
}

/* Sensor 51D0A7E4 low byte first, each byte low bit first, 1 = low-high: E4 goes out as 0 0 1 0 0 1 1 1. */
static void test_low_bit_first(void **state)
{
    const wh_descriptor *d = wh_descriptor_set_find(*state, "demo-fsk-manchester-low-first");
    wh_frame_bits frame;
    const wh_synth_value values[] = {{"sensor", "51D0A7E4"}};
    assert_int_equal(wh_synth_frame(d, values, 1, 0, sea_level, &frame, NULL), WH_OK);
    size_t count;
    char *text = chips_of(d, &frame, &count);
    assert_int_equal(count, 2 * (16 + 16 + 88));
    assert_memory_equal(text + 64, "1010011010010101", 16);
    free(text);
}

/* Biphase has an edge at every bit start, through preamble, sync and payload without a break. */
static void test_level_goes_on(void **state)
{
    static const char *const names[] = {"demo-fsk-biphase-mark", "demo-fsk-biphase-space"};
    for (size_t n = 0; n < 2; n++) {
        const wh_descriptor *d = wh_descriptor_set_find(*state, names[n]);
        wh_frame_bits frame;
        assert_int_equal(wh_synth_frame(d, NULL, 0, 0, sea_level, &frame, NULL), WH_OK);
        size_t count;
        char *text = chips_of(d, &frame, &count);
        assert_int_equal(text[0], '1'); /* from level 0 */
        for (size_t i = 2; i + d->frame.end.count < count; i += 2)
            assert_int_not_equal(text[i], text[i - 1]);
        free(text);
    }
}

/* Raw chips set the level from which an edge-based code goes on: an edge at the start of the first payload bit. */
static void test_level_after_raw_chips(void **state)
{
    wh_descriptor d = *wh_descriptor_set_find(*state, "demo-fsk-biphase-mark");
    for (uint8_t last = 0; last < 2; last++) {
        d.frame.sync = (wh_pattern){.chips = true, .count = 3, .value = {!last, !last, last}};
        wh_frame_bits frame;
        assert_int_equal(wh_synth_frame(&d, NULL, 0, 0, sea_level, &frame, NULL), WH_OK);
        size_t count;
        char *text = chips_of(&d, &frame, &count);
        assert_int_equal(count, 2 * 24 + 3 + 2 * 96);
        assert_int_equal(text[50], '0' + last);
        assert_int_equal(text[51], '0' + !last);
        free(text);
    }
}

static void test_varying_length(void **state)
{
    const wh_descriptor *d = wh_descriptor_set_find(*state, "demo-fsk-biphase-space");
    static const unsigned lengths[] = {64, 72, 96};
    for (size_t i = 0; i < 3; i++) {
        wh_frame_bits frame;
        assert_int_equal(wh_synth_frame(d, NULL, 0, lengths[i], sea_level, &frame, NULL), WH_OK);
        size_t count;
        char *text = chips_of(d, &frame, &count);
        assert_int_equal(count, 2 * (16 + 16 + lengths[i]) + 12);
        assert_string_equal(text + count - 12, "000111000111");
        free(text);
    }
    wh_frame_bits frame;
    wh_error error;
    assert_int_equal(wh_synth_frame(d, NULL, 0, 70, sea_level, &frame, &error), WH_ERR_LIMIT);
    assert_non_null(strstr(error.fix, "64 to 96 bits in steps of 8"));
    assert_int_equal(wh_synth_frame(d, NULL, 0, 104, sea_level, &frame, &error), WH_ERR_LIMIT);
    const wh_synth_value wrong[] = {{"sensr", "1"}};
    assert_int_equal(wh_synth_frame(d, wrong, 1, 0, sea_level, &frame, &error), WH_ERR_NOT_FOUND);
}

/* Pulse width: one 110, zero 100 after a sync in raw chips; 56 bits of three chips. */
static void test_pulse_width(void **state)
{
    const wh_descriptor *d = wh_descriptor_set_find(*state, "demo-ook-pulse-width");
    wh_frame_bits frame;
    const wh_synth_value values[] = {{"sensor", "5A0000"}};
    assert_int_equal(wh_synth_frame(d, values, 1, 0, sea_level, &frame, NULL), WH_OK);
    size_t count;
    char *text = chips_of(d, &frame, &count);
    assert_int_equal(count, 12 * 3 + 9 + 56 * 3);
    assert_memory_equal(text + 33,
                        "110"
                        "111111000"
                        "100110100110"
                        "110100110100"
                        "100",
                        39);
    free(text);
}

/* Fields that are not given come from the first example, and all checks hold. */
static void test_defaults_from_example(void **state)
{
    wh_descriptor_set *set = *state;
    assert_true(wh_descriptor_set_count(set) >= 12);
    for (size_t i = 0; i < wh_descriptor_set_count(set); i++) {
        const wh_descriptor *d = wh_descriptor_set_at(set, i);
        wh_frame_bits frame;
        assert_int_equal(wh_synth_frame(d, NULL, 0, d->examples[0].bits, sea_level, &frame, NULL), WH_OK);
        assert_int_equal(frame.count, d->examples[0].bits);
        assert_memory_equal(frame.data, d->examples[0].frame, sizeof frame.data);
        for (unsigned k = 0; k < d->check_count; k++)
            assert_true(wh_check_holds(d, k, &frame));
        assert_int_equal(wh_constants_mismatch(d, &frame), -1);
    }
}

static void test_too_long(void **state)
{
    wh_descriptor d = *wh_descriptor_set_find(*state, "demo-fsk-manchester");
    d.frame.preamble.count = 128;
    d.frame.preamble_repeats = 65535;
    const wh_frame_bits frame = {.count = 80};
    uint8_t *chips = NULL;
    size_t count;
    wh_error error;
    assert_int_equal(wh_synth_chips(&d, &frame, &chips, &count, &error), WH_ERR_LIMIT);
    assert_null(chips);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_published_telegram),    cmocka_unit_test(test_low_bit_first),
        cmocka_unit_test(test_level_goes_on),         cmocka_unit_test(test_level_after_raw_chips),
        cmocka_unit_test(test_varying_length),        cmocka_unit_test(test_pulse_width),
        cmocka_unit_test(test_defaults_from_example), cmocka_unit_test(test_too_long),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
