#include "line_code.h"

#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

/* Code the digits of `bits` starting after `level`; the chips as digits. */
static const char *coded(const wh_line_spec *spec, uint8_t level, const char *bits, char *text)
{
    uint8_t in[64], out[256];
    const size_t count = strlen(bits);
    for (size_t i = 0; i < count; i++)
        in[i] = (uint8_t)(bits[i] - '0');
    const size_t chips = wh_line_encode(spec, in, count, &level, out, sizeof out);
    for (size_t i = 0; i < chips; i++)
        text[i] = (char)('0' + out[i]);
    text[chips] = '\0';
    assert_int_equal(level, out[chips - 1]);
    return text;
}

/* Both senses as in the encyclopedia article "Manchester code" (Thomas 1949 against IEEE 802.3; Forster, "Manchester
 * encoding: Opposing definitions resolved", 2000): 0xA5 = 10100101. */
static void test_manchester_senses(void **state)
{
    (void)state;
    char text[256];
    wh_line_spec spec = {.kind = WH_LINE_MANCHESTER};
    assert_string_equal(coded(&spec, 0, "10100101", text), "1001100101100110");
    assert_string_equal(coded(&spec, 1, "10100101", text), "1001100101100110");
    spec.inverted = true;
    assert_string_equal(coded(&spec, 0, "10100101", text), "0110011010011001");
}

/* NXP NTM88 user manual UM11227 rev 6, section 10.16, the figure's sequence 001101 with polarity bit 0: Manchester
 * 01 01 10 10 01 10, and bi-phase (1 = no edge in mid-bit) from the low level 10 10 11 00 10 11. */
static void test_sensor_chip_transmitter(void **state)
{
    (void)state;
    char text[256];
    const wh_line_spec manchester = {.kind = WH_LINE_MANCHESTER};
    const wh_line_spec space = {.kind = WH_LINE_BIPHASE_SPACE};
    assert_string_equal(coded(&manchester, 0, "001101", text), "010110100110");
    assert_string_equal(coded(&space, 0, "001101", text), "101011001011");
}

/* FS-1037C's definitions of biphase mark and space, bits 1011 after level 0, drawn by hand. */
static void test_biphase(void **state)
{
    (void)state;
    char text[256];
    const wh_line_spec mark = {.kind = WH_LINE_BIPHASE_MARK}, space = {.kind = WH_LINE_BIPHASE_SPACE};
    assert_string_equal(coded(&mark, 0, "1011", text), "10110101");
    assert_string_equal(coded(&space, 0, "1011", text), "11010011");
    /* After level 1 everything is turned over. */
    assert_string_equal(coded(&mark, 1, "1011", text), "01001010");
    assert_string_equal(coded(&space, 1, "1011", text), "00101100");
}

/* Differential Manchester after FS-1037C, sense of IEEE 802.5: an edge in mid-bit always, 0 = edge at the start too.
 * 1 after level 0 keeps 0 then rises; 0 then falls at the start and rises in the middle; by hand. */
static void test_differential_manchester(void **state)
{
    (void)state;
    char text[256];
    wh_line_spec spec = {.kind = WH_LINE_DIFFERENTIAL_MANCHESTER};
    assert_string_equal(coded(&spec, 0, "1001", text), "01010110");
    assert_string_equal(coded(&spec, 1, "1001", text), "10101001");
    spec.inverted = true;
    assert_string_equal(coded(&spec, 0, "1001", text), "10011010");
}

/* Microchip AN238: 1/3-2/3 pulse width, three time elements a bit. */
static void test_pulse_width_and_nrz(void **state)
{
    (void)state;
    char text[256];
    const wh_line_spec pulses = {
        .kind = WH_LINE_PULSE_WIDTH, .zero_count = 3, .one_count = 3, .zero_chips = {1, 0, 0}, .one_chips = {1, 1, 0}};
    assert_string_equal(coded(&pulses, 0, "0110", text), "100110110100");
    const wh_line_spec uneven = {
        .kind = WH_LINE_PULSE_WIDTH, .zero_count = 2, .one_count = 4, .zero_chips = {1, 0}, .one_chips = {1, 1, 1, 0}};
    assert_string_equal(coded(&uneven, 0, "0110", text), "10"
                                                         "1110"
                                                         "1110"
                                                         "10");
    wh_line_spec nrz = {.kind = WH_LINE_NRZ};
    assert_string_equal(coded(&nrz, 0, "0110", text), "0110");
    nrz.inverted = true;
    assert_string_equal(coded(&nrz, 0, "0110", text), "1001");
}

static void test_sizes_and_runs(void **state)
{
    (void)state;
    const wh_line_spec nrz = {.kind = WH_LINE_NRZ}, manchester = {.kind = WH_LINE_MANCHESTER};
    const wh_line_spec uneven = {.kind = WH_LINE_PULSE_WIDTH,
                                 .zero_count = 5,
                                 .one_count = 3,
                                 .zero_chips = {0, 1, 0, 0, 0},
                                 .one_chips = {1, 1, 0}};
    const wh_line_spec silent = {.kind = WH_LINE_PULSE_WIDTH, .zero_count = 2, .one_count = 2, .one_chips = {1, 0}};
    assert_int_equal(wh_line_chips_min(&nrz), 1);
    assert_int_equal(wh_line_chips_max(&nrz), 1);
    assert_int_equal(wh_line_chips_min(&manchester), 2);
    assert_int_equal(wh_line_chips_min(&uneven), 3);
    assert_int_equal(wh_line_chips_max(&uneven), 5);
    assert_int_equal(wh_line_longest_zero_run(&nrz), 32);
    assert_int_equal(wh_line_longest_zero_run(&manchester), 2);
    assert_int_equal(wh_line_longest_zero_run(&uneven), 4); /* zero zero: 01000 01000 */
    assert_int_equal(wh_line_longest_zero_run(&silent), 32);
}

static void test_capacity(void **state)
{
    (void)state;
    const wh_line_spec manchester = {.kind = WH_LINE_MANCHESTER};
    const uint8_t bits[] = {1, 0};
    uint8_t chips[4] = {7, 7, 7, 7}, level = 1;
    assert_int_equal(wh_line_encode(&manchester, bits, 2, &level, chips, 3), 0);
    assert_int_equal(chips[0], 7);
    assert_int_equal(level, 1);
    assert_int_equal(wh_line_encode(&manchester, bits, 2, &level, chips, 4), 4);
    assert_int_equal(wh_line_encode(&manchester, bits, 0, &level, chips, 4), 0);
    assert_int_equal(level, 1);
}

static void test_names(void **state)
{
    (void)state;
    for (int i = 0; i < WH_LINE_KIND_COUNT; i++)
        assert_string_not_equal(wh_line_kind_name((wh_line_kind)i), "unknown");
    assert_string_equal(wh_line_kind_name(WH_LINE_BIPHASE_SPACE), "biphase-space");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_manchester_senses),
        cmocka_unit_test(test_sensor_chip_transmitter),
        cmocka_unit_test(test_biphase),
        cmocka_unit_test(test_differential_manchester),
        cmocka_unit_test(test_pulse_width_and_nrz),
        cmocka_unit_test(test_sizes_and_runs),
        cmocka_unit_test(test_capacity),
        cmocka_unit_test(test_names),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
