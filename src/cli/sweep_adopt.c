#include "sweep_adopt.h"

#include "descriptor_model.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A wrong frame must not give its ID to somebody's history. */
#define SURE_ENOUGH 0.9

bool wh_nickname_before(const wh_descriptor_set *descriptors, const wh_reading *reading,
                        char nickname[WH_NICKNAME_SIZE])
{
    const wh_descriptor *descriptor = wh_descriptor_set_find(descriptors, reading->descriptor);
    if (!descriptor || descriptor->partial || descriptor->steady.count == 0 || reading->nickname ||
        reading->confidence < SURE_ENOUGH)
        return false;
    wh_frame_bits frame = {.count = reading->frame_bits};
    memcpy(frame.data, reading->frame, sizeof frame.data);
    return wh_nickname_of(descriptor, &frame, nickname) > 0;
}

static wh_status rename_in_roster(wh_roster *roster, const char *nickname, const char *sensor, wh_error *error)
{
    wh_roster_place place;
    wh_status status = WH_OK;
    while (status == WH_OK && wh_roster_places(roster, nickname, &place, 1) > 0) {
        wh_unit *changed = malloc(sizeof *changed);
        if (!changed)
            return wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
        *changed = *place.unit;
        wh_wheel *wheel = wh_unit_wheel(changed, place.wheel->position);
        snprintf(wheel->sensor, sizeof wheel->sensor, "%s", sensor);
        status = wh_roster_put(roster, changed, error);
        free(changed);
    }
    return status;
}

wh_status wh_adopt_history(wh_store *store, wh_sweep *sweep, wh_roster *roster, const char *nickname,
                           const char *sensor, size_t *count, wh_error *error)
{
    const wh_status status = wh_store_rename(store, nickname, sensor, count, error);
    if (status != WH_OK)
        return status;
    for (size_t i = 0; i < sweep->event_count; i++) {
        wh_heard *heard = &sweep->events[i].heard;
        if (strcmp(heard->sensor, nickname) != 0)
            continue;
        snprintf(heard->sensor, sizeof heard->sensor, "%s", sensor);
        heard->nickname = false;
    }
    return rename_in_roster(roster, nickname, sensor, error);
}
