#include "sweep_state.h"

#include "sweep_keep.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A wheel that is not settled after the second visit needs hands, not a third. */
#define VISITS_MOST 2

wh_status wh_sweep_state_begin(wh_sweep_run *run, wh_error *error)
{
    const wh_sweep *sweep = run->sweep;
    size_t count = 0;
    for (size_t i = 0; i < sweep->unit_count; i++) {
        const wh_unit *unit = wh_roster_find(run->roster, sweep->units[i]);
        if (!unit)
            return wh_fail(error, WH_ERR_NOT_FOUND, "'wheelhark roster list' shows the units there are",
                           "there is no unit '%s' in the roster", sweep->units[i]);
        count += unit->wheel_count;
    }
    run->stops = calloc(count + 1, sizeof *run->stops);
    if (!run->stops)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    for (size_t i = 0; i < sweep->unit_count; i++) {
        const wh_unit *unit = wh_roster_find(run->roster, sweep->units[i]);
        for (unsigned wheel = 0; wheel < unit->wheel_count; wheel++) {
            wh_stop *stop = &run->stops[run->walk.stop_count++];
            snprintf(stop->unit, sizeof stop->unit, "%s", unit->name);
            stop->position = unit->wheels[wheel].position;
        }
    }
    run->walk.stops = run->stops;
    run->strongest_dbfs = WH_KEEP_SILENCE_DBFS;
    if (run->walk.stop_count == 0)
        return wh_fail(error, WH_ERR_ARGUMENT, "name a unit of the roster", "a sweep goes round at least one unit");
    return WH_OK;
}

bool wh_sweep_state_find(const wh_sweep_run *run, const char *unit, wh_position position, size_t *stop)
{
    for (size_t i = 0; i < run->walk.stop_count; i++)
        if (strcmp(run->stops[i].unit, unit) == 0 && wh_position_equal(run->stops[i].position, position)) {
            *stop = i;
            return true;
        }
    return false;
}

static bool open_again(const wh_sweep_run *run, const wh_stop *stop)
{
    return stop->visits < VISITS_MOST && run->hooks.settled &&
           !run->hooks.settled(run->hooks.context, run->sweep, stop->unit, stop->position);
}

/* The first stop from `from` on, and then from the first one, that nobody visited or (`again`) that is not settled. */
static bool search(const wh_sweep_run *run, size_t from, bool again, size_t *stop)
{
    const size_t count = run->walk.stop_count;
    for (size_t k = 0; k < count; k++) {
        const size_t i = (from + k) % count;
        const bool here = run->walk.phase == WH_WALK_AT && i == run->walk.at;
        if (!here && (again ? open_again(run, &run->stops[i]) : run->stops[i].visits == 0)) {
            *stop = i;
            return true;
        }
    }
    return false;
}

bool wh_sweep_state_next(const wh_sweep_run *run, size_t *stop)
{
    const wh_walk *walk = &run->walk;
    const size_t from = walk->phase == WH_WALK_AT ? walk->at + 1 : 0;
    if (search(run, from, false, stop)) {
        /* After going back the walk leads over the same wheels of the unit once more, up to the first new one. */
        if (walk->phase == WH_WALK_AT && *stop > from && strcmp(run->stops[from].unit, run->stops[walk->at].unit) == 0)
            *stop = from;
        return true;
    }
    return search(run, from, true, stop);
}

bool wh_sweep_state_next_unit(const wh_sweep_run *run, size_t *stop)
{
    const wh_walk *walk = &run->walk;
    const size_t count = walk->stop_count;
    const char *here = walk->phase == WH_WALK_BEFORE ? "" : run->stops[walk->at].unit;
    for (size_t k = 1; k <= count; k++) {
        const size_t i = (walk->at + k) % count;
        const bool first = i == 0 || strcmp(run->stops[i].unit, run->stops[i - 1].unit) != 0;
        if (first && run->stops[i].visits == 0 && strcmp(run->stops[i].unit, here) != 0) {
            *stop = i;
            return true;
        }
    }
    return false;
}

static void count_at(wh_sweep_run *run, const wh_event *event)
{
    wh_walk *walk = &run->walk;
    if (!wh_sweep_standing(run->sweep, event->at_us))
        return;
    run->strongest_dbfs = fmax(run->strongest_dbfs, event->heard.level_dbfs);
    if (walk->phase != WH_WALK_AT || event->at_us < walk->since_us)
        return; /* from the wheel before */
    walk->heard_here += event->kind == WH_EVENT_HEARD;
    walk->unknown_here += event->kind == WH_EVENT_UNKNOWN;
}

static void stand(wh_sweep_run *run, const wh_event *event)
{
    wh_walk *walk = &run->walk;
    size_t stop;
    if (!wh_sweep_state_find(run, event->unit, event->position, &stop))
        return; /* the roster was changed meanwhile: the wheel is no longer there */
    const bool still = walk->phase == WH_WALK_AT && walk->at == stop;
    walk->phase = WH_WALK_AT;
    walk->at = stop;
    if (still)
        return;
    run->stops[stop].visits++;
    walk->since_us = event->at_us;
    walk->heard_here = walk->unknown_here = 0;
}

static void repaired(wh_sweep_run *run, const char *unit)
{
    for (size_t i = run->walk.stop_count; i-- > 0;)
        if (strcmp(run->stops[i].unit, unit) == 0) {
            run->stops[i].visits = 0;
            run->stops[i].woken = run->stops[i].bound = false;
            run->walk.at = i;
        }
    run->walk.phase = WH_WALK_BEFORE;
}

void wh_sweep_state_apply(wh_sweep_run *run, const wh_event *event)
{
    wh_walk *walk = &run->walk;
    size_t stop = 0;
    const bool known = wh_sweep_state_find(run, event->unit, event->position, &stop);
    switch (event->kind) {
    case WH_EVENT_LISTEN: walk->listening = true; break;
    case WH_EVENT_GAP: walk->listening = false; break;
    case WH_EVENT_STAND: stand(run, event); break;
    case WH_EVENT_LEAVE: walk->phase = WH_WALK_BEFORE; break;
    case WH_EVENT_WOKEN: run->stops[stop].woken |= known; break;
    case WH_EVENT_BIND: run->stops[stop].bound |= known; break;
    case WH_EVENT_UNBIND: run->stops[stop].bound &= !known; break;
    case WH_EVENT_HEARD:
    case WH_EVENT_UNKNOWN: count_at(run, event); break;
    case WH_EVENT_REPAIRED: repaired(run, event->unit); break;
    case WH_EVENT_END: walk->phase = WH_WALK_ENDED; break;
    case WH_EVENT_KIND_COUNT: break;
    }
}

void wh_sweep_state_look_ahead(wh_sweep_run *run)
{
    wh_walk *walk = &run->walk;
    size_t stop;
    if (walk->phase == WH_WALK_BEFORE || walk->phase == WH_WALK_DONE) {
        walk->phase = WH_WALK_BEFORE;
        if (!wh_sweep_state_next(run, &stop))
            walk->phase = WH_WALK_DONE;
    }
}

void wh_sweep_state_stranger(wh_sweep_run *run, const char *sensor)
{
    wh_walk *walk = &run->walk;
    for (unsigned i = 0; i < walk->strangers; i++)
        if (strcmp(run->strangers[i], sensor) == 0)
            return;
    if (walk->strangers < WH_STRANGERS_MOST)
        snprintf(run->strangers[walk->strangers++], WH_SENSOR_SIZE, "%s", sensor);
}
