/* The half of a draft that is about what the bits mean. */
#include "bits.h"
#include "draft_impl.h"
#include "truth_match.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define EXAMPLES_MOST 6
#define FAMILY_BITS   8 /* constant bits in front that are more than chance with the IDs of two sensors: 2^-8 */

void wh_draft_places(const wh_places *places, wh_text *out)
{
    wh_text_add(out, places->count > 1 ? "[" : "");
    for (unsigned i = 0; i < places->count; i++)
        wh_text_print(out, "%s{from: %u, bits: %u}", i ? ", " : "", places->piece[i].at, places->piece[i].length);
    wh_text_add(out, places->count > 1 ? "]" : "");
}

static void write_chance(const wh_check_found *found, wh_text *out)
{
    wh_text_print(out, "    # holds in %u of %u different frames; checks like it that would hold by chance: ",
                  found->holding, found->frames);
    if (found->chance > 0.0)
        wh_text_print(out, "10^%d", (int)ceil(log10(found->chance)));
    else
        wh_text_add(out, "none");
    if (found->alike > 0)
        wh_text_print(out, "; %u other way%s to write it fit these frames too", found->alike,
                      found->alike == 1 ? "" : "s");
    wh_text_add(out, "\n");
}

static void write_check(const wh_check_found *found, wh_text *out)
{
    static const char *const kinds[WH_CHECK_KIND_COUNT] = {"crc", "sum",         "two's complement sum",
                                                           "xor", "even parity", "odd parity"};
    const wh_check *check = &found->check;
    const bool parity = check->kind == WH_CHECK_PARITY_EVEN || check->kind == WH_CHECK_PARITY_ODD;
    wh_text_print(out, "  - kind: %s\n", kinds[check->kind]);
    write_chance(found, out);
    if (!parity)
        wh_text_print(out, "    width: %u bits\n", check->width);
    if (check->kind == WH_CHECK_CRC) {
        wh_text_print(out, "    polynomial: 0x%X%s%s%s\n", (unsigned)check->polynomial,
                      found->algorithm[0] ? "  # this is " : "", found->algorithm,
                      found->algorithm[0] ? " of the public catalogue" : "");
        if (check->reflect_in)
            wh_text_add(out, "    reflect in: yes\n");
        if (check->reflect_out)
            wh_text_add(out, "    reflect out: yes\n");
    } else if (!parity && check->word != 8) {
        wh_text_print(out, "    word: %u bits\n", check->word);
    }
    if (check->start)
        wh_text_print(out, "    start: 0x%X\n", (unsigned)check->start);
    if (check->final_xor)
        wh_text_print(out, "    final xor: 0x%X\n", (unsigned)check->final_xor);
    if (check->low_byte_first)
        wh_text_add(out, "    byte order: low byte first\n");
    wh_text_add(out, "    over: ");
    wh_draft_places(&check->over, out);
    wh_text_add(out, "\n    place: ");
    wh_draft_places(&check->at, out);
    wh_text_add(out, "\n");
}

static void write_checks(const wh_field_study *s, wh_text *out)
{
    unsigned written = 0;
    for (unsigned i = 0; i < s->checks.count && written < WH_CHECKS_MAX; i++) {
        if (s->checks.found[i].bytes_turned)
            continue; /* cannot be written for bits in this order */
        wh_text_add(out, written++ ? "" : "checks:\n");
        write_check(&s->checks.found[i], out);
    }
    if (written == 0)
        wh_text_add(out, "# checks: open. None was found that chance does not explain; more frames with other values "
                         "may show one.\n");
}

static void write_orders(bool low_bit_first, bool low_byte_first, wh_text *out)
{
    if (low_bit_first)
        wh_text_add(out, "    bit order: low bit first\n");
    else if (low_byte_first)
        wh_text_add(out, "    byte order: low byte first\n");
}

/* "0.1 kPa", with as many decimals as it takes. */
static void amount(const char *key, double value, const char *unit, wh_text *out)
{
    char number[WH_FIXED_SIZE];
    wh_text_print(out, "    %s: %s %s\n", key, wh_plain(number, value, 9), unit);
}

static void write_fit(const wh_fit *fit, bool pressure, wh_text *out)
{
    const wh_places at = {1, {{(uint16_t)fit->at, (uint16_t)fit->bits}}};
    const char *unit = pressure ? "kPa" : "degC";
    char number[WH_FIXED_SIZE];
    const bool calibrated = fit->calibration != WH_OPEN;
    wh_text_print(out, "  - name: %s%s\n    role: %s\n", pressure ? "pressure" : "temperature",
                  calibrated ? "" : " count",
                  !calibrated ? "value"
                  : pressure  ? "pressure"
                              : "temperature");
    wh_text_print(out, "    # place %s; %u frames, %u different values from %s", wh_certainty_name(fit->place),
                  fit->samples, fit->levels, wh_fixed(number, fit->least, 1));
    wh_text_print(out, " to %s %s", wh_fixed(number, fit->most, 1), unit);
    wh_text_print(out, "; residuals %s rms,", wh_fixed(number, fit->residual_rms, 2));
    wh_text_print(out, " %s at most\n    # measured scale", wh_fixed(number, fit->residual_most, 2));
    wh_text_print(out, " %s", wh_plain(number, fit->scale, 6));
    wh_text_print(out, " +- %s", wh_plain(number, fit->scale_error, 6));
    wh_text_print(out, ", offset %s", wh_plain(number, fit->offset, 3));
    wh_text_print(out, " +- %s%s\n", wh_plain(number, fit->offset_error, 3), pressure ? " as gauge pressure" : "");
    if (fit->advice[0])
        wh_text_print(out, "    # %s\n", fit->advice);
    wh_text_add(out, "    place: ");
    wh_draft_places(&at, out);
    wh_text_add(out, "\n");
    write_orders(fit->low_bit_first, fit->low_byte_first, out);
    if (fit->sign == WH_TWOS_COMPLEMENT)
        wh_text_add(out, "    sign: two's complement\n");
    if (!calibrated)
        return;
    amount("scale", fit->simple_scale, unit, out);
    if (fit->simple_offset != 0.0)
        amount("offset", fit->simple_offset, unit, out);
    if (pressure)
        wh_text_print(out, "    reference: %s  # %s\n", fit->absolute ? "absolute" : "gauge",
                      wh_certainty_name(fit->reference));
}

static void write_id(const wh_field_study *s, wh_text *out)
{
    char number[WH_FIXED_SIZE];
    wh_text_add(out, "  - name: sensor\n    role: sensor\n");
    if (s->printed.found)
        wh_text_print(out, "    # certain: %u of %u printed IDs stand here\n", s->printed.matched, s->printed.named);
    else
        wh_text_print(out, "    # likely: probability %s; the printed number of one sensor would make it certain\n",
                      wh_fixed(number, s->id_probability, 3));
    wh_text_add(out, "    place: ");
    wh_draft_places(&s->id_field.at, out);
    wh_text_add(out, "\n");
    write_orders(s->id_field.low_bit_first, s->id_field.low_byte_first, out);
    if (s->id_field.inverted)
        wh_text_add(out, "    inverted: yes\n");
}

static bool in_places(const wh_places *places, unsigned c)
{
    for (unsigned i = 0; i < places->count; i++)
        if (c >= places->piece[i].at && c < places->piece[i].at + (unsigned)places->piece[i].length)
            return true;
    return false;
}

static bool in_fit(const wh_fit *fit, unsigned c)
{
    return fit->found && c >= fit->at && c < fit->at + fit->bits;
}

static bool claimed(const wh_field_study *s, unsigned c)
{
    return s->columns.column[c].kind == WH_COLUMN_CHECK || in_fit(&s->pressure, c) || in_fit(&s->temperature, c) ||
           in_places(&s->steady, c);
}

/* Constant whole bytes before everything that varies say what family the sensor is of. Later ones may be states that happened not
 * to change, and all-zero or all-one bytes tell nothing. */
static void write_family(const wh_field_study *s, wh_text *out)
{
    unsigned end = 0;
    while (end < s->columns.count && s->columns.column[end].kind == WH_COLUMN_CONSTANT && !claimed(s, end))
        end++;
    const unsigned bits = end >= s->grid + FAMILY_BITS ? s->grid + (end - s->grid) / 8 * 8 : 0;
    const wh_frame_bits *frame = &s->rows.row[0].bits;
    if (bits < FAMILY_BITS || bits > 32 || s->sensors < 2)
        return;
    const uint64_t value = wh_bits_read(frame->data, 0, bits);
    const unsigned ones = (unsigned)__builtin_popcountll(value);
    if (ones < 2 || bits - ones < 2)
        return;
    wh_text_print(out,
                  "  - name: family  # likely: alike in all frames of %u sensors\n    role: constant\n    place: "
                  "{from: 0, bits: %u}\n"
                  "    value: 0x%llX\n",
                  s->sensors, bits, (unsigned long long)value);
}

static void write_numbers(const wh_field_study *s, wh_text *out)
{
    unsigned written = 0;
    for (unsigned i = 0; i < s->columns.number_count && written < 8; i++) {
        const wh_number_place *number = &s->columns.number[i];
        bool free_place = true;
        for (unsigned c = number->at; c < number->at + number->bits; c++)
            free_place &= !claimed(s, c);
        if (!free_place)
            continue;
        char mean[WH_FIXED_SIZE];
        written++;
        wh_text_print(out, "  - name: %s %u  # likely: ", number->counter ? "counter" : "number", written);
        if (number->counter)
            wh_text_print(out, "goes on by %s from frame to frame\n", wh_plain(mean, number->step, 0));
        else
            wh_text_print(out, "changes slowly, by %s a frame; pressure and temperature do\n",
                          wh_plain(mean, number->step, 1));
        const bool pair = s->gas.count > 0 && !s->pressure.found;
        if (pair && s->gas.pair[0].pressure == i)
            wh_text_add(out, "    # by the gas law this may be the pressure\n");
        if (pair && s->gas.pair[0].temperature == i)
            wh_text_add(out, "    # by the gas law this may be the temperature\n");
        wh_text_print(out, "    role: value\n    place: {from: %u, bits: %u}\n", number->at, number->bits);
        write_orders(number->low_bit_first, false, out);
    }
}

/* One character a column, for people who go on from here. */
static void write_map(const wh_field_study *s, wh_text *out)
{
    static const char signs[WH_COLUMN_KIND_COUNT] = {'=', 's', '~', '+', '?', 'c'};
    wh_text_add(out, "# What each bit did: = never changed, s changes with the sensor, ~ slowly, + counts, ? as it "
                     "likes, c check.\n");
    for (unsigned c = 0; c < s->columns.count; c++) {
        if (c % 64 == 0)
            wh_text_print(out, "%s# %3u ", c ? "\n" : "", c);
        wh_text_print(out, "%s%c", c % 8 == 0 ? " " : "", signs[s->columns.column[c].kind]);
    }
    wh_text_add(out, "\n");
}

static bool any_field(const wh_field_study *s)
{
    bool any = s->has_id || s->pressure.found || s->temperature.found;
    for (unsigned i = 0; i < s->columns.number_count; i++)
        any |= !claimed(s, s->columns.number[i].at);
    return any;
}

static void write_fields(const wh_field_study *s, wh_text *out)
{
    write_map(s, out);
    if (any_field(s)) {
        const size_t before = out->length;
        wh_text_add(out, "fields:\n");
        const size_t begun = out->length;
        write_family(s, out);
        if (s->has_id)
            write_id(s, out);
        if (s->pressure.found)
            write_fit(&s->pressure, true, out);
        if (s->temperature.found)
            write_fit(&s->temperature, false, out);
        write_numbers(s, out);
        if (out->length == begun && out->data) { /* nothing after all */
            out->length = before;
            out->data[before] = '\0';
        }
    }
    if (s->has_id || s->steady.count == 0)
        return;
    char number[WH_FIXED_SIZE];
    wh_text_print(out,
                  "# The ID's place is open (best guess %s): a nickname is made of these bits instead. Two nicknames "
                  "are two sensors\n"
                  "# with probability %s;",
                  wh_fixed(number, s->id_probability, 2), wh_fixed(number, wh_nickname_two_sensors(s), 3));
    wh_text_print(out,
                  " two sensors share one with %s%%.\nsteady: ", wh_plain(number, 100.0 * wh_nickname_collision(s), 6));
    wh_draft_places(&s->steady, out);
    wh_text_add(out, "\n");
}

static double value_in(const wh_fit *fit, const wh_field_row *row)
{
    const uint32_t raw = wh_field_row_value(row, fit->at, fit->bits, fit->low_bit_first, fit->low_byte_first);
    const bool negative = fit->sign == WH_TWOS_COMPLEMENT && raw >> (fit->bits - 1);
    return ((double)raw - (negative ? exp2(fit->bits) : 0.0)) * fit->simple_scale + fit->simple_offset;
}

static void write_expected(const wh_draft *draft, const wh_field_row *row, wh_text *out)
{
    const wh_field_study *s = draft->fields;
    char number[WH_FIXED_SIZE];
    const char *between = "    expect: {";
    if (s->has_id) {
        const unsigned bits = wh_places_bits(&s->id_field.at);
        wh_text_print(out, "%ssensor: \"%0*llX\"", between, (int)((bits + 3) / 4),
                      (unsigned long long)wh_field_raw(&s->id_field, &row->bits));
        between = ", ";
    }
    if (s->pressure.found && s->pressure.calibration != WH_OPEN) {
        wh_text_print(out, "%spressure: %s kPa %s", between, wh_plain(number, value_in(&s->pressure, row), 6),
                      s->pressure.absolute ? "absolute" : "gauge");
        between = ", ";
    }
    if (s->temperature.found && s->temperature.calibration != WH_OPEN) {
        wh_text_print(out, "%stemperature: %s degC", between, wh_plain(number, value_in(&s->temperature, row), 6));
        between = ", ";
    }
    wh_text_add(out, between[0] == ',' ? "}" : "");
    double known;
    if (draft->truth && wh_truth_value(draft->truth, row, s->sensor_names[row->sensor], true, &known))
        wh_text_print(out, "  # the gauge read %s kPa", wh_plain(number, known, 1));
    wh_text_add(out, between[0] == ',' ? "\n" : "");
}

/* The first frame of each sensor, then the last of each. */
static void write_examples(const wh_draft *draft, wh_text *out)
{
    const wh_field_study *s = draft->fields;
    bool used[WH_STUDY_SENSORS_MAX] = {false};
    unsigned written = 0;
    wh_text_add(out, "examples:  # frames that were heard; what they mean is what this draft makes of them\n");
    for (unsigned pass = 0; pass < 2; pass++) {
        memset(used, 0, sizeof used);
        for (size_t i = 0; i < s->rows.count && written < EXAMPLES_MOST; i++) {
            const wh_field_row *row = &s->rows.row[pass ? s->rows.count - 1 - i : i];
            if (row->sensor >= WH_STUDY_SENSORS_MAX || used[row->sensor])
                continue;
            used[row->sensor] = true;
            written++;
            wh_text_add(out, "  - frame: {hex: \"");
            for (unsigned k = 0; k < s->rows.columns; k += 4) {
                const unsigned bits = s->rows.columns - k < 4 ? s->rows.columns - k : 4;
                wh_text_print(out, "%X", (unsigned)(wh_bits_read(row->bits.data, k, bits) << (4 - bits)));
            }
            wh_text_print(out, "\", bits: %u}\n", s->rows.columns);
            write_expected(draft, row, out);
        }
    }
}

void wh_draft_meaning(const wh_draft *draft, wh_text *out)
{
    write_checks(draft->fields, out);
    write_fields(draft->fields, out);
    write_examples(draft, out);
}
