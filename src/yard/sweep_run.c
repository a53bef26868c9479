#include "sweep_run.h"

#include "sweep_keep.h"
#include "sweep_state.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A burst of an unknown kind at one wheel says all it can say after a few. */
#define UNKNOWN_BURSTS_MOST 20

wh_status wh_sweep_run_create(const wh_roster *roster, wh_sweep *sweep, const wh_sweep_run_hooks *hooks,
                              wh_sweep_run **out, wh_error *error)
{
    *out = NULL;
    wh_sweep_run *run = calloc(1, sizeof *run);
    if (!run)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    run->roster = roster;
    run->sweep = sweep;
    run->hooks = hooks ? *hooks : (wh_sweep_run_hooks){0};
    wh_status status = wh_sweep_state_begin(run, error);
    if (status != WH_OK) {
        wh_sweep_run_destroy(&run);
        return status;
    }
    for (size_t i = 0; i < sweep->event_count; i++)
        wh_sweep_state_apply(run, &sweep->events[i]);
    wh_sweep_state_look_ahead(run);
    *out = run;
    return WH_OK;
}

void wh_sweep_run_destroy(wh_sweep_run **run)
{
    if (!*run)
        return;
    free((*run)->stops);
    free(*run);
    *run = NULL;
}

const wh_walk *wh_sweep_run_walk(const wh_sweep_run *run)
{
    return &run->walk;
}

/* Keep the event first: what is not kept did not happen. */
static wh_status put(wh_sweep_run *run, wh_event *event, wh_error *error)
{
    wh_sweep *sweep = run->sweep;
    wh_status status = WH_OK;
    if (run->hooks.keep)
        status = run->hooks.keep(run->hooks.context, sweep, event, error);
    else
        event->id = sweep->event_count ? sweep->events[sweep->event_count - 1].id + 1 : 1;
    if (status != WH_OK)
        return status;
    if (wh_sweep_add(sweep, event) != WH_OK)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    wh_sweep_state_apply(run, event);
    wh_sweep_state_look_ahead(run);
    return WH_OK;
}

/* An event at the stop, without anything heard. */
static wh_status put_at(wh_sweep_run *run, wh_event_kind kind, size_t stop, int64_t at_us, wh_error *error)
{
    wh_event event = {.at_us = at_us, .kind = kind, .position = run->stops[stop].position};
    snprintf(event.unit, sizeof event.unit, "%s", run->stops[stop].unit);
    return put(run, &event, error);
}

static wh_status put_text(wh_sweep_run *run, wh_event_kind kind, const char *text, int64_t at_us, wh_error *error)
{
    wh_event event = {.at_us = at_us, .kind = kind};
    snprintf(event.text, sizeof event.text, "%s", text);
    return put(run, &event, error);
}

static wh_status leave(wh_sweep_run *run, int64_t at_us, wh_error *error)
{
    return run->walk.phase == WH_WALK_AT ? put_at(run, WH_EVENT_LEAVE, run->walk.at, at_us, error) : WH_OK;
}

static wh_status end(wh_sweep_run *run, int64_t at_us, wh_error *error)
{
    const wh_status status = leave(run, at_us, error);
    return status == WH_OK && run->walk.phase != WH_WALK_ENDED ? put_text(run, WH_EVENT_END, "", at_us, error) : status;
}

static wh_status next(wh_sweep_run *run, int64_t at_us, wh_error *error)
{
    size_t stop;
    if (wh_sweep_state_next(run, &stop))
        return put_at(run, WH_EVENT_STAND, stop, at_us, error);
    return run->walk.phase == WH_WALK_DONE ? end(run, at_us, error) : leave(run, at_us, error);
}

static wh_status back(wh_sweep_run *run, int64_t at_us, wh_error *error)
{
    const wh_walk *walk = &run->walk;
    if (walk->phase == WH_WALK_AT)
        return walk->at > 0 ? put_at(run, WH_EVENT_STAND, walk->at - 1, at_us, error) : WH_OK;
    return walk->phase == WH_WALK_DONE ? put_at(run, WH_EVENT_STAND, walk->at, at_us, error) : WH_OK;
}

static wh_status next_unit(wh_sweep_run *run, int64_t at_us, wh_error *error)
{
    size_t stop;
    return wh_sweep_state_next_unit(run, &stop) ? put_at(run, WH_EVENT_STAND, stop, at_us, error) : WH_OK;
}

wh_status wh_sweep_run_key(wh_sweep_run *run, wh_walk_key key, int64_t at_us, wh_error *error)
{
    const wh_walk *walk = &run->walk;
    const bool at = walk->phase == WH_WALK_AT;
    if (walk->phase == WH_WALK_ENDED && key != WH_WALK_REPAIRED)
        return WH_OK;
    switch (key) {
    case WH_WALK_NEXT: return next(run, at_us, error);
    case WH_WALK_BACK: return back(run, at_us, error);
    case WH_WALK_NEXT_UNIT: return next_unit(run, at_us, error);
    case WH_WALK_WOKEN: return at ? put_at(run, WH_EVENT_WOKEN, walk->at, at_us, error) : WH_OK;
    case WH_WALK_UNDO:
        return at && run->stops[walk->at].bound ? put_at(run, WH_EVENT_UNBIND, walk->at, at_us, error) : WH_OK;
    case WH_WALK_REPAIRED: return wh_sweep_run_repaired(run, run->stops[walk->at].unit, at_us, error);
    case WH_WALK_LEAVE: return leave(run, at_us, error);
    case WH_WALK_END: return end(run, at_us, error);
    case WH_WALK_KEY_COUNT: break;
    }
    return WH_OK;
}

wh_status wh_sweep_run_stand(wh_sweep_run *run, const char *unit, wh_position position, int64_t at_us, wh_error *error)
{
    char text[WH_POSITION_SIZE];
    size_t stop;
    if (wh_sweep_state_find(run, unit, position, &stop))
        return put_at(run, WH_EVENT_STAND, stop, at_us, error);
    return wh_fail(error, WH_ERR_NOT_FOUND, "the roster says which wheels a unit has",
                   "unit '%s' has no wheel %s in this sweep", unit, wh_position_text(text, position));
}

wh_status wh_sweep_run_bind(wh_sweep_run *run, const wh_heard *heard, int64_t at_us, wh_error *error)
{
    if (run->walk.phase != WH_WALK_AT)
        return wh_fail(error, WH_ERR_ARGUMENT, "go to the wheel first", "a sensor is bound to the wheel you stand at");
    wh_event event = {
        .at_us = at_us, .kind = WH_EVENT_BIND, .position = run->stops[run->walk.at].position, .heard = *heard};
    snprintf(event.unit, sizeof event.unit, "%s", run->stops[run->walk.at].unit);
    return put(run, &event, error);
}

wh_status wh_sweep_run_repaired(wh_sweep_run *run, const char *unit, int64_t at_us, wh_error *error)
{
    if (!wh_sweep_has_unit(run->sweep, unit))
        return wh_fail(error, WH_ERR_NOT_FOUND, NULL, "unit '%s' is not in this sweep", unit);
    wh_status status = leave(run, at_us, error);
    if (status != WH_OK)
        return status;
    wh_event event = {.at_us = at_us, .kind = WH_EVENT_REPAIRED};
    snprintf(event.unit, sizeof event.unit, "%s", unit);
    return put(run, &event, error);
}

wh_status wh_sweep_run_listen(wh_sweep_run *run, const char *source, int64_t at_us, wh_error *error)
{
    if (run->walk.listening)
        return WH_OK;
    const wh_status status = put_text(run, WH_EVENT_LISTEN, source, at_us, error);
    /* Said again, because a gap ends what was known of where he stands. */
    return status == WH_OK && run->walk.phase == WH_WALK_AT ? put_at(run, WH_EVENT_STAND, run->walk.at, at_us, error)
                                                            : status;
}

wh_status wh_sweep_run_gap(wh_sweep_run *run, const char *why, int64_t at_us, wh_error *error)
{
    return run->walk.listening ? put_text(run, WH_EVENT_GAP, why, at_us, error) : WH_OK;
}

static wh_status heard(wh_sweep_run *run, wh_event *event, bool *kept, wh_error *error)
{
    const bool keep = (run->hooks.keep_strangers && event->heard.sensor[0]) ||
                      wh_sweep_keeps(run->roster, run->sweep, run->strongest_dbfs, event);
    if (kept)
        *kept = keep;
    if (keep)
        return put(run, event, error);
    if (event->heard.sensor[0])
        wh_sweep_state_stranger(run, event->heard.sensor);
    return WH_OK;
}

wh_status wh_sweep_run_reading(wh_sweep_run *run, const wh_reading *reading, int64_t at_us, bool *kept, wh_error *error)
{
    wh_event event = {.at_us = at_us, .kind = WH_EVENT_HEARD};
    wh_heard_of(&event.heard, reading);
    return heard(run, &event, kept, error);
}

/* The shortest frame a sensor may have: 40 bits at 20 kbit/s. Common practice, no source. */
#define SHORTEST_FRAME_S 0.002

/* Damaged copies of kinds that are known say nothing new, nor does what is no frame at all. */
static bool unknown_kind(const wh_burst *burst)
{
    switch (burst->reason) {
    case WH_REASON_TOO_SHORT: return burst->duration_s >= SHORTEST_FRAME_S; /* for the kinds that are known */
    case WH_REASON_WRONG_MODULATION:
    case WH_REASON_NO_CLOCK:
    case WH_REASON_NO_SYNC:
    case WH_REASON_LINE_VIOLATIONS:
    case WH_REASON_WRONG_CONSTANT:
    case WH_REASON_NO_DESCRIPTOR: return true;
    default: return false;
    }
}

wh_status wh_sweep_run_burst(wh_sweep_run *run, const wh_burst *burst, int64_t at_us, bool *kept, wh_error *error)
{
    wh_event event = {.at_us = at_us, .kind = WH_EVENT_UNKNOWN};
    event.heard.battery_low = -1;
    event.heard.level_dbfs = burst->level_dbfs;
    event.heard.snr_db = burst->snr_db;
    event.heard.carrier_hz = burst->carrier_hz;
    if (kept)
        *kept = false;
    if (!unknown_kind(burst) || run->walk.unknown_here >= UNKNOWN_BURSTS_MOST)
        return WH_OK;
    return heard(run, &event, kept, error);
}
