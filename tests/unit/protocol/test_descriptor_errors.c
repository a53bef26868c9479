/* Every mistake in a descriptor file is told with its place and a reason. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "descriptor_sample.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct mistake {
    const char *old, *new; /* '@' in `new` marks where the complaint must point */
    const char *reason;    /* part of it */
    const char *hint;      /* part of it; NULL: whatever it is */
} mistake;

static void expect_mistakes(const mistake *mistakes, size_t count, bool warning)
{
    for (size_t i = 0; i < count; i++) {
        unsigned line = 0, column = 0;
        sample_log *const log = malloc(sizeof *log);
        assert_non_null(log);
        char *const text = sample_with(mistakes[i].old, mistakes[i].new, &line, &column);
        wh_status status;
        wh_descriptor_set *set = sample_load(text, log, &status);
        bool found = false;
        for (unsigned j = 0; j < log->count; j++) {
            const wh_complaint *const item = &log->items[j];
            found |= item->line == line && item->column == column && item->warning == warning &&
                     strstr(item->reason, mistakes[i].reason) != NULL &&
                     (!mistakes[i].hint || strstr(item->hint, mistakes[i].hint) != NULL);
            if (!found && j + 1 == log->count)
                print_message("'%s' should give %u:%u '%s', last said %u:%u '%s' (%s)\n", mistakes[i].new, line, column,
                              mistakes[i].reason, item->line, item->column, item->reason, item->hint);
        }
        assert_true(found);
        /* One mistake, one complaint: nothing follows from it. */
        for (unsigned j = 1; j < log->count; j++)
            print_message("'%s' also gives: %s\n", mistakes[i].new, log->items[j].reason);
        assert_int_equal(log->count, 1);
        assert_int_equal(status, warning ? WH_OK : WH_ERR_DATA);
        assert_int_equal(wh_descriptor_set_count(set), warning);
        wh_descriptor_set_destroy(&set);
        free(text);
        free(log);
    }
}

#define EXPECT(mistakes)          expect_mistakes((mistakes), sizeof(mistakes) / sizeof(mistakes)[0], false)
#define EXPECT_WARNINGS(mistakes) expect_mistakes((mistakes), sizeof(mistakes) / sizeof(mistakes)[0], true)

static void test_head(void **state)
{
    static const mistake mistakes[] = {
        {"wheelhark descriptor: 1", "wheelhark descriptor: @2", "unknown format version 2", "version 1"},
        {"wheelhark descriptor: 1\n", "@", "does not say that it is a descriptor", "wheelhark descriptor: 1"},
        {"name: sample", "name: @Sample", "lower case letters", NULL},
        {"name: sample\n", "name: sample\n@nmae: sample\n", "unknown key 'nmae'", "did you mean 'name'?"},
        {"name: sample\n", "@name:\n", "'name' has no value", NULL},
        {"summary: Invented sensor for tests", "summary: @[a, b]", "'summary' is a single value, not a list", NULL},
        {"kind: invented", "kind: @inventd", "unknown provenance 'inventd'", "did you mean 'invented'?"},
        {"{kind: invented, note: made up}", "@{kind: published}", "needs the key 'source'", NULL},
        {"copies: {count: 3", "copies: {count: @0", "'count' must be 1 to 255", NULL},
        {"gap: 50 ms", "gap: @50", "'gap' needs a unit", "us, ms or s"},
        {"gap: 50 ms", "gap: {least: 60 ms, most: @40 ms}", "less than 'least'", NULL},
        {"copies:", "@copys:", "unknown key 'copys'", "did you mean 'copies'?"},
        {"name: sample\n", "name: sample\npartial: @maybe\n", "'partial' is yes or no", NULL},
    };
    (void)state;
    EXPECT(mistakes);
}

static void test_radio(void **state)
{
    static const mistake mistakes[] = {
        {"[433.92 MHz, 315 MHz]", "[433.92 MHz, @315]", "needs a unit", "Hz, kHz or MHz"},
        {"[433.92 MHz, 315 MHz]", "[433.92 MHz, @3.15 MHz]", "must be 24 MHz to 1766 MHz", NULL},
        {"[433.92 MHz, 315 MHz]", "@433.92 MHz", "'carriers' is a list", NULL},
        {"modulation: fsk", "modulation: @fks", "unknown modulation 'fks'", "did you mean 'fsk'?"},
        {"  modulation: fsk\n  chip rate: 20 kchip/s\n  deviation: 40 kHz",
         "  modulation: ook\n  chip rate: 20 kchip/s\n  @deviation: 40 kHz",
         "'deviation' does not belong to radio with on-off keying", NULL},
        {"chip rate: 20 kchip/s", "chip rate: @20 kHz", "'20 kHz' is not a chip rate", "kchip/s"},
        {"chip rate: 20 kchip/s", "chip rate: @60 kchip/s", "must be 1 kchip/s to 50 kchip/s", NULL},
        {"chip rate: 20 kchip/s", "bit rate: @30 kbit/s", "60000 chips per second", NULL},
        {"  carriers: [433.92 MHz, 315 MHz]\n  modulation: fsk\n  chip rate: 20 kchip/s\n",
         "  @carriers: [433.92 MHz]\n  modulation: fsk\n", "one of the keys 'chip rate', 'bit rate'", NULL},
        {"chip rate: 20 kchip/s", "@chip rate: 20 kchip/s\n  chip length: 50 us", "more than one of", NULL},
        {"deviation: 40 kHz", "deviation: @4 kHz", "must be 5 kHz to 80 kHz", NULL},
        {"deviation: 40 kHz", "deviation: @wide", "a number and a unit, not 'wide'", NULL},
        {"deviation: 40 kHz", "deviation: 40 kHz\n  rate tolerance: @11 %", "must be 0 % to 10 %", NULL},
        {"deviation: 40 kHz", "deviation: 40 kHz\n  chip one: @high tone", "unknown tone",
         "did you mean 'higher tone'?"},
    };
    (void)state;
    EXPECT(mistakes);
}

static void test_line_and_frame(void **state)
{
    static const mistake mistakes[] = {
        {"code: manchester", "code: @manchestr", "unknown line code 'manchestr'", "did you mean 'manchester'?"},
        {"one: high-low", "one: @high", "unknown sense of a one 'high'", "did you mean 'high-low'?"},
        {"  code: manchester\n  one: high-low", "  @code: manchester", "needs the key 'one'", NULL},
        {"  one: high-low", "  one: high-low\n  @zero: low-high", "'zero' does not belong to", NULL},
        {"  code: manchester\n  one: high-low", "  code: biphase-mark\n  @one: high-low",
         "'one' does not belong to a biphase", NULL},
        {"  code: manchester\n  one: high-low",
         "  code: pulse-width\n  one: {chips: \"110\"}\n  zero: @{chips: \"110110\"}", "cannot be told apart", NULL},
        {"  code: manchester\n  one: high-low",
         "  code: pulse-width\n  one: [{high: @70 us}, {low: 50 us}]\n  zero: {chips: \"100\"}", "70 us is 1.40 chips",
         NULL},
        {"  code: manchester\n  one: high-low",
         "  code: pulse-width\n  one: @[{high: 50 us}]\n  zero: {chips: \"100\"}", "2 to 16 chips", NULL},
        {"  sync: {chips: \"1111000011\"}", "  sync: @{bits: \"1\", chips: \"1\"}", "exactly one of", NULL},
        {"\"1111000011\"", "@\"11x1\"", "something else than 0 and 1", NULL},
        {"\"1111000011\"", "11@x1", "something else than 0 and 1", NULL},
        {"repeats: 20", "repeats: @0", "'repeats' must be 1 to", NULL},
        {"payload: 80 bits", "payload: @300 bits", "must be 2 bits to 256 bits", NULL},
        {"payload: 80 bits", "payload: @80.5 bits", "a whole number of bits", NULL},
        {"payload: 80 bits", "payload: @80", "needs a unit", NULL},
        {"payload: 80 bits", "payload: {least: 80 bits, most: @90 bits}", "steps of 8 bits", NULL},
        {"payload: 80 bits", "payload: 80 bits\n  bit order: @low first", "unknown bit order",
         "did you mean 'low bit first'?"},
    };
    (void)state;
    EXPECT(mistakes);
}

static void test_checks(void **state)
{
    static const mistake mistakes[] = {
        {"kind: crc", "kind: @checksum", "unknown kind of check 'checksum'", "possible: crc, sum"},
        {"    width: 8 bits\n", "    width: @8\n", "'width' needs a unit", NULL},
        {"    width: 8 bits\n", "    width: @2 bits\n", "must be 3 bits to 32 bits", NULL},
        {"polynomial: 0x07", "polynomial: @0x107", "does not fit 8 bits", "leave the top bit out: 0x07"},
        {"polynomial: 0x07", "polynomial: @7h", "is a whole number, not '7h'", NULL},
        {"polynomial: 0x07", "polynomial: @07", "is a whole number, not '07'", "leading zero"},
        {"polynomial: 0x07", "polynomial: 0x07\n    start: @0x1FF", "does not fit the check's 8 bits", NULL},
        {"polynomial: 0x07", "polynomial: 0x07\n    @word: 8 bits", "'word' does not belong to a CRC", NULL},
        {"place: {from: 72, bits: 8}", "place: @{from: 72, bits: 7}", "the check has 8 bits, its place 7", NULL},
        {"place: {from: 72, bits: 8}", "place: @{from: 74, bits: 8}",
         "reaches bit 81, but the payload ends with bit 79", NULL},
        {"over: {from: 0, bits: 72}", "over: {from: 0, bits: @270}", "must be 1 to 256", NULL},
        {"over: {from: 0, bits: 72}", "over: [{from: 0, bits: 72}, @{from: 71, bits: 1}]", "already in the list", NULL},
        {"over: {from: 0, bits: 72}\n    place: {from: 72, bits: 8}",
         "over: {from: 0, bits: 73}\n    place: @{from: 72, bits: 8}", "bit 72 is checked and is itself part", NULL},
        {"over: {from: 0, bits: 72}", "over: {from: 0, bits: 72, @to: 71}", "unknown key 'to' in a place", NULL},
        {"over: {from: 0, bits: 72}", "over: @{from: 0}", "a place needs the key 'bits'", NULL},
    };
    (void)state;
    EXPECT(mistakes);
}

static void test_fields(void **state)
{
    static const mistake mistakes[] = {
        {"scale: 2.5 kPa", "scale: @2.5 degC", "'2.5 degC' is not a pressure", "kPa, bar, psi or Pa"},
        {"scale: 2.5 kPa", "scale: @2.5", "needs a unit", NULL},
        {"scale: 2.5 kPa", "scale: @0 kPa", "with a scale of 0", NULL},
        {"    reference: absolute\n", "    reference: @absolut\n", "unknown reference", "did you mean 'absolute'?"},
        {"- name: pressure\n    role: pressure\n    place: {from: 32, bits: 8}\n    scale: 2.5 kPa\n    offset: 100 "
         "kPa\n"
         "    reference: absolute\n",
         "- @name: pressure\n    role: pressure\n    place: {from: 32, bits: 8}\n    scale: 2.5 kPa\n"
         "    offset: 100 kPa\n",
         "a pressure field needs the key 'reference'", NULL},
        {"role: temperature", "role: @temp", "unknown role 'temp'", "did you mean 'temperature'?"},
        {"    offset: -40 degC\n", "    offset: -40 degC\n    @unit: degC\n", "'unit' does not belong to a temperature",
         NULL},
        {"to: 0xFE}", "to: @0x1FE}", "'to' must be 0 to 255", NULL},
        {"- {raw: {from: 0xF0, to: 0xFE}, means: not available}",
         "- @{raw: {from: 0xF0, to: 0xFF}, means: not available}", "already has another meaning", NULL},
        {"- {raw: {from: 0xF0, to: 0xFE}, means: not available}", "- @{raw: 0xFF, means: not available}",
         "already has another meaning", NULL},
        {"means: not available", "means: @unavailable", "unknown meaning", "did you mean 'not available'?"},
        {"means: fault, text: sensor error", "means: @state, text: sensor error", "only a field with the role 'value'",
         NULL},
        {"most: 1500 kPa", "most: @80 kPa", "'most' must be more than 'least'", NULL},
        {"[2.1 V, 2.2 V, fault, 3 V]", "@[2.1 V, 2.2 V, fault, 3 V, 4 V]", "5 values, but 2 bits count only to 3",
         NULL},
        {"2.2 V, fault", "@2.2 A, fault", "the unit of this field is 'V', not 'A'", NULL},
        {"  - {name: family", "  - {name: @battery_low, role: flag, place: {from: 56, bits: 1}}\n  - {name: family",
         "a second field with the name 'battery_low'", NULL},
        {"  - {name: family", "  - @{name: other, role: sensor, place: {from: 56, bits: 1}}\n  - {name: family",
         "more than 1 field with the role 'sensor'", NULL},
        {"value: 0b101", "value: @0b1101", "does not fit the field's 3 bits", NULL},
        {"- {name: battery low, role: flag, place: {from: 52, bits: 1}}",
         "- {name: battery low, role: flag, place: @{from: 80, bits: 1}}", "reaches bit 80", NULL},
        {"- {name: battery low, role: flag, place: {from: 52, bits: 1}}",
         "- {name: battery low, role: flag, place: {from: 52, bits: 1}, @scale: 1}",
         "'scale' does not belong to a flag", NULL},
    };
    (void)state;
    EXPECT(mistakes);
}

static void test_examples(void **state)
{
    static const mistake mistakes[] = {
        {"{hex: 0A1B2C3D 5A3A4500 00A4, bits: 80}", "@{hex: 0A1B2C3D 5A3A4500 00A5, bits: 80}",
         "'frame check' does not hold: the frame has 0xA5, its bits give 0xA4", NULL},
        {"hex: 0A1B2C3D 5A3A4500 00A4, bits: 80", "hex: @0A1B2C3D 5A3A4500 00A4, bits: 60", "do not make 60 bits",
         NULL},
        {"{hex: 0A1B2C3D 5A3A4500 00A4, bits: 80}", "@{hex: 0A1B2C3D 5A3A4500}",
         "the frame has 64 bits, the payload 80", NULL},
        {"hex: 0A1B2C3D", "hex: @0A1B2G3D", "something else than hexadecimal", NULL},
        {"      sensor: 0A1B2C3D", "      sensor: @0A1B2C3E", "'sensor' reads as 0A1B2C3D", NULL},
        {"      sensor: 0A1B2C3D", "      sensor: @A1B2C3D", "8 hexadecimal digits", NULL},
        /* Raw 0x5A = 90: 90 x 2.5 + 100 = 325 kPa; half a count is 1.25 kPa. */
        {"325 kPa absolute", "@326.3 kPa absolute", "'pressure' reads as 325 kPa absolute", NULL},
        {"325 kPa absolute", "@fault", "'pressure' reads as 325 kPa absolute", NULL},
        {"325 kPa absolute", "@325", "is not a pressure", NULL},
        /* Raw 0x3A = 58: 58 - 40 = 18 degC. */
        {"18 degC", "@18.6 degC", "'temperature' reads as 18 degC", NULL},
        {"battery: 2.2 V", "battery: @2.1 V", "'battery' reads as 2.2 V", NULL},
        {"motion: parked", "motion: @moving", "'moving' is not a number", NULL},
        {"battery low: no", "battery low: @yes", "'battery low' reads as no", NULL},
        {"battery low: no", "@battery lw: no", "unknown key 'battery lw'", "did you mean 'battery low'?"},
    };
    (void)state;
    EXPECT(mistakes);
}

static void test_warnings(void **state)
{
    static const mistake mistakes[] = {
        {"place: {from: 52, bits: 1}", "place: @{from: 51, bits: 1}", "bit 51 also belongs to the field 'motion'",
         NULL},
        {"[2.1 V, 2.2 V, fault, 3 V]", "@[2.1 V, 2.2 V, fault]", "what raw 3 means", NULL},
    };
    (void)state;
    EXPECT_WARNINGS(mistakes);
}

/* Several mistakes at once: all told, in file order. */
static void test_all_at_once(void **state)
{
    (void)state;
    sample_log *const log = malloc(sizeof *log);
    wh_status status;
    wh_descriptor_set *set = sample_load("wheelhark descriptor: 1\n"
                                         "name: Bad\n"
                                         "radio: {modulation: am}\n"
                                         "line: {code: x}\n"
                                         "frame: {payload: 1 bits}\n"
                                         "partial: yes\n",
                                         log, &status);
    assert_int_equal(status, WH_ERR_DATA);
    static const struct {
        unsigned line, column;
        const char *reason;
    } expected[] = {
        {1, 1, "needs the key 'summary'"},  {1, 1, "needs the key 'provenance'"}, {2, 7, "lower case"},
        {3, 8, "needs the key 'carriers'"}, {3, 8, "needs one of the keys"},      {3, 21, "unknown modulation 'am'"},
        {4, 14, "unknown line code 'x'"},   {5, 1, "neither preamble nor sync"},  {5, 18, "must be 2 bits"},
    };
    const size_t count = sizeof expected / sizeof expected[0];
    assert_int_equal(log->count, count);
    for (size_t i = 0; i < count; i++) {
        assert_int_equal(log->items[i].line, expected[i].line);
        assert_int_equal(log->items[i].column, expected[i].column);
        assert_non_null(strstr(log->items[i].reason, expected[i].reason));
    }
    wh_descriptor_set_destroy(&set);
    free(log);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_head),     cmocka_unit_test(test_radio),       cmocka_unit_test(test_line_and_frame),
        cmocka_unit_test(test_checks),   cmocka_unit_test(test_fields),      cmocka_unit_test(test_examples),
        cmocka_unit_test(test_warnings), cmocka_unit_test(test_all_at_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
