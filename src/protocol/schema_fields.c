#include "decimal.h"
#include "schema.h"
#include "schema_value.h"

#include <string.h>

#define FIELD_BITS_MAX 64

/* In the order of wh_field_role. */
static const char *const roles[] = {"sensor", "pressure", "temperature", "value", "flag", "constant"};
static const char *const role_names[] = {"a sensor field", "a pressure field", "a temperature field",
                                         "a value field",  "a flag",           "a constant"};

static bool is_number(wh_field_role role)
{
    return role == WH_ROLE_PRESSURE || role == WH_ROLE_TEMPERATURE || role == WH_ROLE_VALUE;
}

bool wh_schema_field_number(wh_loading *loading, const wh_yaml_node *node, wh_field *field, bool step, double *value)
{
    wh_complaints *const complaints = loading->complaints;
    if (field->role == WH_ROLE_PRESSURE)
        return wh_value_quantity(complaints, node, WH_DIM_PRESSURE, -1e6, 1e6, value);
    if (field->role == WH_ROLE_TEMPERATURE)
        return wh_value_quantity(complaints, node, step ? WH_DIM_TEMPERATURE_STEP : WH_DIM_TEMPERATURE, -1e6, 1e6,
                                 value);
    const char *const text = wh_value_scalar(complaints, node);
    double number;
    if (!text)
        return false;
    const size_t used = wh_decimal_read(text, &number);
    if (used == 0) {
        wh_complain(complaints, wh_yaml_span(node), NULL, "'%.40s' is not a number", text);
        return false;
    }
    const char *const unit = text + used + strspn(text + used, " ");
    if (*unit && field->unit[0] && strcmp(unit, field->unit) != 0) {
        wh_complain(complaints, wh_yaml_span(node), NULL, "the unit of this field is '%s', not '%.40s'", field->unit,
                    unit);
        return false;
    }
    if (strlen(unit) >= sizeof field->unit) {
        wh_complain(complaints, wh_yaml_span(node), NULL, "a unit has at most %zu bytes", sizeof field->unit - 1);
        return false;
    }
    if (*unit)
        memcpy(field->unit, unit, strlen(unit) + 1);
    *value = number;
    return true;
}

/* Letters, digits, spaces, '-' and '_', and no second field of that name; names differ in more than '_' and ' ',
 * because spaces become '_' in the output. */
static void check_name(wh_loading *loading, const wh_yaml_node *node, unsigned index)
{
    const wh_field *const fields = loading->descriptor->fields;
    const char *const name = fields[index].name;
    if (strspn(name, "abcdefghijklmnopqrstuvwxyz0123456789 -_") != strlen(name) || name[0] == ' ')
        wh_complain(loading->complaints, wh_yaml_span(node), NULL,
                    "a field's name has lower case letters, digits, blanks, '-' and '_' only");
    for (unsigned i = 0; i < index; i++) {
        const char *a = name, *b = fields[i].name;
        while (*a && (*a == *b || (strchr(" _", *a) && *b && strchr(" _", *b)))) {
            a++;
            b++;
        }
        if (*a == '\0' && *b == '\0') {
            wh_complain(loading->complaints, wh_yaml_span(node), NULL, "a second field with the name '%s'", name);
            return;
        }
    }
}

static void forbid_foreign_keys(wh_loading *loading, const wh_yaml_node *node, wh_field_role role)
{
    static const char *const number_keys[] = {"sign", "scale", "offset", "plausible", "codes", "table"};
    static const char *const unit[] = {"unit"}, *const reference[] = {"reference"}, *const value[] = {"value"};
    wh_complaints *const complaints = loading->complaints;
    if (!is_number(role))
        wh_value_forbid(complaints, node, role_names[role], WH_WORDS_OF(number_keys));
    if (role != WH_ROLE_VALUE)
        wh_value_forbid(complaints, node, role_names[role], WH_WORDS_OF(unit));
    if (role != WH_ROLE_PRESSURE)
        wh_value_forbid(complaints, node, role_names[role], WH_WORDS_OF(reference));
    if (role != WH_ROLE_CONSTANT)
        wh_value_forbid(complaints, node, role_names[role], WH_WORDS_OF(value));
}

static void read_scale(wh_loading *loading, const wh_yaml_node *node, wh_field *field)
{
    static const char *const signs[] = {"unsigned", "two's complement", "sign and magnitude"};
    static const wh_sign sign_of[] = {WH_UNSIGNED, WH_TWOS_COMPLEMENT, WH_SIGN_MAGNITUDE};
    wh_complaints *const complaints = loading->complaints;
    const wh_yaml_node *const scale = field->role == WH_ROLE_VALUE
                                          ? wh_yaml_find(node, "scale")
                                          : wh_value_need(complaints, node, role_names[field->role], "scale");
    unsigned sign;
    if (wh_value_choice(complaints, wh_yaml_find(node, "sign"), "sign", WH_WORDS_OF(signs), &sign))
        field->sign = sign_of[sign];
    if (scale && wh_schema_field_number(loading, scale, field, true, &field->scale) && field->scale == 0)
        wh_complain(complaints, wh_yaml_span(scale), NULL, "with a scale of 0 every value is the same");
    const wh_yaml_node *const offset = wh_yaml_find(node, "offset");
    if (offset)
        wh_schema_field_number(loading, offset, field, false, &field->offset);
}

static void read_plausible(wh_loading *loading, const wh_yaml_node *node, wh_field *field)
{
    static const char *const keys[] = {"least", "most"};
    wh_complaints *const complaints = loading->complaints;
    double least, most;
    if (!wh_value_map(complaints, node, "plausible", WH_WORDS_OF(keys)))
        return;
    const wh_yaml_node *const least_node = wh_value_need(complaints, node, "plausible", "least");
    const wh_yaml_node *const most_node = wh_value_need(complaints, node, "plausible", "most");
    const bool has_least = least_node && wh_schema_field_number(loading, least_node, field, false, &least);
    if (!most_node || !wh_schema_field_number(loading, most_node, field, false, &most) || !has_least)
        return;
    if (most <= least) {
        wh_complain(complaints, wh_yaml_span(most_node), NULL, "'most' must be more than 'least'");
        return;
    }
    field->has_plausible = true;
    field->plausible_low = least;
    field->plausible_high = most;
}

static void read_number(wh_loading *loading, const wh_yaml_node *node, wh_field *field, unsigned bits)
{
    static const char *const references[] = {"absolute", "gauge"};
    static const char *const not_with_table[] = {"sign", "scale", "offset"};
    wh_complaints *const complaints = loading->complaints;
    const wh_yaml_node *const table = wh_yaml_find(node, "table");
    unsigned reference;
    wh_value_text(complaints, wh_yaml_find(node, "unit"), field->unit, sizeof field->unit);
    if (field->role == WH_ROLE_PRESSURE &&
        wh_value_choice(complaints, wh_value_need(complaints, node, role_names[field->role], "reference"), "reference",
                        WH_WORDS_OF(references), &reference))
        field->absolute = reference == 0;
    if (table)
        wh_value_forbid(complaints, node, "a field with a table", WH_WORDS_OF(not_with_table));
    else
        read_scale(loading, node, field);
    wh_schema_codes(loading, wh_yaml_find(node, "codes"), field, bits);
    wh_schema_table(loading, table, field, bits);
    read_plausible(loading, wh_yaml_find(node, "plausible"), field);
}

static void read_constant(wh_loading *loading, const wh_yaml_node *node, wh_field *field, unsigned bits)
{
    const wh_yaml_node *const value = wh_value_need(loading->complaints, node, role_names[WH_ROLE_CONSTANT], "value");
    if (value && wh_value_integer(loading->complaints, value, 0, UINT64_MAX, &field->constant) && bits > 0 &&
        bits < 64 && field->constant >> bits != 0)
        wh_complain(loading->complaints, wh_yaml_span(value), NULL, "%s does not fit the field's %u bits", value->text,
                    bits);
}

/* Returns the width of the field, 0 when it could not be read. */
static unsigned read_place(wh_loading *loading, const wh_yaml_node *node, wh_field *field, unsigned index)
{
    wh_complaints *const complaints = loading->complaints;
    const wh_yaml_node *const place = wh_value_need(complaints, node, "a field", "place");
    const wh_yaml_node *const byte_order = wh_yaml_find(node, "byte order");
    loading->field_place[index] = place;
    wh_value_bit_order(complaints, wh_yaml_find(node, "bit order"), &field->low_bit_first);
    wh_value_byte_order(complaints, byte_order, &field->low_byte_first);
    wh_value_boolean(complaints, wh_yaml_find(node, "inverted"), &field->inverted);
    if (!wh_value_places(complaints, place, &field->at))
        return 0;
    const unsigned bits = wh_places_width(&field->at);
    if (bits > FIELD_BITS_MAX) {
        wh_complain(complaints, wh_yaml_span(place), NULL, "a field has at most %d bits, not %u", FIELD_BITS_MAX, bits);
        return 0;
    }
    if (field->low_byte_first && field->low_bit_first)
        wh_warn(complaints, wh_yaml_span(byte_order),
                "remove one of the two; 'low bit first' turns the whole value round",
                "with 'low bit first' the byte order has no effect");
    if (field->low_byte_first && bits % 8 != 0)
        wh_complain(complaints, wh_yaml_span(byte_order), NULL, "a field of %u bits has no whole bytes to order", bits);
    return bits;
}

static void read_field(wh_loading *loading, const wh_yaml_node *node)
{
    static const char *const keys[] = {"name",      "role",  "place", "bit order", "byte order",
                                       "inverted",  "sign",  "scale", "offset",    "reference",
                                       "plausible", "codes", "table", "unit",      "value"};
    wh_complaints *const complaints = loading->complaints;
    wh_descriptor *const descriptor = loading->descriptor;
    const unsigned errors_before = complaints->errors;
    unsigned role;
    if (!wh_value_map(complaints, node, "a field", WH_WORDS_OF(keys)))
        return;
    const unsigned index = descriptor->field_count++;
    wh_field *const field = &descriptor->fields[index];
    loading->field_node[index] = node;
    field->scale = 1;
    const wh_yaml_node *const name = wh_value_need(complaints, node, "a field", "name");
    if (wh_value_text(complaints, name, field->name, sizeof field->name))
        check_name(loading, name, index);
    const unsigned bits = read_place(loading, node, field, index);
    if (!wh_value_choice(complaints, wh_value_need(complaints, node, "a field", "role"), "role", WH_WORDS_OF(roles),
                         &role))
        return;
    field->role = (wh_field_role)role;
    forbid_foreign_keys(loading, node, field->role);
    if (is_number(field->role))
        read_number(loading, node, field, bits);
    else if (field->role == WH_ROLE_CONSTANT)
        read_constant(loading, node, field, bits);
    loading->field_good[index] = complaints->errors == errors_before;
}

void wh_schema_fields(wh_loading *loading, const wh_yaml_node *node)
{
    if (!wh_value_list(loading->complaints, node, WH_FIELDS_MAX))
        return;
    for (const wh_yaml_node *entry = node->first; entry; entry = entry->next)
        read_field(loading, entry);
}
