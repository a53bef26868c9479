#include "descriptor_examples.h"
#include "frame_fields.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* What a frame says about one field. */
typedef struct found {
    wh_value_state state;
    double number;
    const char *text;
    char shown[96]; /* for people */
} found;

static void check_frame(wh_loading *loading, const wh_frame_bits *frame, const wh_yaml_node *node)
{
    const wh_descriptor *const descriptor = loading->descriptor;
    wh_frame_bits right = *frame;
    wh_checks_write(descriptor, &right);
    for (unsigned i = 0; i < descriptor->check_count; i++) {
        const wh_check *const check = &descriptor->checks[i];
        if (wh_check_holds(descriptor, i, frame))
            continue;
        const uint64_t is = wh_places_read(frame, &check->at, check->low_bit_first, check->low_byte_first);
        const uint64_t ought = wh_places_read(&right, &check->at, check->low_bit_first, check->low_byte_first);
        const int digits = (check->width + 3) / 4;
        wh_complain(loading->complaints, wh_yaml_span(node), "one of frame, range and parameters of the check is wrong",
                    "the check '%s' does not hold: the frame has 0x%0*llX, its bits give 0x%0*llX", check->name, digits,
                    (unsigned long long)is, digits, (unsigned long long)ought);
    }
    const int constant = wh_constants_mismatch(descriptor, frame);
    if (constant >= 0)
        wh_complain(loading->complaints, wh_yaml_span(node), NULL, "the constant '%s' has another value in this frame",
                    descriptor->fields[constant].name);
}

static void show_number(const wh_field *field, found *is)
{
    const char *const unit = field->role == WH_ROLE_PRESSURE      ? (field->absolute ? "kPa absolute" : "kPa gauge")
                             : field->role == WH_ROLE_TEMPERATURE ? "degC"
                                                                  : field->unit;
    if (is->state == WH_VALUE_FAULT)
        snprintf(is->shown, sizeof is->shown, "a fault");
    else if (is->state == WH_VALUE_NOT_AVAILABLE)
        snprintf(is->shown, sizeof is->shown, "not available");
    else if (is->state == WH_VALUE_IMPLAUSIBLE)
        snprintf(is->shown, sizeof is->shown, "implausible");
    else if (is->state == WH_VALUE_ABSENT)
        snprintf(is->shown, sizeof is->shown, "absent");
    else if (is->text[0])
        snprintf(is->shown, sizeof is->shown, "%s", is->text);
    else
        snprintf(is->shown, sizeof is->shown, "%.9g%s%s", is->number, unit[0] ? " " : "", unit);
}

static void find_value(const wh_reading *reading, const wh_field *field, found *is)
{
    for (unsigned i = 0; i < reading->value_count; i++) {
        if (strcmp(reading->values[i].name, field->name) == 0)
            *is = (found){reading->values[i].state, reading->values[i].value, reading->values[i].text, ""};
    }
    show_number(field, is);
}

static void find_flag(const wh_reading *reading, const wh_field *field, found *is)
{
    for (unsigned i = 0; i < reading->flag_count; i++) {
        if (strcmp(reading->flags[i].name, field->name) == 0)
            *is = (found){WH_VALUE_OK, reading->flags[i].set, "", ""};
    }
    snprintf(is->shown, sizeof is->shown, "%s",
             is->state == WH_VALUE_ABSENT ? "absent"
             : is->number != 0            ? "yes"
                                          : "no");
}

static found find(const wh_reading *reading, const wh_field *field)
{
    found is = {.state = WH_VALUE_ABSENT, .text = ""};
    switch (field->role) {
    case WH_ROLE_SENSOR:
        is = (found){WH_VALUE_OK, 0, reading->sensor, ""};
        snprintf(is.shown, sizeof is.shown, "%s", reading->sensor);
        break;
    case WH_ROLE_PRESSURE:
        is.state = reading->pressure_state;
        is.number = field->absolute ? reading->absolute.kpa : reading->pressure.kpa;
        show_number(field, &is);
        break;
    case WH_ROLE_TEMPERATURE:
        is.state = reading->temperature_state;
        is.number = reading->temperature_c;
        show_number(field, &is);
        break;
    case WH_ROLE_VALUE: find_value(reading, field, &is); break;
    case WH_ROLE_FLAG: find_flag(reading, field, &is); break;
    default: break;
    }
    return is;
}

/* Half a count of the field: what rounding an example's value to the nearest count can cost. */
static double tolerance_of(const wh_field *field)
{
    if (!field->table)
        return 0.5 * fabs(field->scale) * (1 + 1e-9);
    double nearest = INFINITY; /* of two table values */
    for (size_t i = 0; i < field->table_count; i++) {
        for (size_t j = 0; j < i; j++) {
            const double distance = fabs(field->table[i] - field->table[j]);
            if (distance > 0 && distance < nearest) /* false for NaN */
                nearest = distance;
        }
    }
    return isfinite(nearest) ? 0.5 * nearest : 0;
}

static bool agrees(const wh_field *field, const wh_expected *expected, const found *is)
{
    if (expected->state != is->state)
        return false;
    if (expected->state != WH_VALUE_OK)
        return true;
    if (expected->text[0] || field->role == WH_ROLE_SENSOR)
        return strcmp(expected->text, is->text) == 0;
    return fabs(expected->number - is->number) <= (field->role == WH_ROLE_FLAG ? 0 : tolerance_of(field));
}

void wh_example_check(wh_loading *loading, const wh_example *example, const wh_yaml_node *frame_node,
                      const wh_yaml_node *const *values)
{
    const wh_descriptor *const descriptor = loading->descriptor;
    wh_frame_bits frame = {.count = example->bits};
    wh_reading reading = {.offset_s = 0};
    memcpy(frame.data, example->frame, sizeof frame.data);
    check_frame(loading, &frame, frame_node);
    wh_fields_decode(descriptor, &frame, (wh_absolute){WH_STANDARD_ATMOSPHERE_KPA}, &reading);
    for (unsigned i = 0; i < example->expected_count; i++) {
        const wh_expected *const expected = &example->expected[i];
        for (unsigned j = 0; j < descriptor->field_count; j++) {
            const wh_field *const field = &descriptor->fields[j];
            if (strcmp(field->name, expected->field) != 0 || field->role == WH_ROLE_CONSTANT)
                continue;
            const found is = find(&reading, field);
            if (!agrees(field, expected, &is))
                wh_complain(loading->complaints, wh_yaml_span(values[i]), NULL, "'%s' reads as %s in this frame",
                            field->name, is.shown);
        }
    }
}
