#include "history_report.h"

#include "cold_pressure.h"
#include "csv.h"
#include "json_writer.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static unsigned pressure_decimals(wh_pressure_unit unit)
{
    return unit == WH_BAR ? 2 : 1;
}

/* Undated sweeps count from the start of their recording. */
static void instant(char out[WH_TIME_SIZE], bool dated, int64_t at_us)
{
    char number[WH_FIXED_SIZE];
    if (dated)
        wh_time_text(out, at_us, 3);
    else
        snprintf(out, WH_TIME_SIZE, "%s s", wh_fixed(number, (double)at_us * 1e-6, 3));
}

static void put_at_json(wh_text *text, bool dated, int64_t at_us)
{
    char at[WH_TIME_SIZE];
    if (dated)
        wh_json_put_string(text, "at", wh_time_text(at, at_us, 6));
    else
        wh_json_put_fixed(text, "offset_s", (double)at_us * 1e-6, 6);
}

static void end_json(wh_text *text)
{
    wh_json_close(text);
    wh_text_add(text, "\n");
}

static void sweep_json(wh_text *text, const wh_sweep_head *sweep)
{
    wh_json_open(text);
    wh_json_put_string(text, "record", "sweep");
    put_at_json(text, sweep->dated, sweep->begun_us);
    wh_json_put_count(text, "sweep", (uint64_t)sweep->id);
    wh_json_put_string(text, "units", sweep->units);
    if (sweep->who[0])
        wh_json_put_string(text, "who", sweep->who);
    wh_json_put_string(text, "source", sweep->source);
    wh_json_put_count(text, "events", sweep->event_count);
    wh_json_put_bool(text, "ended", sweep->ended);
    end_json(text);
}

static void sweep_csv(wh_text *text, const wh_sweep_head *sweep)
{
    wh_csv_writer writer = {.out = text};
    char cell[WH_TIME_SIZE];
    snprintf(cell, sizeof cell, "%lld", (long long)sweep->id);
    wh_csv_put_number(&writer, cell);
    instant(cell, sweep->dated, sweep->begun_us);
    wh_csv_put(&writer, cell);
    instant(cell, sweep->dated, sweep->last_us);
    wh_csv_put(&writer, cell);
    wh_csv_put(&writer, sweep->units);
    wh_csv_put(&writer, sweep->who);
    wh_csv_put(&writer, sweep->source);
    wh_csv_put(&writer, sweep->ended ? "yes" : "no");
    wh_csv_end_row(&writer);
}

void wh_history_sweeps(wh_text *text, const wh_table_style *style, const wh_sweep_head *sweeps, size_t count)
{
    char begun[WH_TIME_SIZE];
    if (style->format == WH_TABLE_CSV)
        wh_text_add(text, "sweep,begun (UTC),last event (UTC),units,who,source,finished\r\n");
    if (style->format == WH_TABLE_TEXT)
        wh_text_print(text, "%-7s%-26s%-10s%-20s%s\n", "sweep", "begun (UTC)", "finished", "who", "units");
    for (size_t i = 0; i < count; i++) {
        if (style->format == WH_TABLE_JSON) {
            sweep_json(text, &sweeps[i]);
        } else if (style->format == WH_TABLE_CSV) {
            sweep_csv(text, &sweeps[i]);
        } else {
            instant(begun, sweeps[i].dated, sweeps[i].begun_us);
            wh_text_print(text, "%-7lld%-26s%-10s", (long long)sweeps[i].id, begun, sweeps[i].ended ? "yes" : "no");
            wh_text_pad(text, sweeps[i].who[0] ? sweeps[i].who : "-", 20);
            wh_text_print(text, "%s\n", sweeps[i].units);
        }
    }
}

static void reading_json(wh_text *text, const wh_past *past, const wh_tire_air *air)
{
    const wh_heard *heard = &past->heard;
    wh_json_open(text);
    wh_json_put_string(text, "record", "heard");
    put_at_json(text, true, past->at_us);
    wh_json_put_string(text, "sensor", heard->sensor);
    if (heard->descriptor[0])
        wh_json_put_string(text, "descriptor", heard->descriptor);
    if (air->basis != WH_COLD_NONE)
        wh_json_put_fixed(text, "gauge_kpa", air->pressure.kpa, 1);
    if (air->basis == WH_COLD_CORRECTED)
        wh_json_put_fixed(text, "cold_gauge_kpa", air->cold.kpa, 1);
    if (heard->temperature_state == WH_VALUE_OK)
        wh_json_put_fixed(text, "temp_c", heard->temperature_c, 1);
    wh_json_put_fixed(text, "level_dbfs", heard->level_dbfs, 1);
    wh_json_put_fixed(text, "confidence", heard->confidence, 3);
    end_json(text);
}

/* Number cells of one reading: as read, cold, temperature, level; empty where there is none. */
static void reading_figures(char cells[4][WH_FIXED_SIZE], const wh_table_style *style, const wh_heard *heard,
                            const wh_tire_air *air)
{
    const unsigned decimals = pressure_decimals(style->pressure);
    memset(cells, 0, 4 * sizeof cells[0]);
    if (air->basis != WH_COLD_NONE)
        wh_fixed(cells[0], wh_kpa_to(air->pressure.kpa, style->pressure), decimals);
    if (air->basis == WH_COLD_CORRECTED)
        wh_fixed(cells[1], wh_kpa_to(air->cold.kpa, style->pressure), decimals);
    if (heard->temperature_state == WH_VALUE_OK)
        wh_fixed(cells[2], wh_celsius_to(heard->temperature_c, style->temperature), 1);
    wh_fixed(cells[3], heard->level_dbfs, 1);
}

static void reading_line(wh_text *text, const wh_table_style *style, const wh_past *past)
{
    const wh_tire_air air = wh_tire_air_of(&past->heard, style->reference_c, style->site);
    char cells[4][WH_FIXED_SIZE], at[WH_TIME_SIZE];
    if (style->format == WH_TABLE_JSON) {
        reading_json(text, past, &air);
        return;
    }
    reading_figures(cells, style, &past->heard, &air);
    instant(at, true, past->at_us);
    if (style->format == WH_TABLE_TEXT) {
        wh_text_print(text, "%-26s%-12s%10s%10s%8s%8s\n", at, past->heard.sensor, cells[0], cells[1], cells[2],
                      cells[3]);
        return;
    }
    wh_csv_writer writer = {.out = text};
    wh_csv_put(&writer, at);
    wh_csv_put(&writer, past->heard.sensor);
    for (unsigned i = 0; i < 4; i++)
        wh_csv_put_number(&writer, cells[i]);
    wh_csv_put(&writer, past->heard.descriptor);
    wh_csv_end_row(&writer);
}

void wh_history_readings(wh_text *text, const wh_table_style *style, const wh_past *past, size_t count)
{
    char number[WH_FIXED_SIZE];
    const char *pressure = wh_pressure_unit_name(style->pressure);
    const char *degrees = wh_temperature_unit_name(style->temperature);
    wh_plain(number, wh_celsius_to(style->reference_c, style->temperature), 1);
    if (style->format == WH_TABLE_CSV)
        wh_text_print(text,
                      "time (UTC),sensor,gauge pressure (%s),gauge pressure at %s %s (%s),temperature (%s),"
                      "level (dBFS),descriptor\r\n",
                      pressure, number, degrees, pressure, degrees);
    if (style->format == WH_TABLE_TEXT) {
        char cold[WH_FIXED_SIZE + 8];
        snprintf(cold, sizeof cold, "at %.12s %s", number, degrees);
        wh_text_print(text, "%-26s%-12s%10s%10s%8s%8s   (%s gauge, %s)\n", "time (UTC)", "sensor", "as read", cold,
                      "temp.", "dBFS", pressure, degrees);
    }
    for (size_t i = 0; i < count; i++)
        reading_line(text, style, &past[i]);
}

void wh_unit_line_count(wh_unit_line *line, const wh_attribution *attribution, const wh_findings *findings)
{
    for (unsigned i = 0; i < attribution->seat_count; i++)
        line->heard += attribution->seats[i].state == WH_SEAT_SURE || attribution->seats[i].state == WH_SEAT_BOUND;
    for (size_t i = 0; i < findings->count; i++)
        line->by_severity[findings->items[i].severity]++;
}

static void unit_json(wh_text *text, const wh_unit_line *line)
{
    wh_json_open(text);
    wh_json_put_string(text, "record", "glance");
    if (line->swept)
        put_at_json(text, line->dated, line->sweep_us);
    wh_json_put_string(text, "unit", line->unit->name);
    wh_json_put_string(text, "kind", wh_unit_kind_name(line->unit->kind));
    wh_json_put_count(text, "wheels", line->unit->wheel_count);
    wh_json_put_bool(text, "swept", line->swept);
    if (line->swept) {
        wh_json_put_bool(text, "repair_marked", line->repaired);
        wh_json_put_count(text, "wheels_heard", line->heard);
        for (int severity = WH_SEVERITY_COUNT - 1; severity >= 0; severity--) {
            char key[24];
            snprintf(key, sizeof key, "findings_%s", wh_severity_name((wh_severity)severity));
            wh_json_put_count(text, key, line->by_severity[severity]);
        }
    }
    end_json(text);
}

static void unit_row(wh_text *text, const wh_unit_line *line, bool csv)
{
    char when[WH_TIME_SIZE] = "never", heard[32] = "", counts[3][16] = {"", "", ""};
    if (line->swept) {
        instant(when, line->dated, line->sweep_us);
        snprintf(heard, sizeof heard, csv ? "%u" : "%u of %u", line->heard, line->unit->wheel_count);
        for (int i = 0; i < 3; i++)
            snprintf(counts[i], sizeof counts[i], "%u", line->by_severity[WH_SEVERITY_FAULT - i]);
    }
    if (!csv && !line->swept) {
        wh_text_pad(text, line->unit->name, 16);
        wh_text_print(text, " %-9snever\n", wh_unit_kind_name(line->unit->kind));
        return;
    }
    if (!csv) {
        wh_text_pad(text, line->unit->name, 16);
        wh_text_print(text, " %-9s%-26s%-11s%7s%7s%7s%s\n", wh_unit_kind_name(line->unit->kind), when, heard, counts[0],
                      counts[1], counts[2], line->repaired ? "   since the repair mark" : "");
        return;
    }
    wh_csv_writer writer = {.out = text};
    char wheels[16];
    snprintf(wheels, sizeof wheels, "%u", line->unit->wheel_count);
    wh_csv_put(&writer, line->unit->name);
    wh_csv_put(&writer, wh_unit_kind_name(line->unit->kind));
    wh_csv_put(&writer, when);
    wh_csv_put_number(&writer, wheels);
    wh_csv_put_number(&writer, heard);
    for (int i = 0; i < 3; i++)
        wh_csv_put_number(&writer, counts[i]);
    wh_csv_put(&writer, line->repaired ? "yes" : "no");
    wh_csv_end_row(&writer);
}

void wh_yard_lines(wh_text *text, wh_table_format format, const wh_unit_line *lines, size_t count)
{
    if (format == WH_TABLE_TEXT)
        wh_text_print(text, "%-16s %-9s%-26s%-11s%7s%7s%7s\n", "unit", "kind", "last swept (UTC)", "heard", "faults",
                      "checks", "notes");
    if (format == WH_TABLE_CSV)
        wh_text_add(text, "unit,kind,last swept (UTC),wheels,wheels heard,faults,checks,notes,since repair mark\r\n");
    for (size_t i = 0; i < count; i++) {
        if (format == WH_TABLE_JSON)
            unit_json(text, &lines[i]);
        else
            unit_row(text, &lines[i], format == WH_TABLE_CSV);
    }
}

static double figure_of(const wh_thresholds *thresholds, const wh_threshold_row *row)
{
    double value;
    memcpy(&value, (const char *)thresholds + row->offset, sizeof value);
    return value / row->scale;
}

static void rule_json(wh_text *text, const wh_threshold_row *row, double value)
{
    wh_json_open(text);
    wh_json_put_string(text, "record", "rule");
    wh_json_put_string(text, "name", row->name);
    wh_json_put_fixed(text, "value", value, 3);
    wh_json_put_string(text, "unit", row->unit);
    wh_json_put_fixed(text, "default", row->standard, 3);
    wh_json_put_fixed(text, "least", row->least, 3);
    wh_json_put_fixed(text, "most", row->most, 3);
    wh_json_put_string(text, "default_source", row->source);
    wh_json_put_string(text, "meaning", row->meaning);
    end_json(text);
}

void wh_rules_lines(wh_text *text, wh_table_format format, const wh_thresholds *thresholds)
{
    if (format == WH_TABLE_CSV)
        wh_text_add(text, "name,value,unit,default,least,most,source of the default,meaning\r\n");
    for (size_t i = 0; i < wh_threshold_row_count; i++) {
        const wh_threshold_row *row = &wh_threshold_rows[i];
        const double value = figure_of(thresholds, row), numbers[] = {value, row->standard, row->least, row->most};
        char number[4][WH_FIXED_SIZE];
        for (unsigned k = 0; k < 4; k++)
            wh_plain(number[k], numbers[k], 3);
        if (format == WH_TABLE_JSON) {
            rule_json(text, row, value);
        } else if (format == WH_TABLE_TEXT) {
            const bool own = fabs(value - row->standard) > 1e-9 * fabs(row->standard);
            wh_text_print(text, "%s: %s %s%s\n    %s\n    default %s %s (%s), settable from %s to %s\n", row->name,
                          number[0], row->unit, own ? " (fleet setting)" : "", row->meaning, number[1], row->unit,
                          row->source, number[2], number[3]);
        } else {
            wh_csv_writer writer = {.out = text};
            wh_csv_put(&writer, row->name);
            wh_csv_put_number(&writer, number[0]);
            wh_csv_put(&writer, row->unit);
            for (unsigned k = 1; k < 4; k++)
                wh_csv_put_number(&writer, number[k]);
            wh_csv_put(&writer, row->source);
            wh_csv_put(&writer, row->meaning);
            wh_csv_end_row(&writer);
        }
    }
}
