#include "sweep_walk.h"

#include "early_text.h"

#include "search_path.h"
#include "sweep_adopt.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define LOST_IS_GAP_S 0.25 /* shorter losses leave copies of an activation: they cost a reading at most */

void wh_sweep_walk_say(wh_sweep_walk *walk, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(walk->scene.word, sizeof walk->scene.word, format, arguments);
    va_end(arguments);
    walk->show->say(&walk->scene);
}

void wh_sweep_walk_done(wh_sweep_walk *walk, wh_status status, const wh_error *error)
{
    if (walk->clock.running)
        walk->scene.now_us = wh_sweep_clock_now(&walk->clock);
    while (walk->shown < walk->sweep->event_count)
        walk->show->event(&walk->scene, &walk->sweep->events[walk->shown++]);
    if (status != WH_OK && !walk->failed) {
        walk->failed = true;
        walk->failure = *error;
    }
}

/* The sweep is begun in the store with its first event: one that hears nothing leaves nothing behind. */
static wh_status keep(void *context, const wh_sweep *sweep, wh_event *event, wh_error *error)
{
    wh_sweep_walk *walk = context;
    (void)sweep;
    if (walk->sweep->id == 0) {
        walk->sweep->dated = walk->clock.dated;
        walk->sweep->begun_us = event->at_us;
        const wh_status status = wh_store_sweep_begin(walk->store, walk->sweep, error);
        if (status != WH_OK)
            return status;
    }
    return wh_store_sweep_append(walk->store, walk->sweep->id, event, error);
}

static bool settled(void *context, const wh_sweep *sweep, const char *unit, wh_position position)
{
    wh_sweep_walk *walk = context;
    wh_error error;
    return wh_insight_settled(wh_insight_seat(wh_sweep_insight_of(walk->insights, sweep, unit, &error), position));
}

/* Steps of the file that come before something heard. */
static void steps_until(wh_sweep_walk *walk, int64_t until_us)
{
    wh_error error;
    const wh_status status =
        wh_sweep_steps_until(&walk->steps, walk->run, walk->sweep, walk->clock.first_us, until_us, &error);
    wh_sweep_walk_done(walk, status, &error);
}

/* What was kept under a nickname joins the ID; looked for once for each sensor heard in a row. */
static void adopt(wh_sweep_walk *walk, const wh_reading *reading)
{
    char nickname[WH_NICKNAME_SIZE];
    size_t count = 0;
    wh_error error;
    if (strcmp(reading->sensor, walk->adopted) == 0 || !wh_nickname_before(walk->descriptors, reading, nickname))
        return;
    snprintf(walk->adopted, sizeof walk->adopted, "%s", reading->sensor);
    const wh_status status =
        wh_adopt_history(walk->store, walk->sweep, walk->roster, nickname, reading->sensor, &count, &error);
    if (status != WH_OK)
        wh_sweep_walk_done(walk, status, &error);
    if (status != WH_OK || count == 0)
        return;
    wh_sweep_insights_forget(walk->insights);
    wh_sweep_walk_say(walk, "%s was kept as %s until now: its history is its own.", reading->sensor, nickname);
}

static void on_reading(void *context, const wh_reading *reading)
{
    wh_sweep_walk *walk = context;
    wh_error error;
    const int64_t at_us = wh_sweep_clock_of(&walk->clock, reading->has_time, reading->at_utc_us, reading->offset_s);
    if (walk->failed)
        return;
    steps_until(walk, at_us);
    adopt(walk, reading);
    if (walk->failed)
        return;
    const wh_status status = wh_sweep_run_reading(walk->run, reading, at_us, NULL, &error);
    wh_sweep_walk_done(walk, status, &error);
}

/* For study, beside the event: failing costs nothing but the burst. */
static void keep_burst(wh_sweep_walk *walk, const wh_burst_cut *cut)
{
    const wh_sweep *sweep = walk->sweep;
    char name[64];
    wh_error error;
    bool kept = false;
    snprintf(name, sizeof name, "%lld-%lld", (long long)sweep->id, (long long)sweep->events[sweep->event_count - 1].id);
    if (wh_sweep_bursts_keep(walk->bursts, cut, name, &kept, &error) != WH_OK) {
        wh_sweep_walk_say(walk, "%s", error.what);
        wh_sweep_bursts_destroy(&walk->bursts);
    }
    walk->bursts_kept += kept;
}

/* The event comes when no further copy can; he who waits at a wheel wants to know at once. */
static void on_early(void *context, const wh_reading *reading)
{
    wh_sweep_walk *walk = context;
    wh_text text = {0};
    wh_early_text(&text, &walk->options->run.style, reading, 120);
    if (!walk->failed && text.data && !text.failed)
        wh_sweep_walk_say(walk, "%s", text.data);
    wh_text_free(&text);
}

/* Is it an event of the sweep, of a kind that no descriptor knows? */
static bool unknown_event(wh_sweep_walk *walk, const wh_burst *burst)
{
    wh_error error;
    const int64_t at_us = wh_sweep_clock_of(&walk->clock, burst->has_time, burst->at_utc_us, burst->offset_s);
    if (walk->failed || burst->reason == WH_REASON_DECODED)
        return false;
    steps_until(walk, at_us);
    bool kept;
    const wh_status status = wh_sweep_run_burst(walk->run, burst, at_us, &kept, &error);
    wh_sweep_walk_done(walk, status, &error);
    return status == WH_OK && kept;
}

static void on_burst(void *context, const wh_burst *burst)
{
    wh_sweep_walk *walk = context;
    wh_burst_shelf *shelf = walk->options->shelf;
    wh_burst_cut cut;
    const bool study = unknown_event(walk, burst) && walk->bursts;
    const bool cut_out = (study || shelf) && walk->memory && wh_sample_memory_cut(walk->memory, burst, &cut);
    if (study && cut_out)
        keep_burst(walk, &cut);
    if (shelf)
        wh_burst_shelf_put(shelf, burst, cut_out ? &cut : NULL);
    if (cut_out)
        wh_burst_cut_free(&cut);
}

static void on_attempt(void *context, const wh_attempt *attempt)
{
    const wh_sweep_walk *walk = context;
    wh_burst_shelf_attempt(walk->options->shelf, attempt);
}

static void on_log(void *context, wh_log_level level, const char *text)
{
    wh_sweep_walk *walk = context;
    if (level == WH_LOG_ERROR || (level == WH_LOG_WARNING && !walk->options->run.quiet))
        wh_sweep_walk_say(walk, "%s", text);
}

/* Beside the store. */
static wh_sweep_bursts *open_bursts(const wh_sweep_options *options)
{
    char folder[WH_PATH_MAX];
    bool known = true;
    if (options->store)
        known = snprintf(folder, sizeof folder, "%s.bursts", options->store) < (int)sizeof folder;
    else
        known = wh_data_path(folder, "bursts");
    return known ? wh_sweep_bursts_create(folder) : NULL;
}

int wh_sweep_walk_open(wh_sweep_walk *walk, const wh_sweep_options *options, wh_store *store, wh_roster *roster,
                       wh_sweep *sweep)
{
    wh_error error;
    *walk = (wh_sweep_walk){.options = options, .store = store, .roster = roster, .sweep = sweep};
    walk->show = options->recording_count > 0 || !wh_sweep_board_able(options) ? &wh_sweep_lines : &wh_sweep_board;
    walk->insights = wh_sweep_insights_create(roster, &options->insight);
    const wh_sweep_run_hooks hooks = {
        .context = walk, .keep = keep, .settled = settled, .keep_strangers = options->keep_strangers};
    if (!walk->insights) {
        wh_fail(&error, WH_ERR_MEMORY, NULL, "out of memory");
        return wh_exit_for(&error);
    }
    if (wh_sweep_run_create(roster, sweep, &hooks, &walk->run, &error) != WH_OK)
        return wh_exit_for(&error);
    walk->shown = sweep->event_count;
    if (sweep->event_count > 0)
        wh_sweep_clock_go_on(&walk->clock, sweep->dated, sweep->events[sweep->event_count - 1].at_us);
    else
        wh_sweep_clock_begin(&walk->clock);
    walk->clock.live = options->recording_count == 0;
    if (options->steps) {
        const int status = wh_sweep_steps_load(options->steps, &walk->steps);
        if (status != 0)
            return status;
    }
    const bool waiting = options->recording_count == 0 || options->board;
    const wh_receiver_sink sink = {.context = walk,
                                   .reading = on_reading,
                                   .burst = on_burst,
                                   .early = waiting ? on_early : NULL,
                                   .attempt = options->shelf ? on_attempt : NULL};
    wh_run_options run = options->run;
    run.explain |= options->shelf != NULL;
    const int status = wh_feed_receiver(&run, &sink, (wh_log){on_log, walk}, &walk->descriptors, &walk->receiver);
    if (options->recording_count == 0) /* recordings need no copies */
        walk->bursts = open_bursts(options);
    if (walk->bursts || options->shelf)
        walk->memory = wh_sample_memory_create();
    walk->source = options->run.source;
    walk->source.log = (wh_log){on_log, walk};
    walk->scene = (wh_sweep_scene){
        .options = options, .roster = roster, .sweep = sweep, .run = walk->run, .insights = walk->insights};
    return status;
}

void wh_sweep_walk_close(wh_sweep_walk *walk)
{
    wh_sweep_bursts_destroy(&walk->bursts);
    wh_sample_memory_destroy(&walk->memory);
    wh_receiver_destroy(&walk->receiver);
    wh_descriptor_set_destroy(&walk->descriptors);
    wh_sweep_run_destroy(&walk->run);
    wh_sweep_insights_destroy(&walk->insights);
    free(walk->steps.steps);
    wh_sweep_free(&walk->sweep);
    wh_roster_destroy(&walk->roster);
    wh_store_close(&walk->store);
}

/* A stretch begins: nothing was heard since the one before. */
static void on_stream(void *context, const wh_stream *stream)
{
    wh_sweep_walk *walk = context;
    wh_error error;
    wh_status status = WH_OK;
    if (walk->failed)
        return;
    if (walk->clock.running)
        steps_until(walk, wh_sweep_clock_now(&walk->clock));
    /* To the end of what there was: also of a run that was killed and could not say so. */
    const char *why = walk->clock.running ? "end of the stretch" : "the program ended";
    status = wh_sweep_run_gap(walk->run, why, wh_sweep_clock_now(&walk->clock), &error);
    if (status == WH_OK && !wh_sweep_clock_stretch(&walk->clock, stream))
        status = wh_fail(&error, WH_ERR_DATA, "name the recordings in the order in which they were made",
                         "%s: is from before what the sweep has heard already, or says no date", stream->name);
    if (walk->sweep->id == 0) {
        snprintf(walk->sweep->source, sizeof walk->sweep->source, "%s", stream->name);
        snprintf(walk->sweep->receiver, sizeof walk->sweep->receiver, "%.4f MHz, %.3f MS/s, wheelhark " WH_VERSION,
                 stream->centre_hz * 1e-6, stream->sample_rate_hz * 1e-6);
    }
    snprintf(walk->scene.source, sizeof walk->scene.source, "%s", stream->name);
    walk->scene.centre_hz = stream->centre_hz;
    walk->stream = *stream;
    if (walk->memory)
        wh_sample_memory_stretch(walk->memory, stream);
    const int64_t now = wh_sweep_clock_now(&walk->clock);
    snprintf(walk->heard_from, sizeof walk->heard_from, "%.4f MHz, %.60s", stream->centre_hz * 1e-6, stream->name);
    if (status == WH_OK)
        status = wh_sweep_run_listen(walk->run, walk->heard_from, now, &error);
    for (size_t i = 0; status == WH_OK && walk->mark_repair && i < walk->options->unit_count; i++)
        status = wh_sweep_run_repaired(walk->run, walk->options->units[i], now, &error);
    walk->mark_repair = false;
    wh_sweep_walk_done(walk, status, &error);
}

static size_t on_samples(void *context, const void *samples, size_t count)
{
    wh_sweep_walk *walk = context;
    if (walk->memory)
        wh_sample_memory_samples(walk->memory, samples, count);
    wh_sweep_clock_samples(&walk->clock, count);
    return count;
}

static void on_lost(void *context, uint64_t count)
{
    wh_sweep_walk *walk = context;
    wh_error error;
    const bool gap = (double)count / walk->clock.rate_hz >= LOST_IS_GAP_S;
    wh_status status = WH_OK;
    if (gap)
        status = wh_sweep_run_gap(walk->run, "samples were lost", wh_sweep_clock_now(&walk->clock), &error);
    wh_sweep_clock_samples(&walk->clock, count);
    if (walk->memory) { /* what is remembered is of one piece */
        wh_stream rest = walk->stream;
        const int64_t since_us = wh_sweep_clock_now(&walk->clock) - walk->clock.start_us;
        rest.start_s += (double)since_us * 1e-6;
        rest.start_utc_us += since_us;
        wh_sample_memory_stretch(walk->memory, &rest);
    }
    if (gap && status == WH_OK)
        status = wh_sweep_run_listen(walk->run, walk->heard_from, wh_sweep_clock_now(&walk->clock), &error);
    wh_sweep_walk_done(walk, status, &error);
}

static void on_notice(void *context, const wh_error *notice)
{
    wh_sweep_walk *walk = context;
    if (notice->status == WH_ERR_DATA)
        walk->status = WH_EXIT_DATA;
    if (notice->status == WH_ERR_DATA || !walk->options->run.quiet)
        wh_sweep_walk_say(walk, "%s", notice->what);
}

wh_status wh_sweep_walk_input(wh_sweep_walk *walk, bool (*more)(void *context, wh_source *source, bool idle),
                              wh_error *error)
{
    const wh_feed_hooks hooks = {walk, on_stream, on_samples, on_lost, on_notice, more, NULL};
    wh_sweep_clock_input(&walk->clock);
    const wh_status status = wh_feed_input(&walk->source, walk->receiver, &hooks, error);
    if (walk->clock.running && !walk->failed)
        steps_until(walk, wh_sweep_clock_now(&walk->clock));
    walk->scene.source[0] = '\0';
    return status;
}
