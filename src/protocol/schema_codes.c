/* Raw values with a meaning of their own, and lookup tables. */
#include "schema.h"
#include "schema_value.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static uint64_t largest_raw(unsigned bits)
{
    return bits == 0 || bits >= 64 ? UINT64_MAX : (UINT64_C(1) << bits) - 1;
}

/* `raw: 0xFF` or `raw: {from: 0xF0, to: 0xFE}`. */
static bool read_raw(wh_loading *loading, const wh_yaml_node *node, unsigned bits, wh_code *code)
{
    static const char *const keys[] = {"from", "to"};
    wh_complaints *const complaints = loading->complaints;
    if (!node || node->kind == WH_YAML_REFUSED)
        return false;
    if (node->kind == WH_YAML_SCALAR) {
        if (!wh_value_integer(complaints, node, 0, largest_raw(bits), &code->from))
            return false;
        code->to = code->from;
        return true;
    }
    if (!wh_value_map(complaints, node, "a range of raw values", WH_WORDS_OF(keys)))
        return false;
    const wh_yaml_node *const to = wh_value_need(complaints, node, "a range of raw values", "to");
    const bool has_from = wh_value_integer(complaints, wh_value_need(complaints, node, "a range of raw values", "from"),
                                           0, largest_raw(bits), &code->from);
    if (!wh_value_integer(complaints, to, 0, largest_raw(bits), &code->to) || !has_from)
        return false;
    if (code->to < code->from)
        wh_complain(complaints, wh_yaml_span(to), NULL, "'to' is less than 'from'");
    return code->to >= code->from;
}

static bool read_meaning(wh_loading *loading, const wh_yaml_node *node, const wh_field *field, wh_code *code)
{
    static const char *const meanings[] = {"fault", "not available", "state"};
    static const wh_code_kind kinds[] = {WH_CODE_FAULT, WH_CODE_NOT_AVAILABLE, WH_CODE_MEANING};
    wh_complaints *const complaints = loading->complaints;
    const wh_yaml_node *const means = wh_value_need(complaints, node, "a code", "means");
    unsigned meaning;
    const bool good_text = !wh_yaml_find(node, "text") ||
                           wh_value_text(complaints, wh_yaml_find(node, "text"), code->text, sizeof code->text);
    if (!wh_value_choice(complaints, means, "meaning", WH_WORDS_OF(meanings), &meaning) || !good_text)
        return false;
    code->kind = kinds[meaning];
    if (code->kind != WH_CODE_MEANING)
        return true;
    if (field->role != WH_ROLE_VALUE) {
        wh_complain(complaints, wh_yaml_span(means), "possible here: fault, not available",
                    "only a field with the role 'value' has states");
        return false;
    }
    return wh_value_need(complaints, node, "a code that means a state", "text") != NULL;
}

static bool read_code(wh_loading *loading, const wh_yaml_node *node, const wh_field *field, unsigned bits,
                      wh_code *code)
{
    static const char *const keys[] = {"raw", "means", "text"};
    wh_complaints *const complaints = loading->complaints;
    if (!wh_value_map(complaints, node, "a code", WH_WORDS_OF(keys)))
        return false;
    const bool has_raw = read_raw(loading, wh_value_need(complaints, node, "a code", "raw"), bits, code);
    if (!read_meaning(loading, node, field, code) || !has_raw)
        return false;
    for (unsigned i = 0; i < field->code_count; i++) {
        if (code->from <= field->codes[i].to && field->codes[i].from <= code->to) {
            wh_complain(complaints, wh_yaml_span(node), NULL, "a raw value of this code already has another meaning");
            return false;
        }
    }
    return true;
}

void wh_schema_codes(wh_loading *loading, const wh_yaml_node *node, wh_field *field, unsigned bits)
{
    if (!wh_value_list(loading->complaints, node, WH_CODES_MAX))
        return;
    for (const wh_yaml_node *entry = node->first; entry; entry = entry->next) {
        wh_code code = {.from = 0};
        if (read_code(loading, entry, field, bits, &code))
            field->codes[field->code_count++] = code;
    }
}

/* The first raw value from `raw` on that no code covers. */
static uint64_t first_without_meaning(const wh_field *field, uint64_t raw)
{
    for (unsigned i = 0; i < field->code_count;) {
        const wh_code *const code = &field->codes[i++];
        if (raw >= code->from && raw <= code->to && raw < UINT64_MAX) {
            if (code->to == UINT64_MAX)
                return UINT64_MAX;
            raw = code->to + 1;
            i = 0;
        }
    }
    return raw;
}

static void read_table_entry(wh_loading *loading, const wh_yaml_node *entry, wh_field *field, double *value)
{
    *value = NAN;
    if (entry->kind != WH_YAML_SCALAR || strcmp(entry->text, "fault") != 0)
        wh_schema_field_number(loading, entry, field, false, value);
}

void wh_schema_table(wh_loading *loading, const wh_yaml_node *node, wh_field *field, unsigned bits)
{
    static const char *const keys[] = {"values"};
    wh_complaints *const complaints = loading->complaints;
    if (!wh_value_map(complaints, node, "a table", WH_WORDS_OF(keys)))
        return;
    const wh_yaml_node *const values = wh_value_need(complaints, node, "a table", "values");
    if (!wh_value_list(complaints, values, WH_YAML_LIST_MAX))
        return;
    if (bits > 0 && values->count - 1u > largest_raw(bits)) {
        wh_complain(complaints, wh_yaml_span(values), NULL, "the table has %u values, but %u bits count only to %llu",
                    values->count, bits, (unsigned long long)largest_raw(bits));
        return;
    }
    const uint64_t missing = first_without_meaning(field, values->count);
    if (bits > 0 && missing <= largest_raw(bits))
        wh_warn(complaints, wh_yaml_span(values),
                "it would give no value (implausible); if that is meant, say so with 'codes'",
                "neither the table nor a code says what raw %llu means", (unsigned long long)missing);
    field->table = calloc(values->count, sizeof *field->table);
    if (!field->table) {
        complaints->memory_out = true;
        return;
    }
    field->table_count = values->count;
    size_t i = 0;
    for (const wh_yaml_node *entry = values->first; entry; entry = entry->next)
        read_table_entry(loading, entry, field, &field->table[i++]);
}
