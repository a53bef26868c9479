/* One unit of the roster and its wheels. */
#include "wheelhark/roster.h"

#include "utf8.h"

#include <stdio.h>
#include <string.h>
#include <strings.h>

static const char *const kind_names[WH_UNIT_KIND_COUNT] = {
    [WH_TRACTOR] = "tractor",
    [WH_TRAILER] = "trailer",
    [WH_DOLLY] = "dolly",
    [WH_OTHER_UNIT] = "other",
};

const char *wh_unit_kind_name(wh_unit_kind kind)
{
    return (unsigned)kind < WH_UNIT_KIND_COUNT ? kind_names[kind] : "unknown";
}

bool wh_unit_kind_parse(const char *text, wh_unit_kind *kind)
{
    for (int i = 0; i < WH_UNIT_KIND_COUNT; i++) {
        if (strcasecmp(text, kind_names[i]) == 0) {
            *kind = (wh_unit_kind)i;
            return true;
        }
    }
    return false;
}

/* A name stands on screens, labels and file names: printable UTF-8 without blanks at its ends, which nobody sees. */
static wh_status check_name(const char *name, wh_error *error)
{
    const size_t length = strlen(name);
    if (length == 0)
        return wh_fail(error, WH_ERR_ARGUMENT, "give the unit the number painted on it", "the unit's name is empty");
    if (length >= WH_UNIT_NAME_SIZE)
        return wh_fail(error, WH_ERR_ARGUMENT, "use a shorter name", "the unit's name has %zu bytes, %d at most",
                       length, WH_UNIT_NAME_SIZE - 1);
    if (name[0] == ' ' || name[length - 1] == ' ')
        return wh_fail(error, WH_ERR_ARGUMENT, "leave it out", "a blank at the start or end of the unit's name '%s'",
                       name);
    for (size_t i = 0; i < length;) {
        const size_t bytes = wh_utf8_length(name + i, length - i);
        if (bytes == 0)
            return wh_fail(error, WH_ERR_ARGUMENT, "write names in UTF-8", "the unit's name is no UTF-8 text");
        const uint32_t point = wh_utf8_point(name + i, bytes);
        if (wh_utf8_control(point))
            return wh_fail(error, WH_ERR_ARGUMENT, "leave out tabs, line ends and the like",
                           "the unit's name holds the control character 0x%02X", (unsigned)point);
        i += bytes;
    }
    return WH_OK;
}

static void add_wheels(wh_unit *unit, unsigned axle, wh_side side)
{
    const wh_place first = unit->dual[axle - 1] ? WH_OUTER : WH_SINGLE;
    const wh_place last = unit->dual[axle - 1] ? WH_INNER : WH_SINGLE;
    for (wh_place place = first; place <= last; place++)
        unit->wheels[unit->wheel_count++].position = (wh_position){(uint8_t)axle, (uint8_t)side, (uint8_t)place};
}

wh_status wh_unit_make(wh_unit *unit, const char *name, wh_unit_kind kind, unsigned axle_count, const bool *dual,
                       wh_error *error)
{
    const wh_status status = check_name(name, error);
    if (status != WH_OK)
        return status;
    if ((unsigned)kind >= WH_UNIT_KIND_COUNT)
        return wh_fail(error, WH_ERR_ARGUMENT, NULL, "there is no kind of unit with number %d", (int)kind);
    if (axle_count < 1 || axle_count > WH_AXLES_MAX)
        return wh_fail(error, WH_ERR_ARGUMENT, "a longer combination is several units",
                       "a unit has 1 to %d axles, not %u", WH_AXLES_MAX, axle_count);

    memset(unit, 0, sizeof *unit);
    snprintf(unit->name, sizeof unit->name, "%s", name);
    unit->kind = kind;
    unit->axle_count = axle_count;
    unit->first_axle = 1;
    memcpy(unit->dual, dual, axle_count * sizeof *dual);
    for (unsigned axle = 1; axle <= axle_count; axle++)
        add_wheels(unit, axle, WH_LEFT);
    for (unsigned axle = axle_count; axle >= 1; axle--)
        add_wheels(unit, axle, WH_RIGHT);
    return WH_OK;
}

const wh_wheel *wh_unit_wheel_const(const wh_unit *unit, wh_position position)
{
    for (unsigned i = 0; i < unit->wheel_count; i++) {
        if (wh_position_equal(unit->wheels[i].position, position))
            return &unit->wheels[i];
    }
    return NULL;
}

wh_wheel *wh_unit_wheel(wh_unit *unit, wh_position position)
{
    return (wh_wheel *)wh_unit_wheel_const(unit, position);
}
