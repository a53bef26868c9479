/* RFC 4180: CRLF, quotes around cells that need them, a heading with units. */
#include "record_writer.h"

#include <math.h>
#include <string.h>

static void begin_cell(wh_text *text)
{
    if (text->length > 0 && text->data[text->length - 1] != '\n')
        wh_text_add(text, ",");
}

/* Text written as it is when it can be, else in quotes. A spreadsheet takes a cell that begins with one of =+-@ or a
 * control character for a formula: an apostrophe keeps it text. */
static void put_text(wh_text *text, const char *string)
{
    const bool formula = string[0] && strchr("=+-@\t\r", string[0]);
    begin_cell(text);
    if (!strpbrk(string, ",\"\r\n")) {
        wh_text_add(text, formula ? "'" : "");
        wh_text_add(text, string);
        return;
    }
    wh_text_add(text, formula ? "\"'" : "\"");
    for (const char *p = string; *p; p++)
        wh_text_add_bytes(text, *p == '"' ? "\"\"" : p, *p == '"' ? 2 : 1);
    wh_text_add(text, "\"");
}

/* Numbers are ours and need no guard, a minus in front of them least of all. An empty cell: no number. */
static void put_number(wh_text *text, bool known, double value, unsigned decimals)
{
    char number[WH_FIXED_SIZE];
    begin_cell(text);
    if (known && isfinite(value))
        wh_text_add(text, wh_fixed(number, value, decimals));
}

static void put_count(wh_text *text, unsigned count)
{
    begin_cell(text);
    wh_text_print(text, "%u", count);
}

static void put_heading(wh_report *report)
{
    const char *pressure = wh_pressure_unit_name(report->style.pressure);
    wh_text_print(&report->line,
                  "time (UTC),offset (s),source,descriptor,sensor,gauge pressure (%s),absolute pressure (%s),"
                  "pressure state,temperature (%s),temperature state,confidence,carrier (Hz),SNR (dB),level (dBFS),"
                  "copies,repaired bits,frame,flags,values\r\n",
                  pressure, pressure, wh_temperature_unit_name(report->style.temperature));
    report->heading_written = true;
}

static const char *state_text(wh_value_state state, const char *note)
{
    return state == WH_VALUE_OK ? "ok" : state == WH_VALUE_ABSENT ? "" : wh_why_no_number(state, note);
}

static void put_flags(wh_text *text, wh_text *scratch, const wh_reading *reading)
{
    for (unsigned i = 0; i < reading->flag_count; i++) {
        if (reading->flags[i].set) {
            wh_text_add(scratch, scratch->length ? "; " : "");
            wh_text_add(scratch, reading->flags[i].name);
        }
    }
    put_text(text, scratch->length ? scratch->data : "");
}

static void put_values(wh_text *text, wh_text *scratch, const wh_reading *reading)
{
    for (unsigned i = 0; i < reading->value_count; i++) {
        const wh_named_value *value = &reading->values[i];
        char number[WH_FIXED_SIZE];
        if (value->state == WH_VALUE_ABSENT)
            continue;
        wh_text_print(scratch, "%s%s: ", scratch->length ? "; " : "", value->name);
        if (value->state != WH_VALUE_OK)
            wh_text_add(scratch, wh_why_no_number(value->state, value->text));
        else if (value->text[0])
            wh_text_add(scratch, value->text);
        else
            wh_text_print(scratch, "%s%s%s", wh_value_number(number, value->value), value->unit[0] ? " " : "",
                          value->unit);
    }
    put_text(text, scratch->length ? scratch->data : "");
}

static void put_lists(wh_text *text, const wh_reading *reading)
{
    wh_text scratch = {0};
    put_flags(text, &scratch, reading);
    wh_text_clear(&scratch);
    put_values(text, &scratch, reading);
    text->failed |= scratch.failed;
    wh_text_free(&scratch);
}

static void write_reading(wh_report *report, const wh_reading *reading)
{
    const wh_report_style *style = &report->style;
    wh_text *text = &report->line;
    char time[WH_TIME_SIZE] = "", hex[WH_FRAME_BITS_MAX / 4 + 1];
    const unsigned decimals = style->pressure == WH_BAR ? 3 : 1;
    const bool pressure = reading->pressure_state == WH_VALUE_OK;
    if (!report->heading_written)
        put_heading(report);
    if (reading->has_time)
        wh_text_add(text, wh_time_text(time, reading->at_utc_us, 6));
    wh_text_add(text, ",");
    char number[WH_FIXED_SIZE];
    wh_text_add(text, wh_fixed(number, reading->offset_s, 6));
    put_text(text, reading->source);
    put_text(text, reading->descriptor);
    put_text(text, reading->sensor);
    put_number(text, pressure, wh_kpa_to(reading->pressure.kpa, style->pressure), decimals);
    put_number(text, pressure && reading->from_absolute, wh_kpa_to(reading->absolute.kpa, style->pressure), decimals);
    put_text(text, state_text(reading->pressure_state, reading->pressure_note));
    put_number(text, reading->temperature_state == WH_VALUE_OK,
               wh_celsius_to(reading->temperature_c, style->temperature), 1);
    put_text(text, state_text(reading->temperature_state, reading->temperature_note));
    wh_text_print(text, ",%s", wh_confidence_text(number, reading->confidence));
    put_number(text, true, reading->carrier_hz, 0);
    put_number(text, true, reading->snr_db, 1);
    put_number(text, true, reading->level_dbfs, 1);
    put_count(text, reading->copies);
    put_count(text, reading->repaired_bits);
    wh_frame_hex(hex, reading);
    put_text(text, hex);
    put_lists(text, reading);
    wh_text_add(text, "\r\n");
}

static void finish(wh_report *report)
{
    if (!report->heading_written)
        put_heading(report);
}

const wh_record_writer wh_csv_writer = {.reading = write_reading, .finish = finish};
