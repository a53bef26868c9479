#include "schema.h"
#include "schema_value.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* How far a pulse may be from whole chips, in chips. Half a chip would be ambiguous; data sheets round to about 5 %. */
#define PULSE_TOLERANCE_CHIPS 0.1

/* Append the chips of one {high: duration} or {low: duration}. */
static bool read_pulse(wh_loading *loading, const wh_yaml_node *node, uint8_t *chips, size_t *count)
{
    static const char *const keys[] = {"high", "low"};
    wh_complaints *const complaints = loading->complaints;
    double duration;
    if (!wh_value_map(complaints, node, "a pulse", WH_WORDS_OF(keys)))
        return false;
    if (node->count != 1) {
        wh_complain(complaints, wh_yaml_span(node), "write [{high: 800 us}, {low: 400 us}]",
                    "a pulse has one key, 'high' or 'low'");
        return false;
    }
    const wh_yaml_node *const value = node->first;
    if (!wh_value_quantity(complaints, value, WH_DIM_DURATION, 1e-6, 0.1, &duration))
        return false;
    const double exact = duration * loading->rate_hz;
    const double whole = round(exact);
    if (whole < 1 || fabs(exact - whole) > PULSE_TOLERANCE_CHIPS) {
        wh_complain(complaints, wh_yaml_span(value), "every pulse is a whole number of chips",
                    "%s is %.2f chips at this chip rate", value->text, exact);
        return false;
    }
    if ((double)*count + whole > WH_LINE_PATTERN_MAX) {
        wh_complain(complaints, wh_yaml_span(value), NULL, "the bit becomes longer than %d chips", WH_LINE_PATTERN_MAX);
        return false;
    }
    const uint8_t chip = strcmp(value->key->text, "high") == 0;
    for (unsigned i = 0; i < (unsigned)whole; i++)
        chips[(*count)++] = chip;
    return true;
}

static bool read_pulses(wh_loading *loading, const wh_yaml_node *node, uint8_t *chips, size_t *count)
{
    if (!wh_value_list(loading->complaints, node, WH_LINE_PATTERN_MAX))
        return false;
    if (loading->rate_kind != WH_RATE_CHIPS) {
        if (loading->rate_kind == WH_RATE_BITS)
            wh_complain(loading->complaints, wh_yaml_span(node), "give 'chip rate' or 'chip length' in radio",
                        "durations need the length of a chip; a bit rate does not tell it");
        return false;
    }
    bool good = true;
    for (const wh_yaml_node *entry = node->first; entry; entry = entry->next)
        good = read_pulse(loading, entry, chips, count) && good;
    return good;
}

/* The chips of one bit: {chips: "110"} or a list of pulses. */
static bool read_bit_pattern(wh_loading *loading, const wh_yaml_node *node, uint8_t *chips, uint8_t *out_count)
{
    static const char *const keys[] = {"chips"};
    wh_complaints *const complaints = loading->complaints;
    size_t count = 0;
    if (!node || node->kind == WH_YAML_REFUSED)
        return false;
    if (node->kind == WH_YAML_LIST) {
        if (!read_pulses(loading, node, chips, &count))
            return false;
    } else {
        if (!wh_value_map(complaints, node, "the pattern of a bit", WH_WORDS_OF(keys)) ||
            !wh_value_digits(complaints, wh_value_need(complaints, node, "the pattern of a bit", "chips"), chips,
                             WH_LINE_PATTERN_MAX, &count))
            return false;
    }
    if (count < 2) {
        wh_complain(complaints, wh_yaml_span(node), NULL, "a bit of a pulse-width code has 2 to %d chips",
                    WH_LINE_PATTERN_MAX);
        return false;
    }
    *out_count = (uint8_t)count;
    return true;
}

/* Two words can be told apart in every sequence of them unless both are powers of one shorter word, which is the case
 * exactly when the order of putting them together does not matter (Lyndon and Schuetzenberger 1962). */
static bool patterns_differ(const wh_line_spec *line)
{
    uint8_t one_zero[2 * WH_LINE_PATTERN_MAX], zero_one[2 * WH_LINE_PATTERN_MAX];
    memcpy(one_zero, line->one_chips, line->one_count);
    memcpy(one_zero + line->one_count, line->zero_chips, line->zero_count);
    memcpy(zero_one, line->zero_chips, line->zero_count);
    memcpy(zero_one + line->zero_count, line->one_chips, line->one_count);
    return memcmp(one_zero, zero_one, (size_t)line->one_count + line->zero_count) != 0;
}

static void read_pulse_width(wh_loading *loading, const wh_yaml_node *node)
{
    wh_complaints *const complaints = loading->complaints;
    wh_line_spec *const line = &loading->descriptor->line;
    const wh_yaml_node *const one = wh_value_need(complaints, node, "a pulse-width line code", "one");
    const wh_yaml_node *const zero = wh_value_need(complaints, node, "a pulse-width line code", "zero");
    const bool has_one = read_bit_pattern(loading, one, line->one_chips, &line->one_count);
    if (!read_bit_pattern(loading, zero, line->zero_chips, &line->zero_count) || !has_one)
        return;
    if (!patterns_differ(line))
        wh_complain(complaints, wh_yaml_span(zero), NULL, "one and zero cannot be told apart");
}

/* The sense of a code with two of them: the index of the word is `inverted`. */
static void read_sense(wh_loading *loading, const wh_yaml_node *node, bool required, const char *what, wh_words senses)
{
    wh_complaints *const complaints = loading->complaints;
    static const char *const zero[] = {"zero"};
    unsigned sense;
    const wh_yaml_node *const one = required ? wh_value_need(complaints, node, what, "one") : wh_yaml_find(node, "one");
    if (wh_value_choice(complaints, one, "sense of a one", senses, &sense))
        loading->descriptor->line.inverted = sense == 1;
    wh_value_forbid(complaints, node, what, WH_WORDS_OF(zero));
}

void wh_schema_line(wh_loading *loading, const wh_yaml_node *node)
{
    static const char *const keys[] = {"code", "one", "zero"};
    static const char *const codes[] = {"nrz",          "manchester",    "differential-manchester",
                                        "biphase-mark", "biphase-space", "pulse-width"};
    static const wh_line_kind kinds[] = {WH_LINE_NRZ,          WH_LINE_MANCHESTER,    WH_LINE_DIFFERENTIAL_MANCHESTER,
                                         WH_LINE_BIPHASE_MARK, WH_LINE_BIPHASE_SPACE, WH_LINE_PULSE_WIDTH};
    static const char *const levels[] = {"high", "low"}, *const halves[] = {"high-low", "low-high"},
                             *const edges[] = {"no edge", "edge"}, *const both[] = {"one", "zero"};
    wh_complaints *const complaints = loading->complaints;
    unsigned code;
    if (!wh_value_map(complaints, node, "line", WH_WORDS_OF(keys)) ||
        !wh_value_choice(complaints, wh_value_need(complaints, node, "line", "code"), "line code", WH_WORDS_OF(codes),
                         &code))
        return;
    loading->descriptor->line.kind = kinds[code];
    switch (kinds[code]) {
    case WH_LINE_NRZ: read_sense(loading, node, false, "an NRZ line code", WH_WORDS_OF(levels)); break;
    case WH_LINE_MANCHESTER: read_sense(loading, node, true, "a Manchester line code", WH_WORDS_OF(halves)); break;
    case WH_LINE_DIFFERENTIAL_MANCHESTER:
        read_sense(loading, node, false, "a differential Manchester line code", WH_WORDS_OF(edges));
        break;
    case WH_LINE_PULSE_WIDTH: read_pulse_width(loading, node); break;
    default: wh_value_forbid(complaints, node, "a biphase line code", WH_WORDS_OF(both)); break;
    }
}
