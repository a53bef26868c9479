#include "web_board.h"

#include "board_json.h"
#include "change_report.h"
#include "finding_report.h"
#include "history_report.h"
#include "json_writer.h"
#include "yard_case.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define HEARD_MOST 16 /* sensors listed at a wheel */

static wh_board board_of(const wh_sweep_walk *walk, const wh_sweep_insight *insight)
{
    const wh_insight_options *options = &walk->options->insight;
    return (wh_board){.unit = insight->unit,
                      .attribution = insight->attribution,
                      .findings = insight->findings,
                      .now_us = walk->scene.now_us,
                      .reference_c = options->thresholds->reference_c,
                      .site = options->site,
                      .pressure_unit = options->pressure_unit,
                      .temperature_unit = options->temperature_unit};
}

/* Where a sensor is on record, in a few words. */
static void put_record(wh_text *text, const wh_sweep_walk *walk, const char *sensor, const wh_stop *stop)
{
    char position[WH_POSITION_SIZE], words[WH_UNIT_NAME_SIZE + 24] = "nowhere";
    wh_roster_place places[2];
    const size_t count = wh_roster_places(walk->roster, sensor, places, 2);
    if (count > 1)
        snprintf(words, sizeof words, "at %zu wheels", count);
    else if (count == 1 && strcmp(places[0].unit->name, stop->unit) != 0)
        snprintf(words, sizeof words, "unit %s, %s", places[0].unit->name,
                 wh_position_text(position, places[0].wheel->position));
    else if (count == 1)
        snprintf(words, sizeof words, "%s%s", wh_position_text(position, places[0].wheel->position),
                 wh_position_equal(places[0].wheel->position, stop->position) ? ", this wheel" : "");
    wh_json_put_string(text, "record", words);
}

/* The strongest reading of each sensor since he stands at this wheel, strongest first. */
static size_t heard_here(const wh_sweep_walk *walk, const wh_heard **heard)
{
    const wh_sweep *sweep = walk->sweep;
    size_t count = 0;
    for (size_t i = sweep->event_count; i-- > 0;) {
        const wh_event *event = &sweep->events[i];
        if (event->kind == WH_EVENT_STAND || event->kind == WH_EVENT_LEAVE)
            break;
        if (event->kind != WH_EVENT_HEARD)
            continue;
        size_t k = 0;
        while (k < count && strcmp(heard[k]->sensor, event->heard.sensor) != 0)
            k++;
        if (k == HEARD_MOST || (k < count && heard[k]->level_dbfs >= event->heard.level_dbfs))
            continue;
        count += k == count;
        for (; k > 0 && heard[k - 1]->level_dbfs < event->heard.level_dbfs; k--)
            heard[k] = heard[k - 1];
        heard[k] = &event->heard;
    }
    return count;
}

static void put_here(wh_text *text, const wh_sweep_walk *walk, const wh_board *board, const wh_stop *stop)
{
    const wh_heard *heard[HEARD_MOST];
    const size_t count = heard_here(walk, heard);
    wh_json_key(text, "here");
    wh_json_open_array(text);
    for (size_t i = 0; i < count; i++) {
        wh_json_item(text);
        wh_json_open(text);
        wh_board_put_heard(text, board, heard[i]);
        put_record(text, walk, heard[i]->sensor, stop);
        wh_json_close(text);
    }
    wh_json_close_array(text);
}

static void put_walk(wh_text *text, const wh_sweep_walk *walk, const wh_walk *now, const wh_stop *stop)
{
    static const char *const phases[] = {"before", "at", "done", "ended"};
    char position[WH_POSITION_SIZE];
    wh_json_key(text, "walk");
    wh_json_open(text);
    wh_json_put_string(text, "phase", phases[now->phase]);
    wh_json_put_string(text, "unit", stop->unit);
    wh_json_put_string(text, "position", wh_position_text(position, stop->position));
    wh_json_put_bool(text, "listening", now->listening);
    wh_json_put_count(text, "heard_here", now->heard_here);
    wh_json_put_count(text, "unknown_here", now->unknown_here);
    wh_json_put_count(text, "strangers", now->strangers);
    wh_json_close(text);
    wh_json_key(text, "sweep");
    wh_json_open(text);
    wh_json_put_count(text, "number", (uint64_t)walk->sweep->id);
    wh_json_put_string(text, "who", walk->sweep->who);
    wh_json_key(text, "units");
    wh_json_open_array(text);
    for (size_t i = 0; i < walk->sweep->unit_count; i++) {
        wh_json_item(text);
        wh_json_string(text, walk->sweep->units[i]);
    }
    wh_json_close_array(text);
    wh_json_close(text);
}

/* Why something, or nothing, comes. */
static void put_signal(wh_text *text, const wh_sweep_walk *walk)
{
    wh_receiver_stats stats;
    char mhz[WH_FIXED_SIZE];
    wh_text words = {0};
    const char *state = "hearing";
    wh_receiver_get_stats(walk->receiver, &stats);
    if (!walk->scene.source[0]) {
        state = "gone";
        wh_text_add(&words, "NOT LISTENING. ");
        wh_text_add(&words, walk->scene.word);
    } else {
        wh_text_print(&words, "Listening to %s on %s MHz. ", walk->scene.source,
                      wh_fixed(mhz, walk->scene.centre_hz * 1e-6, 2));
        if (stats.bursts == 0) {
            state = "nothing";
            wh_text_add(&words, "Nothing heard yet: parked sensors sleep until they are woken.");
        } else if (stats.bursts_decoded == 0) {
            state = "unknown";
            wh_text_print(&words, "%llu bursts heard, none of a kind that is known: see Bursts.",
                          (unsigned long long)stats.bursts);
        } else {
            wh_text_print(&words, "%llu bursts heard, %llu read.", (unsigned long long)stats.bursts,
                          (unsigned long long)stats.bursts_decoded);
        }
        /* One sample in a thousand: what the summary of 'listen' complains about as well. */
        if (stats.samples > 0 && stats.clipped_samples * 1000 > stats.samples) {
            state = "clipped";
            wh_text_add(&words, " Overdriven: stand further away or use a lower --gain.");
        }
        if (stats.samples_lost > 0)
            wh_text_print(&words, " %llu samples were lost.", (unsigned long long)stats.samples_lost);
    }
    wh_json_key(text, "signal");
    wh_json_open(text);
    wh_json_put_string(text, "state", state);
    wh_json_put_string(text, "text", words.data ? words.data : "");
    wh_json_close(text);
    wh_text_free(&words);
}

static void put_advice(wh_text *text, const wh_sweep_walk *walk, const wh_sweep_insight *insight, const wh_walk *now,
                       const wh_stop *stop)
{
    wh_text words = {0};
    switch (now->phase) {
    case WH_WALK_AT: wh_sweep_advice_text(&words, &walk->scene, stop, wh_insight_seat(insight, stop->position)); break;
    case WH_WALK_BEFORE: wh_text_add(&words, "Go to the next wheel."); break;
    case WH_WALK_DONE: wh_text_add(&words, "The round is done."); break;
    case WH_WALK_ENDED: wh_text_add(&words, "The sweep is finished."); break;
    }
    wh_json_put_string(text, "advice", words.data ? words.data : "");
    wh_json_put_string(text, "word", walk->scene.word);
    wh_text_free(&words);
}

static void put_changes(wh_text *text, const wh_changes *changes)
{
    char position[WH_POSITION_SIZE];
    wh_json_key(text, "changes");
    wh_json_open_array(text);
    for (unsigned i = 0; i < changes->count; i++) {
        const wh_change *change = &changes->items[i];
        wh_text reason = {0};
        wh_change_reason(&reason, change);
        wh_json_item(text);
        wh_json_open(text);
        wh_json_put_string(text, "position", wh_position_text(position, change->position));
        wh_json_put_string(text, "old", change->old_sensor);
        wh_json_put_string(text, "new", change->new_sensor);
        wh_json_put_string(text, "decimal", change->new_decimal);
        wh_json_put_string(text, "reason", reason.data ? reason.data : "");
        wh_json_close(text);
        wh_text_free(&reason);
    }
    wh_json_close_array(text);
}

static void put_repair(wh_text *text, const wh_verification *verification)
{
    wh_json_key(text, "repair");
    wh_json_open_array(text);
    for (size_t i = 0; verification && i < verification->count; i++) {
        const wh_verify_row *row = &verification->rows[i];
        const wh_finding *finding = row->has_before ? &row->before : row->has_after ? &row->after : NULL;
        char position[WH_POSITION_SIZE];
        wh_text where = {0};
        if (finding)
            wh_finding_where(&where, finding);
        else
            wh_text_add(&where, wh_position_text(position, row->position));
        wh_json_item(text);
        wh_json_open(text);
        wh_json_put_string(text, "where", where.data ? where.data : "");
        wh_json_put_string(text, "before", row->has_before ? wh_finding_kind_text(row->before.kind) : "");
        wh_json_put_string(text, "verdict", wh_verdict_name(row->verdict));
        wh_json_put_string(text, "now", wh_verdict_text(row->verdict));
        wh_json_put_string(text, "evidence", row->text);
        wh_json_close(text);
        wh_text_free(&where);
    }
    wh_json_close_array(text);
}

/* What to enter; after a repair mark, what became of the findings from before it, which the store knows. */
static void put_outcome(wh_text *text, const wh_sweep_walk *walk, const wh_sweep_insight *insight, const char *unit)
{
    wh_error error;
    wh_changes *changes = calloc(1, sizeof *changes);
    if (changes && wh_changes_of(walk->roster, unit, insight->attribution, walk->options->thresholds.sure_odds, changes,
                                 &error) == WH_OK)
        put_changes(text, changes);
    free(changes);
    if (wh_sweep_repaired(walk->sweep, unit) == 0)
        return;
    wh_yard_case *yard_case;
    const wh_insight_options *given = &walk->options->insight;
    const wh_case_options options = {.sweep = walk->sweep->id,
                                     .thresholds = given->thresholds,
                                     .site = given->site,
                                     .pressure_unit = given->pressure_unit,
                                     .temperature_unit = given->temperature_unit};
    if (wh_yard_case_load(walk->store, unit, &options, &yard_case, &error) != WH_OK)
        return; /* the board goes without it: the store's failure is told where something is to be kept */
    put_repair(text, yard_case->verification);
    wh_yard_case_free(&yard_case);
}

void wh_web_board_put(wh_text *text, wh_sweep_walk *walk)
{
    const wh_walk *now = wh_sweep_run_walk(walk->run);
    const wh_stop *stop = &now->stops[now->at];
    wh_error error;
    const wh_sweep_insight *insight = wh_sweep_insight_of(walk->insights, walk->sweep, stop->unit, &error);
    if (!insight) {
        text->failed = true;
        return;
    }
    const wh_board board = board_of(walk, insight);
    wh_json_open(text);
    put_walk(text, walk, now, stop);
    put_advice(text, walk, insight, now, stop);
    put_signal(text, walk);
    put_here(text, walk, &board, stop);
    put_outcome(text, walk, insight, stop->unit);
    wh_json_key(text, "board");
    wh_board_put(text, &board);
    wh_json_close(text);
}

void wh_web_unit_put(wh_text *text, const wh_yard_case *yard_case, const wh_case_options *options)
{
    const wh_sweep *sweep = yard_case->sweep;
    const wh_board board = {.unit = yard_case->unit,
                            .attribution = yard_case->attribution,
                            .findings = yard_case->findings,
                            .now_us =
                                sweep->event_count ? sweep->events[sweep->event_count - 1].at_us : sweep->begun_us,
                            .reference_c = options->thresholds->reference_c,
                            .site = options->site,
                            .pressure_unit = options->pressure_unit,
                            .temperature_unit = options->temperature_unit};
    wh_json_open(text);
    put_changes(text, yard_case->changes);
    put_repair(text, yard_case->verification);
    wh_json_key(text, "board");
    wh_board_put(text, &board);
    wh_json_close(text);
}

/* One unit; what was not swept says so. */
static void put_unit(wh_text *text, wh_store *store, const wh_unit *unit, const wh_case_options *options)
{
    wh_yard_case *yard_case;
    wh_error error;
    wh_unit_line line = {.unit = unit};
    char at[WH_TIME_SIZE];
    wh_json_item(text);
    wh_json_open(text);
    wh_json_put_string(text, "unit", unit->name);
    wh_json_put_string(text, "kind", wh_unit_kind_name(unit->kind));
    wh_json_put_count(text, "wheels", unit->wheel_count);
    const bool swept = wh_yard_case_load(store, unit->name, options, &yard_case, &error) == WH_OK;
    wh_json_put_bool(text, "swept", swept);
    if (swept) {
        wh_unit_line_count(&line, yard_case->attribution, yard_case->findings);
        if (yard_case->sweep->dated)
            wh_json_put_string(text, "at", wh_time_text(at, yard_case->sweep->begun_us, 3));
        wh_json_put_count(text, "wheels_heard", line.heard);
        wh_json_put_count(text, "findings_fault", line.by_severity[WH_SEVERITY_FAULT]);
        wh_json_put_count(text, "findings_check", line.by_severity[WH_SEVERITY_CHECK]);
        wh_json_put_count(text, "findings_note", line.by_severity[WH_SEVERITY_NOTE]);
        wh_yard_case_free(&yard_case);
    }
    wh_json_close(text);
}

wh_status wh_web_yard_put(wh_text *text, wh_store *store, const wh_case_options *options, wh_error *error)
{
    wh_roster *roster;
    const wh_status status = wh_store_roster_load(store, &roster, error);
    if (status != WH_OK)
        return status;
    wh_json_open(text);
    wh_json_put_string(text, "pressure_unit", wh_pressure_unit_name(options->pressure_unit));
    wh_json_key(text, "units");
    wh_json_open_array(text);
    for (size_t i = 0; i < wh_roster_count(roster); i++)
        put_unit(text, store, wh_roster_at(roster, i), options);
    wh_json_close_array(text);
    wh_json_close(text);
    wh_roster_destroy(&roster);
    return WH_OK;
}
