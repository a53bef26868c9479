#include "sweep_keep.h"

#include <string.h>

static bool was_bound(const wh_sweep *sweep, const char *sensor)
{
    for (size_t i = 0; i < sweep->event_count; i++)
        if (sweep->events[i].kind == WH_EVENT_BIND && strcmp(sweep->events[i].heard.sensor, sensor) == 0)
            return true;
    return false;
}

bool wh_sweep_keeps(const wh_roster *roster, const wh_sweep *sweep, double strongest_dbfs, const wh_event *event)
{
    const char *sensor = event->heard.sensor;
    wh_roster_place place;
    if (sensor[0] && (wh_roster_places(roster, sensor, &place, 1) > 0 || was_bound(sweep, sensor)))
        return true;
    return wh_sweep_standing(sweep, event->at_us) && event->heard.level_dbfs >= strongest_dbfs - WH_KEEP_WITHIN_DB;
}
