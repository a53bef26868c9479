/* Values in people's words to the bits of a frame. */
#include "bits.h"
#include "decimal.h"
#include "field_value.h"
#include "frame_fields.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

static const char *skip_blanks(const char *text)
{
    while (*text == ' ' || *text == '\t')
        text++;
    return text;
}

/* Names match without regard to case, and '_' and '-' stand for a blank. */
static bool same_name(const char *a, const char *b)
{
    for (; *a && *b; a++, b++) {
        const char x = *a == '_' || *a == '-' ? ' ' : (char)tolower((unsigned char)*a);
        const char y = *b == '_' || *b == '-' ? ' ' : (char)tolower((unsigned char)*b);
        if (x != y)
            return false;
    }
    return *a == *b;
}

static wh_status no_such_field(const wh_descriptor *descriptor, const char *name, wh_error *error)
{
    char names[200] = "";
    size_t used = 0;
    for (unsigned i = 0; i < descriptor->field_count && used < sizeof names; i++)
        if (descriptor->fields[i].role != WH_ROLE_CONSTANT)
            used += (size_t)snprintf(names + used, sizeof names - used, "%s%s", used ? ", " : "",
                                     descriptor->fields[i].name);
    char fix[264];
    snprintf(fix, sizeof fix, "fields of %s: %s", descriptor->name, names);
    return wh_fail(error, WH_ERR_NOT_FOUND, fix, "there is no field '%s' in %s", name, descriptor->name);
}

/* The whole of `text` as hexadecimal digits, with or without 0x; false when anything else stands there or it has
 * more than 64 bits. */
static bool parse_hex(const char *text, uint64_t *value)
{
    if (text[0] == '0' && (text[1] == 'x' || text[1] == 'X'))
        text += 2;
    bool any = false;
    uint64_t sum = 0;
    for (; isxdigit((unsigned char)*text); text++) {
        if (sum >> 60)
            return false;
        const int c = tolower((unsigned char)*text);
        sum = sum << 4 | (uint64_t)(c <= '9' ? c - '0' : c - 'a' + 10);
        any = true;
    }
    *value = sum;
    return any && *skip_blanks(text) == '\0';
}

static wh_status set_raw(const wh_field *field, wh_frame_bits *frame, uint64_t raw, const char *text, wh_error *error)
{
    const unsigned bits = wh_places_bits(&field->at);
    if (raw > wh_bits_mask(bits))
        return wh_fail(error, WH_ERR_LIMIT, "use a smaller number", "%s: '%s' does not fit the field's %u bits",
                       field->name, text, bits);
    wh_field_raw_write(field, frame, raw);
    return WH_OK;
}

static wh_status set_sensor(const wh_field *field, wh_frame_bits *frame, const char *text, wh_error *error)
{
    uint64_t raw = 0;
    if (!parse_hex(text, &raw))
        return wh_fail(error, WH_ERR_ARGUMENT, "write the sensor ID in hexadecimal digits, e.g. 0A1B2C3D",
                       "%s: '%s' is no sensor ID", field->name, text);
    return set_raw(field, frame, raw, text, error);
}

static wh_status set_flag(const wh_field *field, wh_frame_bits *frame, const char *text, wh_error *error)
{
    static const char *const words[][2] = {{"no", "yes"}, {"0", "1"}, {"off", "on"}, {"false", "true"}};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        for (unsigned value = 0; value < 2; value++)
            if (strcasecmp(text, words[i][value]) == 0) {
                wh_field_raw_write(field, frame, value);
                return WH_OK;
            }
    return wh_fail(error, WH_ERR_ARGUMENT, "write yes or no", "%s: '%s' is neither yes nor no", field->name, text);
}

/* "fault", "not available", or the text of one of the field's codes. */
static bool find_code(const wh_field *field, const char *text, uint64_t *raw)
{
    const bool fault = same_name(text, "fault"), missing = same_name(text, "not available");
    for (unsigned i = 0; i < field->code_count; i++) {
        const wh_code *code = &field->codes[i];
        if ((fault && code->kind == WH_CODE_FAULT) || (missing && code->kind == WH_CODE_NOT_AVAILABLE) ||
            (code->text[0] && same_name(text, code->text))) {
            *raw = code->from;
            return true;
        }
    }
    for (size_t i = 0; fault && i < field->table_count; i++) {
        if (isnan(field->table[i])) {
            *raw = i;
            return true;
        }
    }
    return false;
}

/* A pressure with unit and reference to the field's own reference, in kPa. */
static bool parse_pressure(const wh_field *field, const char *unit_text, double number, wh_absolute site, double *kpa)
{
    char unit_name[8] = "";
    size_t n = 0;
    while (isalpha((unsigned char)unit_text[n]) && n < sizeof unit_name - 1) {
        unit_name[n] = unit_text[n];
        n++;
    }
    wh_pressure_unit unit;
    if (strcasecmp(unit_name, "Pa") == 0)
        *kpa = number / 1000.0;
    else if (wh_pressure_unit_parse(unit_name, &unit))
        *kpa = wh_kpa_from(number, unit);
    else
        return false;
    const char *reference = skip_blanks(unit_text + n);
    const bool absolute = strcasecmp(reference, "absolute") == 0;
    if (!absolute && *reference != '\0' && strcasecmp(reference, "gauge") != 0)
        return false;
    if (absolute && !field->absolute)
        *kpa = wh_gauge_of((wh_absolute){*kpa}, site).kpa;
    if (!absolute && field->absolute)
        *kpa = wh_absolute_of((wh_gauge){*kpa}, site).kpa;
    return true;
}

static bool parse_temperature(const char *unit, double number, double *celsius)
{
    if (strncasecmp(unit, "deg", 3) == 0)
        unit += 3;
    if (strcasecmp(unit, "C") == 0)
        *celsius = number;
    else if (strcasecmp(unit, "F") == 0)
        *celsius = (number - 32.0) * 5.0 / 9.0;
    else if (strcasecmp(unit, "K") == 0)
        *celsius = number - 273.15;
    else
        return false;
    return true;
}

/* Number with unit to the unit of the field. */
static wh_status parse_number(const wh_field *field, const char *text, wh_absolute site, double *value, wh_error *error)
{
    double number = 0.0;
    const size_t used = wh_decimal_read(text, &number);
    const char *unit = skip_blanks(text + used);
    const char *fix = NULL;
    bool good = false;
    switch (field->role) {
    case WH_ROLE_PRESSURE:
        fix = "write a number with kPa, bar or psi, then gauge or absolute, e.g. \"724 kPa gauge\"; or fault, or not "
              "available";
        good = used && parse_pressure(field, unit, number, site, value);
        break;
    case WH_ROLE_TEMPERATURE:
        fix = "write a number with degC, degF or K, e.g. \"18.5 degC\"; or fault, or not available";
        good = used && parse_temperature(unit, number, value);
        break;
    default:
        fix = "write a number, with the field's own unit or none, or one of the field's words";
        good = used && (*unit == '\0' || strcmp(unit, field->unit) == 0);
        *value = number;
        break;
    }
    return good ? WH_OK : wh_fail(error, WH_ERR_ARGUMENT, fix, "%s: '%s' cannot be understood", field->name, text);
}

static wh_status out_of_range(const wh_field *field, const char *text, double low, double high, wh_error *error)
{
    const char *unit = field->role == WH_ROLE_PRESSURE      ? "kPa"
                       : field->role == WH_ROLE_TEMPERATURE ? "degC"
                                                            : field->unit;
    const char *reference = field->role != WH_ROLE_PRESSURE ? "" : field->absolute ? " absolute" : " gauge";
    char fix[160];
    snprintf(fix, sizeof fix, "the field holds %.6g to %.6g %s%s", low, high, unit, reference);
    return wh_fail(error, WH_ERR_LIMIT, fix, "%s: '%s' is out of range", field->name, text);
}

/* Entry of the lookup table nearest to the value. */
static wh_status set_from_table(const wh_field *field, wh_frame_bits *frame, double value, const char *text,
                                wh_error *error)
{
    size_t best = field->table_count;
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < field->table_count; i++) {
        if (isnan(field->table[i]))
            continue;
        low = fmin(low, field->table[i]);
        high = fmax(high, field->table[i]);
        if (best == field->table_count || fabs(field->table[i] - value) < fabs(field->table[best] - value))
            best = i;
    }
    if (best == field->table_count || value < low || value > high)
        return out_of_range(field, text, low, high, error);
    return set_raw(field, frame, best, text, error);
}

static wh_status set_scaled(const wh_field *field, wh_frame_bits *frame, double value, const char *text,
                            wh_error *error)
{
    const unsigned bits = wh_places_bits(&field->at);
    const double count = nearbyint((value - field->offset) / field->scale);
    const double full = ldexp(1.0, (int)bits), half = full / 2.0;
    const double least = field->sign == WH_UNSIGNED ? 0.0 : field->sign == WH_TWOS_COMPLEMENT ? -half : 1.0 - half;
    const double most = (field->sign == WH_UNSIGNED ? full : half) - 1.0;
    if (!(count >= least && count <= most)) {
        const double a = least * field->scale + field->offset, b = most * field->scale + field->offset;
        return out_of_range(field, text, fmin(a, b), fmax(a, b), error);
    }
    uint64_t raw = (uint64_t)fabs(count);
    if (count < 0.0)
        raw = field->sign == WH_SIGN_MAGNITUDE ? raw | (uint64_t)1 << (bits - 1) : (~raw + 1) & wh_bits_mask(bits);
    const wh_code *code = wh_field_code(field, raw);
    if (code && code->kind != WH_CODE_MEANING)
        return wh_fail(error, WH_ERR_LIMIT, "choose another value, or write fault or not available",
                       "%s: '%s' would be raw value 0x%llX, which means '%s'", field->name, text,
                       (unsigned long long)raw,
                       code->text[0]                 ? code->text
                       : code->kind == WH_CODE_FAULT ? "fault"
                                                     : "not available");
    return set_raw(field, frame, raw, text, error);
}

static wh_status set_number(const wh_field *field, wh_frame_bits *frame, const char *text, wh_absolute site,
                            wh_error *error)
{
    uint64_t raw = 0;
    if (find_code(field, text, &raw))
        return set_raw(field, frame, raw, text, error);
    double value = 0.0;
    const wh_status status = parse_number(field, text, site, &value, error);
    if (status != WH_OK)
        return status;
    return field->table ? set_from_table(field, frame, value, text, error)
                        : set_scaled(field, frame, value, text, error);
}

wh_status wh_field_set(const wh_descriptor *descriptor, wh_frame_bits *frame, const char *name, const char *value,
                       wh_absolute site, wh_error *error)
{
    const wh_field *field = NULL;
    for (unsigned i = 0; i < descriptor->field_count && !field; i++)
        if (same_name(descriptor->fields[i].name, name))
            field = &descriptor->fields[i];
    if (!field)
        return no_such_field(descriptor, name, error);
    const char *text = skip_blanks(value);
    uint64_t raw = 0;
    if (field->role == WH_ROLE_CONSTANT)
        return wh_fail(error, WH_ERR_ARGUMENT, "leave it out", "%s is a constant and cannot be set", field->name);
    if (strncasecmp(text, "raw ", 4) == 0) {
        if (!parse_hex(skip_blanks(text + 4), &raw))
            return wh_fail(error, WH_ERR_ARGUMENT, "write raw and hexadecimal digits, e.g. \"raw FF\"",
                           "%s: '%s' is no raw value", field->name, text);
        return set_raw(field, frame, raw, text, error);
    }
    switch (field->role) {
    case WH_ROLE_SENSOR: return set_sensor(field, frame, text, error);
    case WH_ROLE_FLAG: return set_flag(field, frame, text, error);
    default: return set_number(field, frame, text, site, error);
    }
}
