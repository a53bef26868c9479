/* A descriptor in plain words. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "descriptor_text.h"
#include "text_wrap.h"

#include <string.h>

static const char *const source =
    "wheelhark descriptor: 1\n"
    "name: shown\n"
    "summary: Invented\n"
    "provenance: {kind: published, source: 'Sheet 7, table 2'}\n"
    "radio: {carriers: [315 MHz], modulation: ook, chip rate: 4 kchip/s}\n"
    "line: {code: pulse-width, one: {chips: '110'}, zero: {chips: '100'}}\n"
    "frame: {preamble: {bits: '10', repeats: 8}, sync: {chips: '111100001'},\n"
    "  payload: 40 bits, end: {chips: '0011'}}\n"
    "copies: {count: 2, gap: {least: 20 ms, most: 60 ms}}\n"
    "checks:\n"
    "  - {kind: sum, width: 4 bits, word: 4 bits, start: 0x3, name: tail,\n"
    "     over: {from: 0, bits: 32}, place: {from: 32, bits: 4}}\n"
    "fields:\n"
    "  - {name: sensor, role: sensor, place: [{from: 0, bits: 8}, {from: 12, bits: 8}]}\n"
    "  - {name: pressure, role: pressure, place: {from: 20, bits: 8}, scale: 5 kPa,\n"
    "     offset: -5 kPa, reference: gauge, codes: [{raw: 0, means: fault, text: torn}]}\n"
    "  - {name: low, role: flag, place: {from: 8, bits: 1}}\n"
    "examples:\n"
    /* 1+2+0+3+4+1+2+0 = 13, and 3 more is 0x10: the check is 0 */
    "  - frame: {hex: 12034120 00}\n"
    "    expect: {sensor: 1234, pressure: 85 kPa, low: no}\n";

static const char *const expected = "shown: Invented\n"
                                    "  file         shown.yaml\n"
                                    "  layout       published: Sheet 7, table 2\n"
                                    "\n"
                                    "On the air\n"
                                    "  carrier      315 MHz, +-110 kHz\n"
                                    "  modulation   on-off keying; chip 1 is carrier on\n"
                                    "  speed        4 kchip/s +-5 %: a chip lasts 250 us\n"
                                    "  line code    pulse width: a one is the chips 110, a zero 100\n"
                                    "  preamble     8 times the bits 10\n"
                                    "  sync         the chips 11110000 1\n"
                                    "  payload      40 bits\n"
                                    "  end          the chips 0011\n"
                                    "  copies       2 of each frame, with 20 ms to 60 ms between them\n"
                                    "\n"
                                    "The payload, bit by bit (bit 0 is the first after the sync)\n"
                                    "      0  AAAAAAAA C...AAAA AAAABBBB BBBB....\n"
                                    "     32  1111....\n"
                                    "\n"
                                    "      A  sensor, bits 0-7, 12-19: the sensor ID\n"
                                    "      B  pressure, bits 20-27: count x 5 kPa - 5 kPa, gauge\n"
                                    "           count 0x0: a fault, torn\n"
                                    "      C  low, bit 8: yes when not 0\n"
                                    "      1  tail, bits 32-35: sum over bits 0-31 in words of 4 bits, start 0x3\n"
                                    "      .  bits 9-11, 28-31, 36-39: no meaning known\n"
                                    "\n"
                                    "1 example, checked when the file was read.\n";

static void tell(void *context, const wh_complaint *complaint)
{
    (void)context;
    print_message("%u:%u %s\n", complaint->line, complaint->column, complaint->reason);
}

static void test_whole_text(void **state)
{
    (void)state;
    wh_text text = {.data = NULL};
    wh_descriptor_set *set = wh_descriptor_set_create();
    assert_int_equal(wh_descriptor_set_load_text(set, "shown.yaml", source, strlen(source), tell, NULL), WH_OK);
    wh_descriptor_text(&text, wh_descriptor_set_at(set, 0));
    assert_false(text.failed);
    assert_string_equal(text.data, expected);
    wh_text_free(&text);
    wh_descriptor_set_destroy(&set);
}

static void test_wrap(void **state)
{
    (void)state;
    wh_text text = {.data = NULL};
    wh_text_wrap(&text, "ab", "one two  three", 4, 11);
    assert_string_equal(text.data, "ab  one two\n    three\n");
    wh_text_clear(&text);
    wh_text_wrap(&text, "label", "verylongword x", 4, 8); /* nothing is cut */
    assert_string_equal(text.data, "label verylongword\n    x\n");
    wh_text_clear(&text);
    wh_text_wrap(&text, "", "\xC3\xA4\xC3\xB6 \xC3\xBC", 0, 4); /* columns are characters */
    assert_string_equal(text.data, "\xC3\xA4\xC3\xB6 \xC3\xBC\n");
    wh_text_clear(&text);
    wh_text_wrap(&text, "label", "", 8, 20);
    assert_string_equal(text.data, "label\n");
    wh_text_free(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_whole_text),
        cmocka_unit_test(test_wrap),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
