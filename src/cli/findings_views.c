#include "findings_views.h"

#include "change_report.h"
#include "finding_report.h"
#include "history_report.h"
#include "trend_svg.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static wh_table_style style_of(const wh_yard_view *view, wh_view_format format)
{
    return (wh_table_style){.format = format == WH_VIEW_JSON  ? WH_TABLE_JSON
                                      : format == WH_VIEW_CSV ? WH_TABLE_CSV
                                                              : WH_TABLE_TEXT,
                            .pressure = view->options.pressure_unit,
                            .temperature = view->options.temperature_unit,
                            .reference_c = view->thresholds.reference_c,
                            .site = view->options.site};
}

void wh_view_findings(wh_text *text, const wh_yard_view *view, const wh_yard_case *yard_case, wh_view_format format)
{
    const wh_findings *findings = yard_case->findings;
    const char *unit = yard_case->unit->name;
    const wh_table_format table = style_of(view, format).format;
    if (format == WH_VIEW_CSV)
        wh_findings_put_csv(text, findings);
    for (size_t i = 0; format != WH_VIEW_CSV && i < findings->count; i++) {
        char lead[32];
        snprintf(lead, sizeof lead, "%zu. ", i + 1);
        if (format == WH_VIEW_JSON)
            wh_finding_put_json(text, &findings->items[i], yard_case->sweep->dated, yard_case->sweep->begun_us);
        else
            wh_finding_put_text(text, lead, &findings->items[i], 100);
    }
    if (format == WH_VIEW_TEXT && findings->count == 0)
        wh_text_add(text, "Nothing was found. That is no proof that every tire is in order.\n");
    if (format == WH_VIEW_TEXT)
        wh_findings_put_cautions(text, findings, 100);
    if (!yard_case->verification || format == WH_VIEW_CSV)
        return;
    if (format == WH_VIEW_TEXT)
        wh_text_add(text, "\nAFTER THE REPAIR, by what was heard since its mark\n");
    wh_verification_lines(text, table, unit, yard_case->verification);
}

void wh_view_changes(wh_text *text, const wh_yard_view *view, const wh_yard_case *yard_case, wh_view_format format)
{
    wh_changes_lines(text, style_of(view, format).format, yard_case->unit->name, yard_case->changes);
}

wh_status wh_view_history(wh_text *text, const wh_yard_view *view, const wh_yard_case *yard_case, wh_view_format format,
                          wh_error *error)
{
    wh_store *store;
    wh_sweep_head *heads = NULL;
    size_t count = 0;
    wh_status status = wh_cli_store_open(view->store, WH_STORE_READ, &store, error);
    if (status != WH_OK)
        return status;
    const wh_sweep_filter filter = {.unit = yard_case->unit->name};
    status = wh_store_sweep_list(store, &filter, &heads, &count, error);
    wh_store_close(&store);
    if (status == WH_OK) {
        const wh_table_style style = style_of(view, format);
        wh_history_sweeps(text, &style, heads, count);
        if (format != WH_VIEW_JSON)
            wh_text_add(text, format == WH_VIEW_CSV ? "\r\n" : "\n");
        wh_history_readings(text, &style, yard_case->past, yard_case->past_count);
    }
    free(heads);
    return status;
}

wh_status wh_view_trend(wh_text *text, const wh_case_options *options, const wh_yard_case *yard_case,
                        wh_position position, wh_error *error)
{
    char name[WH_POSITION_SIZE], title[WH_UNIT_NAME_SIZE + WH_SENSOR_SIZE + 32], summary[WH_TREND_TEXT_SIZE];
    wh_position_text(name, position);
    const wh_wheel *wheel = wh_unit_wheel_const(yard_case->unit, position);
    if (!wheel)
        return wh_fail(error, WH_ERR_NOT_FOUND, "'wheelhark roster show UNIT' lists its wheels",
                       "unit '%s' has no wheel %s", yard_case->unit->name, name);
    const char *sensor = wheel->sensor;
    for (unsigned i = 0; i < yard_case->attribution->seat_count; i++) {
        const wh_seat *seat = &yard_case->attribution->seats[i];
        if (wh_position_equal(seat->position, position) &&
            (seat->state == WH_SEAT_SURE || seat->state == WH_SEAT_BOUND))
            sensor = seat->sensor;
    }
    if (!sensor[0])
        return wh_fail(error, WH_ERR_NOT_FOUND, "sweep the unit first", "no sensor is known at %s", name);
    wh_trend *trend = calloc(1, sizeof *trend);
    if (!trend)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    wh_status status = wh_trend_of(yard_case->past, yard_case->past_count, sensor, 0, options->thresholds->reference_c,
                                   options->site, trend);
    if (status == WH_OK) {
        const wh_gauge alarm = {wheel->target.kpa * options->thresholds->low_share};
        snprintf(title, sizeof title, "%s %s, sensor %s", yard_case->unit->name, name, sensor);
        const wh_trend_drawing drawing = {.trend = trend,
                                          .title = title,
                                          .summary = wh_trend_text(summary, trend, alarm, options->pressure_unit),
                                          .target = wheel->target,
                                          .alarm = alarm,
                                          .reference_c = options->thresholds->reference_c,
                                          .pressure_unit = options->pressure_unit,
                                          .temperature_unit = options->temperature_unit};
        wh_trend_svg(text, &drawing);
    } else {
        wh_fail(error, status, NULL, "out of memory");
    }
    free(trend);
    return status;
}

/* One unit for the yard at a glance; *line says "not swept" when there is no sweep. */
static wh_status summarise(const wh_yard_view *view, wh_store *store, const char *unit, wh_unit_line *line,
                           wh_error *error)
{
    wh_yard_case *yard_case;
    wh_case_options options = view->options;
    options.thresholds = &view->thresholds;
    options.sweep = 0;
    const wh_status status = wh_yard_case_load(store, unit, &options, &yard_case, error);
    if (status == WH_ERR_NOT_FOUND)
        return WH_OK; /* the unit is on the roster: it was not swept */
    if (status != WH_OK)
        return status;
    line->swept = true;
    line->dated = yard_case->sweep->dated;
    line->sweep_us = yard_case->sweep->begun_us;
    line->repaired = yard_case->after_id > 0;
    wh_unit_line_count(line, yard_case->attribution, yard_case->findings);
    wh_yard_case_free(&yard_case);
    return WH_OK;
}

wh_status wh_view_yard(wh_text *text, const wh_yard_view *view, wh_view_format format, bool *found, wh_error *error)
{
    wh_store *store;
    wh_roster *roster = NULL;
    wh_unit_line *lines = NULL;
    wh_status status = wh_cli_store_open(view->store, WH_STORE_READ, &store, error);
    if (status != WH_OK)
        return status;
    status = wh_store_roster_load(store, &roster, error);
    const size_t count = status == WH_OK ? wh_roster_count(roster) : 0;
    if (status == WH_OK && !(lines = calloc(count + 1, sizeof *lines)))
        status = wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    for (size_t i = 0; status == WH_OK && i < count; i++) {
        lines[i].unit = wh_roster_at(roster, i);
        status = summarise(view, store, lines[i].unit->name, &lines[i], error);
        for (int severity = 0; severity < WH_SEVERITY_COUNT; severity++)
            *found |= lines[i].by_severity[severity] > 0;
    }
    if (status == WH_OK)
        wh_yard_lines(text, style_of(view, format).format, lines, count);
    free(lines);
    if (roster)
        wh_roster_destroy(&roster);
    wh_store_close(&store);
    return status;
}

void wh_view_rules(wh_text *text, const wh_thresholds *thresholds, wh_view_format format)
{
    const wh_yard_view none = {0};
    wh_rules_lines(text, style_of(&none, format).format, thresholds);
}
