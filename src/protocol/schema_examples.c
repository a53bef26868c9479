/* Examples: a frame, and what it must read as. */
#include "bits.h"
#include "descriptor_examples.h"
#include "schema.h"
#include "schema_value.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define EXAMPLES_MAX 64

static int hex_digit(char c)
{
    return c >= '0' && c <= '9'   ? c - '0'
           : c >= 'A' && c <= 'F' ? c - 'A' + 10
           : c >= 'a' && c <= 'f' ? c - 'a' + 10
                                  : -1;
}

/* Hex digits, blanks between groups allowed, into one bit per byte. */
static bool read_hex(wh_loading *loading, const wh_yaml_node *node, uint8_t *bits, size_t *count)
{
    const char *const text = wh_value_scalar(loading->complaints, node);
    *count = 0;
    for (const char *c = text; c && *c; c++) {
        const int digit = hex_digit(*c);
        if (*c == ' ')
            continue;
        if (digit < 0 || *count + 4 > WH_FRAME_BITS_MAX) {
            wh_complain(loading->complaints, wh_yaml_span(node), NULL,
                        digit < 0 ? "'hex' has something else than hexadecimal digits"
                                  : "'hex' has more digits than the longest possible frame");
            return false;
        }
        for (int i = 3; i >= 0; i--)
            bits[(*count)++] = (uint8_t)(digit >> i & 1);
    }
    return text != NULL;
}

/* {hex: "0A1B", bits: 16} or {bits: "0101"}. */
static bool read_frame_bits(wh_loading *loading, const wh_yaml_node *node, uint8_t *bits, size_t *count)
{
    static const char *const keys[] = {"hex", "bits"};
    wh_complaints *const complaints = loading->complaints;
    if (!wh_value_map(complaints, node, "a frame", WH_WORDS_OF(keys)))
        return false;
    const wh_yaml_node *const hex = wh_yaml_find(node, "hex"), *const bits_node = wh_yaml_find(node, "bits");
    uint64_t used;
    if (!hex)
        return wh_value_digits(complaints, wh_value_need(complaints, node, "a frame without 'hex'", "bits"), bits,
                               WH_FRAME_BITS_MAX, count);
    if (!read_hex(loading, hex, bits, count))
        return false;
    if (!bits_node)
        return true;
    if (!wh_value_integer(complaints, bits_node, 1, WH_FRAME_BITS_MAX, &used))
        return false;
    if (used > *count || used + 8 <= *count) {
        wh_complain(complaints, wh_yaml_span(hex), NULL, "%zu hexadecimal digits do not make %llu bits", *count / 4,
                    (unsigned long long)used);
        return false;
    }
    for (size_t i = (size_t)used; i < *count; i++) {
        if (bits[i]) {
            wh_complain(complaints, wh_yaml_span(hex), "write zeros there", "bits beyond the %llu of the frame are set",
                        (unsigned long long)used);
            return false;
        }
    }
    *count = (size_t)used;
    return true;
}

static bool read_frame(wh_loading *loading, const wh_yaml_node *node, wh_example *example)
{
    const wh_frame_spec *const frame = &loading->descriptor->frame;
    uint8_t bits[WH_FRAME_BITS_MAX] = {0};
    size_t count;
    if (!read_frame_bits(loading, node, bits, &count))
        return false;
    const bool length_known = frame->bits_min > 0;
    if (length_known &&
        (count < frame->bits_min || count > frame->bits_max || (count - frame->bits_min) % frame->bits_step != 0)) {
        wh_complain(loading->complaints, wh_yaml_span(node), NULL, "the frame has %zu bits, the payload %s%u", count,
                    frame->bits_min == frame->bits_max ? "" : "at least ", frame->bits_min);
        return false;
    }
    example->bits = (uint16_t)count;
    wh_bits_pack(bits, count, example->frame);
    return true;
}

static bool read_expected_sensor(wh_loading *loading, const wh_yaml_node *node, const wh_field *field, wh_expected *out)
{
    const char *const text = wh_value_scalar(loading->complaints, node);
    const size_t digits = (wh_places_width(&field->at) + 3) / 4;
    if (!text)
        return false;
    bool good = strlen(text) == digits;
    for (size_t i = 0; good && i < digits; i++) {
        good = hex_digit(text[i]) >= 0;
        out->text[i] = (char)(text[i] >= 'a' && text[i] <= 'f' ? text[i] - 'a' + 'A' : text[i]);
    }
    if (!good)
        wh_complain(loading->complaints, wh_yaml_span(node), "leading zeros are written out",
                    "this sensor ID is written with %zu hexadecimal digits", digits);
    return good;
}

/* "724 kPa absolute" in the field's own reference. */
static bool read_expected_pressure(wh_loading *loading, const wh_yaml_node *node, const wh_field *field, double *number)
{
    static const char *const references[] = {" absolute", " gauge"};
    char text[64];
    bool absolute = field->absolute;
    if (!wh_value_text(loading->complaints, node, text, sizeof text))
        return false;
    for (unsigned i = 0; i < 2; i++) {
        const size_t length = strlen(text), tail = strlen(references[i]);
        if (length > tail && strcmp(text + length - tail, references[i]) == 0) {
            text[length - tail] = '\0';
            absolute = i == 0;
        }
    }
    if (wh_quantity_read(text, WH_DIM_PRESSURE, number) != WH_QUANTITY_OK) {
        wh_complain(loading->complaints, wh_yaml_span(node), "units: kPa, bar, psi or Pa; then absolute or gauge",
                    "'%.40s' is not a pressure", node->text);
        return false;
    }
    if (absolute != field->absolute)
        *number += absolute ? -WH_STANDARD_ATMOSPHERE_KPA : WH_STANDARD_ATMOSPHERE_KPA;
    return true;
}

/* A field with a number: "fault", "not available", the text of a state, or the number. */
static bool read_expected_number(wh_loading *loading, const wh_yaml_node *node, wh_field *field, wh_expected *out)
{
    const char *const text = wh_value_scalar(loading->complaints, node);
    if (!text)
        return false;
    if (strcmp(text, "fault") == 0) {
        out->state = WH_VALUE_FAULT;
        return true;
    }
    if (strcmp(text, "not available") == 0) {
        out->state = WH_VALUE_NOT_AVAILABLE;
        return true;
    }
    for (unsigned i = 0; i < field->code_count; i++) {
        if (field->codes[i].kind == WH_CODE_MEANING && strcmp(field->codes[i].text, text) == 0) {
            memcpy(out->text, field->codes[i].text, sizeof out->text);
            return true;
        }
    }
    if (field->role == WH_ROLE_PRESSURE)
        return read_expected_pressure(loading, node, field, &out->number);
    return wh_schema_field_number(loading, node, field, false, &out->number);
}

static bool read_expected(wh_loading *loading, const wh_yaml_node *node, wh_field *field, wh_expected *out)
{
    bool set;
    uint64_t constant;
    memcpy(out->field, field->name, sizeof out->field);
    out->state = WH_VALUE_OK;
    switch (field->role) {
    case WH_ROLE_SENSOR: return read_expected_sensor(loading, node, field, out);
    case WH_ROLE_FLAG:
        if (!wh_value_boolean(loading->complaints, node, &set))
            return false;
        out->number = set;
        return true;
    case WH_ROLE_CONSTANT: /* every frame is checked for its constants anyway */
        if (wh_value_integer(loading->complaints, node, 0, UINT64_MAX, &constant) && constant != field->constant)
            wh_complain(loading->complaints, wh_yaml_span(node), NULL, "the constant '%s' has another value",
                        field->name);
        out->number = (double)field->constant;
        return true;
    default: return read_expected_number(loading, node, field, out);
    }
}

/* The map of field names to values. `values` gets the node of each, for complaints. */
static void read_expectations(wh_loading *loading, const wh_yaml_node *node, wh_example *example,
                              const wh_yaml_node **values)
{
    wh_descriptor *const descriptor = loading->descriptor;
    const char *names[WH_FIELDS_MAX];
    for (unsigned i = 0; i < descriptor->field_count; i++)
        names[i] = descriptor->fields[i].name;
    if (!wh_value_map(loading->complaints, node, "the fields", (wh_words){names, descriptor->field_count}))
        return;
    if ((node->count == 0 && !descriptor->partial) || node->count > WH_EXPECTED_MAX) {
        wh_complain(loading->complaints, wh_yaml_span(node), NULL, "1 to %d values can be expected, not %u",
                    WH_EXPECTED_MAX, node->count);
        return;
    }
    for (const wh_yaml_node *value = node->first; value; value = value->next) {
        for (unsigned i = 0; i < descriptor->field_count; i++) {
            wh_expected *const expected = &example->expected[example->expected_count];
            if (strcmp(descriptor->fields[i].name, value->key->text) != 0)
                continue;
            /* Of a field that was complained about, role and unit may be unknown. */
            if (loading->field_good[i] && read_expected(loading, value, &descriptor->fields[i], expected))
                values[example->expected_count++] = value;
            else
                *expected = (wh_expected){.number = 0};
            break;
        }
    }
}

static void read_example(wh_loading *loading, const wh_yaml_node *node, wh_example *example)
{
    static const char *const keys[] = {"frame", "expect"};
    const wh_yaml_node *values[WH_EXPECTED_MAX] = {NULL};
    wh_complaints *const complaints = loading->complaints;
    if (!wh_value_map(complaints, node, "an example", WH_WORDS_OF(keys)))
        return;
    const wh_yaml_node *const frame = wh_value_need(complaints, node, "an example", "frame");
    const wh_yaml_node *const expect = loading->descriptor->partial
                                           ? wh_yaml_find(node, "expect")
                                           : wh_value_need(complaints, node, "an example", "expect");
    const bool has_frame = read_frame(loading, frame, example);
    read_expectations(loading, expect, example, values);
    /* Against a layout with errors an example would only fail for the same reasons again. */
    if (has_frame && complaints->errors == 0)
        wh_example_check(loading, example, frame, values);
}

void wh_schema_examples(wh_loading *loading, const wh_yaml_node *node)
{
    wh_descriptor *const descriptor = loading->descriptor;
    if (!wh_value_list(loading->complaints, node, EXAMPLES_MAX))
        return;
    descriptor->examples = calloc(node->count, sizeof *descriptor->examples);
    if (!descriptor->examples) {
        loading->complaints->memory_out = true;
        return;
    }
    for (const wh_yaml_node *entry = node->first; entry; entry = entry->next)
        read_example(loading, entry, &descriptor->examples[descriptor->example_count++]);
}
