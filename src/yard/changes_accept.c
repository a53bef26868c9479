#include "changes.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Take a sensor off a wheel of another unit, when it is still on record there. */
static wh_status take_off(wh_roster *roster, const wh_change *change, wh_error *error)
{
    const wh_unit *unit = wh_roster_find(roster, change->other_unit);
    wh_unit *changed = unit ? malloc(sizeof *changed) : NULL;
    if (!unit)
        return WH_OK;
    if (!changed)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    *changed = *unit;
    wh_wheel *wheel = wh_unit_wheel(changed, change->other);
    wh_status status = WH_OK;
    if (wheel && strcmp(wheel->sensor, change->new_sensor) == 0) {
        wheel->sensor[0] = '\0';
        status = wh_roster_put(roster, changed, error);
    }
    free(changed);
    return status;
}

wh_status wh_changes_accept(wh_roster *roster, const char *unit, const wh_changes *changes, bool unconfirmed,
                            unsigned *accepted, unsigned *held, wh_error *error)
{
    *accepted = *held = 0;
    const wh_unit *found = wh_roster_find(roster, unit);
    if (!found)
        return wh_fail(error, WH_ERR_NOT_FOUND, "'wheelhark roster list' lists the units", "there is no unit '%s'",
                       unit);
    wh_unit *changed = malloc(sizeof *changed);
    if (!changed)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    *changed = *found;
    wh_status status = WH_OK;
    for (unsigned i = 0; status == WH_OK && i < changes->count; i++) {
        const wh_change *change = &changes->items[i];
        wh_wheel *wheel = wh_unit_wheel(changed, change->position);
        if (!wheel || (change->confirm && !unconfirmed)) {
            ++*held;
            continue;
        }
        snprintf(wheel->sensor, sizeof wheel->sensor, "%s", change->new_sensor);
        ++*accepted;
        if (change->kind == WH_IDENTITY_OTHER_UNIT)
            status = take_off(roster, change, error);
    }
    if (status == WH_OK)
        status = wh_roster_put(roster, changed, error);
    free(changed);
    return status;
}
