/* What no section of a descriptor can see alone. */
#include "schema.h"
#include "schema_value.h"

#include <stdio.h>
#include <string.h>

/* Bits of the frame, one per byte. */
typedef struct bit_set {
    bool has[WH_FRAME_BITS_MAX];
} bit_set;

static void add_places(bit_set *set, const wh_places *places)
{
    for (unsigned i = 0; i < places->count; i++)
        memset(set->has + places->piece[i].at, true, places->piece[i].length);
}

/* The first bit in both, or -1. */
static int first_common(const bit_set *a, const bit_set *b)
{
    for (int bit = 0; bit < WH_FRAME_BITS_MAX; bit++) {
        if (a->has[bit] && b->has[bit])
            return bit;
    }
    return -1;
}

/* Checks, constants and the sensor ID must be there in every frame; what else lies beyond the shortest payload is
 * simply absent from shorter frames. */
static void check_within(wh_loading *loading, const wh_yaml_node *node, const wh_places *places, bool every_frame)
{
    const wh_frame_spec *const frame = &loading->descriptor->frame;
    const unsigned bits = every_frame ? frame->bits_min : frame->bits_max;
    unsigned end = 0;
    if (!node || bits == 0)
        return;
    for (unsigned i = 0; i < places->count; i++) {
        const unsigned piece_end = places->piece[i].at + (unsigned)places->piece[i].length;
        end = piece_end > end ? piece_end : end;
    }
    if (end > bits)
        wh_complain(loading->complaints, wh_yaml_span(node), "bits count from 0 = first bit after the sync",
                    "the place reaches bit %u, but the %spayload ends with bit %u", end - 1,
                    frame->bits_min == frame->bits_max ? ""
                    : every_frame                      ? "shortest "
                                                       : "longest ",
                    bits - 1u);
}

static void check_checks(wh_loading *loading)
{
    const wh_descriptor *const descriptor = loading->descriptor;
    for (unsigned i = 0; i < descriptor->check_count; i++) {
        const wh_check *const check = &descriptor->checks[i];
        bit_set over = {{false}}, at = {{false}};
        check_within(loading, loading->check_over[i], &check->over, true);
        check_within(loading, loading->check_place[i], &check->at, true);
        add_places(&over, &check->over);
        add_places(&at, &check->at);
        const int common = first_common(&over, &at);
        if (common >= 0)
            wh_complain(loading->complaints, wh_yaml_span(loading->check_place[i]),
                        "leave the check's own bits out of 'over'", "bit %d is checked and is itself part of the check",
                        common);
    }
}

static void check_fields(wh_loading *loading)
{
    const wh_descriptor *const descriptor = loading->descriptor;
    for (unsigned i = 0; i < descriptor->field_count; i++) {
        bit_set own = {{false}};
        const wh_field_role role = descriptor->fields[i].role;
        add_places(&own, &descriptor->fields[i].at);
        check_within(loading, loading->field_place[i], &descriptor->fields[i].at,
                     role == WH_ROLE_SENSOR || role == WH_ROLE_CONSTANT);
        for (unsigned j = 0; j < i + descriptor->check_count; j++) {
            const bool field = j < i;
            bit_set other = {{false}};
            add_places(&other, field ? &descriptor->fields[j].at : &descriptor->checks[j - i].at);
            const int common = first_common(&own, &other);
            if (common >= 0)
                wh_warn(loading->complaints, wh_yaml_span(loading->field_place[i]), NULL,
                        "bit %d also belongs to %s '%s'", common, field ? "the field" : "the check",
                        field ? descriptor->fields[j].name : descriptor->checks[j - i].name);
        }
    }
}

/* One sensor ID, pressure and temperature; no more values and flags than a reading holds. */
static void check_roles(wh_loading *loading)
{
    static const unsigned most[WH_ROLE_COUNT] = {[WH_ROLE_SENSOR] = 1,
                                                 [WH_ROLE_PRESSURE] = 1,
                                                 [WH_ROLE_TEMPERATURE] = 1,
                                                 [WH_ROLE_VALUE] = WH_READING_VALUES_MAX,
                                                 [WH_ROLE_FLAG] = WH_READING_FLAGS_MAX,
                                                 [WH_ROLE_CONSTANT] = WH_FIELDS_MAX};
    static const char *const names[WH_ROLE_COUNT] = {"sensor", "pressure", "temperature", "value", "flag", "constant"};
    const wh_descriptor *const descriptor = loading->descriptor;
    unsigned count[WH_ROLE_COUNT] = {0};
    for (unsigned i = 0; i < descriptor->field_count; i++) {
        const wh_field_role role = descriptor->fields[i].role;
        if (loading->field_good[i] && ++count[role] == most[role] + 1)
            wh_complain(loading->complaints, wh_yaml_span(loading->field_node[i]),
                        "several places of one field are written as a list", "more than %u field%s with the role '%s'",
                        most[role], most[role] == 1 ? "" : "s", names[role]);
        if (loading->field_good[i] && role == WH_ROLE_SENSOR && descriptor->partial)
            wh_complain(loading->complaints, wh_yaml_span(loading->field_node[i]), "remove 'partial: yes'",
                        "a partial descriptor has no sensor field");
    }
}

static void read_steady(wh_loading *loading, const wh_yaml_node *node)
{
    if (!node)
        return;
    if (wh_value_places(loading->complaints, node, &loading->descriptor->steady))
        check_within(loading, node, &loading->descriptor->steady, true);
}

void wh_schema_consistency(wh_loading *loading, const wh_yaml_node *root)
{
    const wh_descriptor *const descriptor = loading->descriptor;
    check_checks(loading);
    check_fields(loading);
    check_roles(loading);
    read_steady(loading, wh_yaml_find(root, "steady"));
    bool has_constant = false;
    for (unsigned i = 0; i < descriptor->field_count; i++)
        has_constant |= descriptor->fields[i].role == WH_ROLE_CONSTANT;
    if (!descriptor->partial && !has_constant && !wh_yaml_find(root, "checks"))
        wh_warn(loading->complaints, (wh_span){root->start, 1}, "readings will have a low confidence",
                "neither checks nor constants: nothing tells a frame with wrong bits from a good one");
}
