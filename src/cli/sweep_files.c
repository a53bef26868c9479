/* A walk from recordings: for trying things at a desk, for tests and for CI. */
#include "sweep_walk.h"

#include <stdio.h>

static bool more(void *context, wh_source *source, bool idle)
{
    const wh_sweep_walk *walk = context;
    (void)source;
    (void)idle;
    return !wh_stop_asked() && !walk->failed;
}

/* What is left when the samples are over: steps behind their end, and the end itself. */
static void finish(wh_sweep_walk *walk)
{
    wh_error error;
    const int64_t now = wh_sweep_clock_now(&walk->clock);
    wh_status status = wh_sweep_run_gap(walk->run, "end of the recordings", now, &error);
    if (status == WH_OK && walk->steps.next < walk->steps.count)
        wh_sweep_walk_say(walk, "%s: row %u and what follows come after the end of the recordings", walk->steps.file,
                          walk->steps.steps[walk->steps.next].row);
    if (status == WH_OK)
        status = wh_sweep_run_key(walk->run, WH_WALK_END, now, &error);
    wh_sweep_walk_done(walk, status, &error);
}

int wh_sweep_walk_files(wh_sweep_walk *walk)
{
    wh_error error;
    for (size_t i = 0; i < walk->options->recording_count && more(walk, NULL, false); i++) {
        walk->source.target = walk->options->recordings[i];
        if (wh_sweep_walk_input(walk, more, &error) != WH_OK) {
            const int status = wh_exit_for(&error);
            walk->status = status > walk->status ? status : walk->status;
        }
    }
    if (!walk->failed && !wh_stop_asked() && walk->clock.running)
        finish(walk);
    if (walk->failed)
        return wh_exit_for(&walk->failure);
    return wh_stop_asked() ? WH_EXIT_INTERRUPTED : walk->status;
}
