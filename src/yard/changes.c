#include "changes.h"

#include <string.h>

bool wh_change_needs_confirming(const wh_identity *identity, const wh_seat *seat)
{
    return identity->kind == WH_IDENTITY_NEW && seat->state != WH_SEAT_BOUND && seat->readings <= 1;
}

static bool is_at_another_wheel(const wh_unit *unit, const wh_attribution *attribution, unsigned wheel,
                                double sure_odds)
{
    const char *sensor = unit->wheels[wheel].sensor;
    for (unsigned i = 0; i < attribution->seat_count && sensor[0]; i++) {
        const wh_seat *seat = &attribution->seats[i];
        if (i != wheel && wh_seat_filled(seat, sure_odds) && strcmp(seat->sensor, sensor) == 0)
            return true;
    }
    return false;
}

static void set_codes(const wh_unit *unit, wh_change *change)
{
    change->has_j1939 = wh_position_to_j1939(unit, change->position, &change->j1939, NULL) == WH_OK;
    change->has_centre8 = wh_position_to_centre8(unit, change->position, &change->centre8, NULL) == WH_OK;
    if (wh_position_to_x12(unit, change->position, change->x12, NULL) != WH_OK)
        change->x12[0] = '\0';
}

static void set_sensors(const wh_wheel *wheel, const char *sensor, wh_change *change)
{
    memcpy(change->old_sensor, wheel->sensor, sizeof change->old_sensor);
    memcpy(change->new_sensor, sensor, strlen(sensor));
    if (!wh_sensor_id_decimal(change->old_sensor, change->old_decimal))
        change->old_decimal[0] = '\0';
    if (!wh_sensor_id_decimal(change->new_sensor, change->new_decimal))
        change->new_decimal[0] = '\0';
}

static bool is_new_here(const wh_identity *identity, const wh_seat *seat)
{
    return identity->kind >= WH_IDENTITY_NEW && identity->kind <= WH_IDENTITY_OTHER_UNIT && seat->sensor[0] != '~';
}

static void add_change(const wh_unit *unit, unsigned wheel, const wh_identity *identity, const wh_seat *seat,
                       wh_changes *changes)
{
    wh_change *change = &changes->items[changes->count++];
    const bool filled = is_new_here(identity, seat);
    change->position = unit->wheels[wheel].position;
    change->kind = filled ? identity->kind : WH_IDENTITY_EMPTY;
    set_sensors(&unit->wheels[wheel], filled ? seat->sensor : "", change);
    set_codes(unit, change);
    change->odds = !filled ? 0.0 : seat->state == WH_SEAT_BOUND ? 1.0 : seat->odds;
    change->confirm = filled && wh_change_needs_confirming(identity, seat);
    if (change->kind == WH_IDENTITY_OTHER_UNIT) {
        memcpy(change->other_unit, identity->other_unit->name, sizeof change->other_unit);
        change->other = identity->other;
    } else if (change->kind >= WH_IDENTITY_MOVED && change->kind <= WH_IDENTITY_CIRCLE) {
        change->other = unit->wheels[identity->home].position;
    }
}

wh_status wh_changes_of(const wh_roster *roster, const char *unit_name, const wh_attribution *attribution,
                        double sure_odds, wh_changes *changes, wh_error *error)
{
    memset(changes, 0, sizeof *changes);
    const wh_unit *unit = wh_roster_find(roster, unit_name);
    if (!unit)
        return wh_fail(error, WH_ERR_NOT_FOUND, "add it to the roster", "there is no unit %s on record", unit_name);
    if (strcmp(attribution->unit, unit_name) != 0 || attribution->seat_count != unit->wheel_count)
        return wh_fail(error, WH_ERR_ARGUMENT, "work the attribution out anew", "the attribution is not of unit %s",
                       unit_name);
    wh_identity identities[WH_WHEELS_MAX];
    wh_identify(roster, unit, attribution, sure_odds, identities);
    for (unsigned i = 0; i < unit->wheel_count; i++) {
        /* An ID that was found elsewhere must not stay on record here as well. */
        const bool gone =
            identities[i].kind != WH_IDENTITY_AS_RECORDED && is_at_another_wheel(unit, attribution, i, sure_odds);
        if (is_new_here(&identities[i], &attribution->seats[i]) || gone)
            add_change(unit, i, &identities[i], &attribution->seats[i], changes);
    }
    return WH_OK;
}
