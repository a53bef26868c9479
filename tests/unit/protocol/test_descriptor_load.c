/* What a good descriptor file compiles to. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "descriptor_model.h"
#include "descriptor_sample.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void assert_near(double a, double b)
{
    assert_true(fabs(a - b) <= 1e-9 * fmax(1, fabs(b)));
}

/* A text that must load without a word; the set owns the descriptor. */
static const wh_descriptor *load_good(const char *text, wh_descriptor_set **set)
{
    sample_log *const log = malloc(sizeof *log);
    wh_status status;
    assert_non_null(log);
    *set = sample_load(text, log, &status);
    for (unsigned i = 0; i < log->count; i++)
        print_message("%u:%u %s\n", log->items[i].line, log->items[i].column, log->items[i].reason);
    assert_int_equal(status, WH_OK);
    assert_int_equal(log->count, 0);
    free(log);
    assert_int_equal(wh_descriptor_set_count(*set), 1);
    return wh_descriptor_set_at(*set, 0);
}

static void assert_pattern(const wh_pattern *pattern, bool chips, const char *digits)
{
    assert_int_equal(pattern->chips, chips);
    assert_int_equal(pattern->count, strlen(digits));
    for (size_t i = 0; i < strlen(digits); i++)
        assert_int_equal(pattern->value[i], digits[i] - '0');
}

static void test_radio_and_frame(void **state)
{
    (void)state;
    wh_descriptor_set *set;
    const wh_descriptor *const d = load_good(sample_text, &set);
    assert_string_equal(wh_descriptor_name(d), "sample");
    assert_string_equal(wh_descriptor_summary(d), "Invented sensor for tests");
    assert_string_equal(wh_descriptor_path(d), "sample.yaml");
    assert_int_equal(d->provenance, WH_INVENTED);
    assert_int_equal(d->carrier_count, 2);
    assert_near(d->carriers_hz[0], 433.92e6);
    assert_near(d->carriers_hz[1], 315e6);
    assert_near(d->carrier_tolerance_hz, 110e3);
    assert_int_equal(d->radio.modulation, WH_MOD_FSK);
    assert_near(d->radio.chip_rate_hz, 20e3);
    assert_near(d->radio.rate_tolerance, 0.05);
    assert_near(d->radio.deviation_hz, 40e3);
    assert_near(d->radio.deviation_tolerance, 0.25);
    assert_false(d->radio.low_tone_is_one);
    assert_int_equal(d->line.kind, WH_LINE_MANCHESTER);
    assert_false(d->line.inverted);
    assert_pattern(&d->frame.preamble, false, "1");
    assert_int_equal(d->frame.preamble_repeats, 20);
    assert_pattern(&d->frame.sync, true, "1111000011");
    assert_int_equal(d->frame.bits_min, 80);
    assert_int_equal(d->frame.bits_max, 80);
    assert_true(d->frame.bits_step >= 1);
    assert_int_equal(d->frame.end.count, 0);
    assert_false(d->frame.low_bit_first);
    assert_int_equal(d->copies, 3);
    assert_near(d->gap_min_s, 0.025); /* one duration: half of it either way */
    assert_near(d->gap_max_s, 0.075);
    wh_descriptor_set_destroy(&set);
}

static void test_checks_and_fields(void **state)
{
    (void)state;
    wh_descriptor_set *set;
    const wh_descriptor *const d = load_good(sample_text, &set);
    assert_int_equal(d->check_count, 1);
    const wh_check *const check = &d->checks[0];
    assert_int_equal(check->kind, WH_CHECK_CRC);
    assert_string_equal(check->name, "frame check");
    assert_int_equal(check->width, 8);
    assert_int_equal(check->polynomial, 0x07);
    assert_int_equal(check->over.count, 1);
    assert_int_equal(check->over.piece[0].length, 72);
    assert_int_equal(check->at.piece[0].at, 72);

    assert_int_equal(d->field_count, 7);
    const wh_field *const pressure = &d->fields[1];
    assert_int_equal(pressure->role, WH_ROLE_PRESSURE);
    assert_true(pressure->absolute);
    assert_near(pressure->scale, 2.5);
    assert_near(pressure->offset, 100);
    assert_true(pressure->has_plausible);
    assert_near(pressure->plausible_high, 1500);
    assert_int_equal(pressure->code_count, 2);
    assert_int_equal(pressure->codes[0].kind, WH_CODE_FAULT);
    assert_string_equal(pressure->codes[0].text, "sensor error");
    assert_int_equal(pressure->codes[1].from, 0xF0);
    assert_int_equal(pressure->codes[1].to, 0xFE);
    const wh_field *const battery = &d->fields[3];
    assert_int_equal(battery->role, WH_ROLE_VALUE);
    assert_string_equal(battery->unit, "V");
    assert_int_equal(battery->table_count, 4);
    assert_near(battery->table[1], 2.2);
    assert_true(isnan(battery->table[2]));
    assert_int_equal(d->fields[4].codes[0].kind, WH_CODE_MEANING);
    assert_int_equal(d->fields[5].role, WH_ROLE_FLAG);
    assert_int_equal(d->fields[6].role, WH_ROLE_CONSTANT);
    assert_int_equal(d->fields[6].constant, 5);

    assert_int_equal(d->example_count, 1);
    assert_int_equal(d->examples[0].bits, 80);
    assert_int_equal(d->examples[0].frame[9], 0xA4);
    assert_int_equal(d->examples[0].expected_count, 6);
    assert_string_equal(d->examples[0].expected[0].text, "0A1B2C3D");
    assert_near(d->examples[0].expected[1].number, 325);
    wh_descriptor_set_destroy(&set);
}

/* The sample with one part changed, and a look at what became of it. */
static const wh_descriptor *load_changed(const char *old, const char *new, wh_descriptor_set **set)
{
    char *const text = sample_with(old, new, NULL, NULL);
    const wh_descriptor *const d = load_good(text, set);
    free(text);
    return d;
}

static void test_speeds(void **state)
{
    (void)state;
    wh_descriptor_set *set;
    /* Manchester has two chips a bit; 50 us are 20 000 chips a second. */
    assert_near(load_changed("chip rate: 20 kchip/s", "bit rate: 9.6 kbit/s", &set)->radio.chip_rate_hz, 19200);
    wh_descriptor_set_destroy(&set);
    assert_near(load_changed("chip rate: 20 kchip/s", "chip length: 50 us", &set)->radio.chip_rate_hz, 20000);
    wh_descriptor_set_destroy(&set);
    const wh_descriptor *d = load_changed("deviation: 40 kHz",
                                          "deviation: 40 kHz\n  deviation tolerance: 10 %\n  rate tolerance: 10 %\n"
                                          "  carrier tolerance: 60 kHz\n  chip one: lower tone",
                                          &set);
    assert_near(d->radio.deviation_tolerance, 0.1);
    assert_near(d->radio.rate_tolerance, 0.1);
    assert_near(d->carrier_tolerance_hz, 60e3);
    assert_true(d->radio.low_tone_is_one);
    wh_descriptor_set_destroy(&set);
    d = load_changed("  modulation: fsk\n  chip rate: 20 kchip/s\n  deviation: 40 kHz",
                     "  modulation: ook\n  chip rate: 4 kchip/s", &set);
    assert_int_equal(d->radio.modulation, WH_MOD_OOK);
    assert_near(d->radio.deviation_hz, 0);
    wh_descriptor_set_destroy(&set);
}

static void test_line_codes(void **state)
{
    static const struct {
        const char *line;
        wh_line_kind kind;
        bool inverted;
        double chip_rate; /* at 4 kbit/s */
    } rows[] = {
        {"code: nrz", WH_LINE_NRZ, false, 4e3},
        {"code: nrz\n  one: low", WH_LINE_NRZ, true, 4e3},
        {"code: manchester\n  one: low-high", WH_LINE_MANCHESTER, true, 8e3},
        {"code: differential-manchester", WH_LINE_DIFFERENTIAL_MANCHESTER, false, 8e3},
        {"code: differential-manchester\n  one: no edge", WH_LINE_DIFFERENTIAL_MANCHESTER, false, 8e3},
        {"code: differential-manchester\n  one: edge", WH_LINE_DIFFERENTIAL_MANCHESTER, true, 8e3},
        {"code: biphase-mark", WH_LINE_BIPHASE_MARK, false, 8e3},
        {"code: biphase-space", WH_LINE_BIPHASE_SPACE, false, 8e3},
        {"code: pulse-width\n  one: {chips: \"110\"}\n  zero: {chips: \"100\"}", WH_LINE_PULSE_WIDTH, false, 12e3},
    };
    (void)state;
    char *const base = sample_with("chip rate: 20 kchip/s", "bit rate: 4 kbit/s", NULL, NULL);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        static const char old[] = "code: manchester\n  one: high-low";
        char text[4096];
        const char *const place = strstr(base, old);
        snprintf(text, sizeof text, "%.*s%s%s", (int)(place - base), base, rows[i].line, place + strlen(old));
        wh_descriptor_set *set;
        const wh_descriptor *const d = load_good(text, &set);
        assert_int_equal(d->line.kind, rows[i].kind);
        assert_int_equal(d->line.inverted, rows[i].inverted);
        assert_near(d->radio.chip_rate_hz, rows[i].chip_rate);
        wh_descriptor_set_destroy(&set);
    }
    free(base);
}

/* Durations become chips: at 400 us a chip, 1/3 - 2/3 pulse width is 100 and 110; a twentieth of a chip is forgiven. */
static void test_pulses(void **state)
{
    (void)state;
    wh_descriptor_set *set;
    const wh_descriptor *const d = load_changed("  chip rate: 20 kchip/s\n  deviation: 40 kHz\n"
                                                "line:\n  code: manchester\n  one: high-low\n",
                                                "  chip length: 400 us\n  deviation: 40 kHz\n"
                                                "line:\n  code: pulse-width\n"
                                                "  one: [{high: 780 us}, {low: 400 us}]\n"
                                                "  zero: [{high: 0.4 ms}, {low: 820 us}]\n",
                                                &set);
    static const uint8_t one[] = {1, 1, 0}, zero[] = {1, 0, 0};
    assert_near(d->radio.chip_rate_hz, 2500);
    assert_int_equal(d->line.one_count, 3);
    assert_int_equal(d->line.zero_count, 3);
    assert_memory_equal(d->line.one_chips, one, 3);
    assert_memory_equal(d->line.zero_chips, zero, 3);
    wh_descriptor_set_destroy(&set);
}

static void test_frames(void **state)
{
    (void)state;
    wh_descriptor_set *set;
    const wh_descriptor *d = load_changed("payload: 80 bits",
                                          "payload: {least: 80 bits, most: 104 bits}\n  end: {bits: \"01 10\"}\n"
                                          "  bit order: low bit first",
                                          &set);
    assert_int_equal(d->frame.bits_min, 80);
    assert_int_equal(d->frame.bits_max, 104);
    assert_int_equal(d->frame.bits_step, 8);
    assert_pattern(&d->frame.end, false, "0110");
    assert_true(d->frame.low_bit_first);
    wh_descriptor_set_destroy(&set);
    d = load_changed("gap: 50 ms", "gap: {least: 20 ms, most: 0.1 s}", &set);
    assert_near(d->gap_min_s, 0.02);
    assert_near(d->gap_max_s, 0.1);
    wh_descriptor_set_destroy(&set);
}

/* Gauge and absolute differ by the standard atmosphere, 101.325 kPa (US Standard Atmosphere 1976): 325 kPa absolute is
 * 223.675 kPa gauge, and 32.44 psi (6.894757 kPa each, NIST SP 811). */
static void test_example_units(void **state)
{
    (void)state;
    wh_descriptor_set *set;
    load_changed("325 kPa absolute", "223.675 kPa gauge", &set);
    wh_descriptor_set_destroy(&set);
    load_changed("325 kPa absolute", "32.44 psi gauge", &set);
    wh_descriptor_set_destroy(&set);
    load_changed("325 kPa absolute", "3.25 bar", &set); /* the field's own reference */
    wh_descriptor_set_destroy(&set);
    char *const gauge = sample_with("reference: absolute", "reference: gauge", NULL, NULL);
    char *const both = sample_change(gauge, "325 kPa absolute", "426.325 kPa absolute", NULL, NULL);
    load_good(both, &set);
    wh_descriptor_set_destroy(&set);
    free(both);
    free(gauge);
    load_changed("temperature: 18 degC", "temperature: 64.4 degF", &set); /* 18 x 1.8 + 32 */
    wh_descriptor_set_destroy(&set);
}

/* A partial descriptor needs neither fields nor examples. */
static void test_partial(void **state)
{
    (void)state;
    wh_descriptor_set *set;
    const wh_descriptor *const d = load_good("wheelhark descriptor: 1\n"
                                             "name: unknown-1\n"
                                             "summary: Heard in the yard, not understood\n"
                                             "partial: true\n"
                                             "provenance: {kind: measured}\n"
                                             "radio: {carriers: [315 MHz], modulation: ook, bit rate: 4 kbit/s}\n"
                                             "line: {code: manchester, one: low-high}\n"
                                             "frame: {sync: {bits: 00000001}, payload: 64 bits}\n"
                                             "steady: [{from: 0, bits: 24}, {from: 60, bits: 4}]\n",
                                             &set);
    assert_true(d->partial);
    assert_int_equal(d->provenance, WH_MEASURED);
    assert_int_equal(d->steady.count, 2);
    assert_int_equal(d->steady.piece[1].at, 60);
    assert_pattern(&d->frame.sync, false, "00000001");
    assert_int_equal(d->copies, 1);
    assert_near(d->gap_max_s, 0.5);
    wh_descriptor_set_destroy(&set);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_radio_and_frame), cmocka_unit_test(test_checks_and_fields),
        cmocka_unit_test(test_speeds),          cmocka_unit_test(test_line_codes),
        cmocka_unit_test(test_pulses),          cmocka_unit_test(test_frames),
        cmocka_unit_test(test_example_units),   cmocka_unit_test(test_partial),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
