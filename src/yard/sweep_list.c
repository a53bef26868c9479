#include "sweep_list.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

wh_sweep *wh_sweep_create(const char *const *units, size_t unit_count)
{
    wh_sweep *sweep = calloc(1, sizeof *sweep);
    if (!sweep)
        return NULL;
    sweep->units = calloc(unit_count + 1, sizeof *sweep->units);
    if (!sweep->units) {
        free(sweep);
        return NULL;
    }
    sweep->unit_count = unit_count;
    for (size_t i = 0; i < unit_count; i++)
        snprintf(sweep->units[i], sizeof sweep->units[i], "%s", units[i]);
    return sweep;
}

void wh_sweep_free(wh_sweep **sweep)
{
    if (!*sweep)
        return;
    free((*sweep)->units);
    free((*sweep)->events);
    free(*sweep);
    *sweep = NULL;
}

wh_status wh_sweep_add(wh_sweep *sweep, const wh_event *event)
{
    /* The room doubles whenever the count reaches a power of two: no field for the capacity is needed. */
    const size_t count = sweep->event_count;
    if ((count & (count - 1)) == 0) {
        wh_event *more = realloc(sweep->events, (count ? 2 * count : 1) * sizeof *more);
        if (!more)
            return WH_ERR_MEMORY;
        sweep->events = more;
    }
    sweep->events[sweep->event_count++] = *event;
    return WH_OK;
}

bool wh_sweep_has_unit(const wh_sweep *sweep, const char *unit)
{
    for (size_t i = 0; i < sweep->unit_count; i++)
        if (strcmp(sweep->units[i], unit) == 0)
            return true;
    return false;
}

int64_t wh_sweep_repaired(const wh_sweep *sweep, const char *unit)
{
    for (size_t i = sweep->event_count; i-- > 0;)
        if (sweep->events[i].kind == WH_EVENT_REPAIRED && strcmp(sweep->events[i].unit, unit) == 0)
            return sweep->events[i].id;
    return 0;
}

bool wh_sweep_ended(const wh_sweep *sweep)
{
    return sweep->event_count > 0 && sweep->events[sweep->event_count - 1].kind == WH_EVENT_END;
}

const wh_event *wh_sweep_standing(const wh_sweep *sweep, int64_t at_us)
{
    for (size_t i = sweep->event_count; i-- > 0;) {
        const wh_event *event = &sweep->events[i];
        if (event->at_us > at_us)
            continue;
        switch (event->kind) {
        case WH_EVENT_STAND: return event;
        case WH_EVENT_LEAVE:
        case WH_EVENT_GAP:
        case WH_EVENT_END: return NULL;
        default: break;
        }
    }
    return NULL;
}
