/* What the technician does on a walk, wherever he presses it. */
#include "sweep_walk.h"

#include <string.h>

bool wh_sweep_walk_over(const wh_sweep_walk *walk)
{
    /* A sweep that is taken up to be verified was finished; its mark, made with the first samples, opens it again. */
    const bool ended = wh_sweep_run_walk(walk->run)->phase == WH_WALK_ENDED && !walk->mark_repair;
    return walk->failed || wh_stop_asked() || ended;
}

void wh_sweep_walk_press(wh_sweep_walk *walk, wh_walk_key key)
{
    wh_error error;
    const wh_status status = wh_sweep_run_key(walk->run, key, wh_sweep_walk_now(walk), &error);
    wh_sweep_walk_done(walk, status, &error);
}

void wh_sweep_walk_stand(wh_sweep_walk *walk, const char *unit, wh_position position)
{
    wh_error error;
    const wh_status status = wh_sweep_run_stand(walk->run, unit, position, wh_sweep_walk_now(walk), &error);
    if (status == WH_ERR_NOT_FOUND)
        wh_sweep_walk_say(walk, "%s", error.what);
    else
        wh_sweep_walk_done(walk, status, &error);
}

/* The last reading of a sensor in this sweep; NULL when there is none. */
static const wh_heard *last_heard(const wh_sweep *sweep, const char *sensor)
{
    for (size_t i = sweep->event_count; i-- > 0;) {
        const wh_event *event = &sweep->events[i];
        if (event->kind == WH_EVENT_HEARD && strcmp(event->heard.sensor, sensor) == 0)
            return &event->heard;
    }
    return NULL;
}

void wh_sweep_walk_bind(wh_sweep_walk *walk, const char *sensor)
{
    const wh_heard *found = last_heard(walk->sweep, sensor);
    wh_error error;
    if (!found) {
        wh_sweep_walk_say(walk, "%.70s was not heard in this sweep.", sensor);
        return;
    }
    const wh_heard heard = *found; /* adding the event may move the list */
    const wh_status status = wh_sweep_run_bind(walk->run, &heard, wh_sweep_walk_now(walk), &error);
    if (status == WH_ERR_ARGUMENT)
        wh_sweep_walk_say(walk, "%s", error.what);
    else
        wh_sweep_walk_done(walk, status, &error);
}

void wh_sweep_walk_accept(wh_sweep_walk *walk)
{
    const wh_walk *at = wh_sweep_run_walk(walk->run);
    if (at->phase != WH_WALK_AT)
        return;
    wh_error error;
    const wh_stop *stop = &at->stops[at->at];
    const wh_sweep_insight *insight = wh_sweep_insight_of(walk->insights, walk->sweep, stop->unit, &error);
    const wh_seat *seat = wh_insight_seat(insight, stop->position);
    if (!seat || !seat->sensor[0] || !seat->answered) {
        wh_sweep_walk_say(walk, "Nothing was heard here that could be accepted.");
        return;
    }
    const wh_heard heard = seat->latest;
    const wh_status status = wh_sweep_run_bind(walk->run, &heard, wh_sweep_walk_now(walk), &error);
    wh_sweep_walk_done(walk, status, &error);
}
