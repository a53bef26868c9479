#include "record_writer.h"

#include <string.h>

/* Widths hold the longest word of a column ("not available") and usual numbers; a longer one shifts its line. */
enum { TIME_WIDTH = 24, OFFSET_WIDTH = 12, SENSOR_WIDTH = 10, VALUE_WIDTH = 13, NUMBER_WIDTH = 10, NAME_WIDTH = 24 };

static const char bold[] = "\x1b[1m", alarm[] = "\x1b[1;31m", plain[] = "\x1b[0m";

/* Names come from files: nothing in them may steer the terminal. */
static void add_clean(wh_text *text, const char *string)
{
    for (const char *p = string; *p; p++) {
        const unsigned char byte = (unsigned char)*p;
        wh_text_add_bytes(text, byte < 0x20 || byte == 0x7F ? "?" : p, 1);
    }
}

static void add_color(wh_report *report, const char *sequence)
{
    if (report->style.color)
        wh_text_add(&report->line, sequence);
}

static unsigned pressure_decimals(wh_pressure_unit unit)
{
    return unit == WH_BAR ? 2 : 1;
}

static void write_heading(wh_report *report, bool has_time)
{
    wh_text *text = &report->line;
    char pressure[24], temperature[24];
    snprintf(pressure, sizeof pressure, "%s gauge", wh_pressure_unit_name(report->style.pressure));
    snprintf(temperature, sizeof temperature, "temp. %s", wh_temperature_unit_name(report->style.temperature));
    add_color(report, bold);
    wh_text_pad(text, has_time ? "time (UTC)" : "time in s", has_time ? TIME_WIDTH : -OFFSET_WIDTH);
    wh_text_add(text, "  ");
    wh_text_pad(text, "sensor", SENSOR_WIDTH);
    wh_text_pad(text, pressure, -VALUE_WIDTH - 2);
    wh_text_pad(text, temperature, -VALUE_WIDTH - 2);
    wh_text_pad(text, "confidence", -NUMBER_WIDTH - 2);
    wh_text_pad(text, "dBFS", -NUMBER_WIDTH + 2);
    wh_text_pad(text, "copies", -NUMBER_WIDTH + 2);
    wh_text_add(text, "  ");
    wh_text_pad(text, "descriptor", NAME_WIDTH);
    wh_text_add(text, "  notes");
    add_color(report, plain);
    wh_text_add(text, "\n");
    report->heading_written = true;
    report->heading_has_time = has_time;
}

/* With several inputs a record belongs to the one named above it. */
static void name_source(wh_report *report, const char *source)
{
    if (!report->style.name_sources || strcmp(source, report->source) == 0)
        return;
    snprintf(report->source, sizeof report->source, "%s", source);
    add_color(report, bold);
    add_clean(&report->line, source);
    wh_text_add(&report->line, ":");
    add_color(report, plain);
    wh_text_add(&report->line, "\n");
}

static void put_time(wh_text *text, bool has_time, int64_t at_utc_us, double offset_s)
{
    char time[WH_TIME_SIZE], number[WH_FIXED_SIZE];
    if (has_time)
        wh_text_pad(text, wh_time_text(time, at_utc_us, 3), TIME_WIDTH);
    else
        wh_text_pad(text, wh_fixed(number, offset_s, 3), -OFFSET_WIDTH);
    wh_text_add(text, "  ");
}

/* A number, the word for its lack, or a dash where the descriptor has no such field. */
static void put_measured(wh_report *report, wh_value_state state, double value, unsigned decimals)
{
    char number[WH_FIXED_SIZE];
    wh_text_add(&report->line, "  ");
    if (state == WH_VALUE_OK) {
        wh_text_pad(&report->line, wh_fixed(number, value, decimals), -VALUE_WIDTH);
        return;
    }
    const bool shout = state == WH_VALUE_FAULT || state == WH_VALUE_IMPLAUSIBLE;
    if (shout)
        add_color(report, alarm);
    wh_text_pad(&report->line, state == WH_VALUE_ABSENT ? "-" : wh_value_state_name(state), -VALUE_WIDTH);
    if (shout)
        add_color(report, plain);
}

static void begin_note(wh_text *text, bool *any)
{
    wh_text_add(text, *any ? ", " : "  ");
    *any = true;
}

static void put_value_note(wh_text *text, bool *any, const wh_named_value *value)
{
    char number[WH_FIXED_SIZE];
    if (value->state == WH_VALUE_ABSENT)
        return;
    begin_note(text, any);
    add_clean(text, value->name);
    wh_text_add(text, " ");
    if (value->state != WH_VALUE_OK) {
        add_clean(text, wh_why_no_number(value->state, value->text));
    } else if (value->text[0]) {
        add_clean(text, value->text);
    } else {
        wh_text_add(text, wh_value_number(number, value->value));
        wh_text_add(text, value->unit[0] ? " " : "");
        add_clean(text, value->unit);
    }
}

static void put_notes(wh_text *text, const wh_reading *reading)
{
    bool any = false;
    if (reading->pressure_note[0]) {
        begin_note(text, &any);
        wh_text_add(text, "pressure: ");
        add_clean(text, reading->pressure_note);
    }
    if (reading->temperature_note[0]) {
        begin_note(text, &any);
        wh_text_add(text, "temperature: ");
        add_clean(text, reading->temperature_note);
    }
    for (unsigned i = 0; i < reading->flag_count; i++) {
        if (reading->flags[i].set) {
            begin_note(text, &any);
            add_clean(text, reading->flags[i].name);
        }
    }
    for (unsigned i = 0; i < reading->value_count; i++)
        put_value_note(text, &any, &reading->values[i]);
    if (reading->nickname) {
        begin_note(text, &any);
        wh_text_add(text, strcmp(reading->sensor, "~unknown") == 0 ? "sends no ID that is known"
                                                                   : "ID unknown, named after its steady bits");
    }
    if (reading->repaired_bits > 0) {
        begin_note(text, &any);
        wh_text_print(text, "%u bit%s repaired", reading->repaired_bits, reading->repaired_bits == 1 ? "" : "s");
    }
}

static void write_reading(wh_report *report, const wh_reading *reading)
{
    const wh_report_style *style = &report->style;
    wh_text *text = &report->line;
    char number[WH_FIXED_SIZE], copies[WH_FIXED_SIZE];
    name_source(report, reading->source);
    if (!report->heading_written || report->heading_has_time != reading->has_time)
        write_heading(report, reading->has_time);
    put_time(text, reading->has_time, reading->at_utc_us, reading->offset_s);
    wh_text_pad(text, reading->sensor, SENSOR_WIDTH);
    put_measured(report, reading->pressure_state, wh_kpa_to(reading->pressure.kpa, style->pressure),
                 pressure_decimals(style->pressure));
    put_measured(report, reading->temperature_state, wh_celsius_to(reading->temperature_c, style->temperature), 1);
    wh_text_pad(text, wh_confidence_text(number, reading->confidence), -NUMBER_WIDTH - 2);
    wh_text_pad(text, wh_fixed(number, reading->level_dbfs, 1), -NUMBER_WIDTH + 2);
    snprintf(copies, sizeof copies, "%u", reading->copies);
    wh_text_pad(text, copies, -NUMBER_WIDTH + 2);
    wh_text_add(text, "  ");
    wh_text_pad(text, reading->descriptor, NAME_WIDTH);
    put_notes(text, reading);
    while (text->length > 0 && text->data[text->length - 1] == ' ')
        text->data[--text->length] = '\0';
    wh_text_add(text, "\n");
}

static void write_burst(wh_report *report, const wh_burst *burst)
{
    wh_text *text = &report->line;
    char number[WH_FIXED_SIZE];
    name_source(report, burst->source);
    put_time(text, burst->has_time, burst->at_utc_us, burst->offset_s);
    wh_text_print(text, "burst %llu: ", (unsigned long long)burst->number);
    wh_text_print(text, "%s ms", wh_fixed(number, burst->duration_s * 1e3, 1));
    wh_text_print(text, ", %s MHz", wh_fixed(number, burst->carrier_hz * 1e-6, 4));
    wh_text_print(text, ", %s kHz wide", wh_fixed(number, burst->width_hz * 1e-3, 1));
    wh_text_print(text, ", SNR %s dB", wh_fixed(number, burst->snr_db, 1));
    wh_text_print(text, ", %s dBFS: ", wh_fixed(number, burst->level_dbfs, 1));
    wh_text_add(text, wh_reason_text(burst->reason));
    if (burst->descriptor[0])
        wh_text_print(text, " (%s)", burst->descriptor);
    wh_text_add(text, "\n");
}

static void write_attempt(wh_report *report, const wh_attempt *attempt)
{
    wh_text *text = &report->line;
    wh_text_print(text, "    burst %llu as %s: %s: %s", (unsigned long long)attempt->burst_number, attempt->descriptor,
                  wh_stage_name(attempt->stage), wh_reason_text(attempt->reason));
    if (attempt->detail[0]) {
        wh_text_add(text, "; ");
        add_clean(text, attempt->detail);
    }
    wh_text_add(text, "\n");
}

const wh_record_writer wh_text_writer = {
    .reading = write_reading,
    .burst = write_burst,
    .attempt = write_attempt,
};
