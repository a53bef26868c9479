#include "event_report.h"

#include "csv.h"
#include "json_writer.h"

#include <math.h>

static bool has_heard(const wh_event *event)
{
    return event->kind == WH_EVENT_HEARD || event->kind == WH_EVENT_UNKNOWN || event->kind == WH_EVENT_BIND;
}

/* A value in state OK as a number; otherwise null, with the state's name beside it. Absent: no key at all. */
static void put_value(wh_text *text, const char *key, const char *state_key, wh_value_state state, double value)
{
    if (state == WH_VALUE_OK) {
        wh_json_put_fixed(text, key, value, 3);
    } else if (state != WH_VALUE_ABSENT) {
        wh_json_put_null(text, key);
        wh_json_put_string(text, state_key, wh_value_state_name(state));
    }
}

/* Rounded down and never 1: what came by radio is not certain. */
static double shown_confidence(const wh_heard *heard)
{
    return fmin(floor(heard->confidence * 1e3) * 1e-3, 0.999);
}

static void put_heard_json(wh_text *text, const wh_heard *heard)
{
    if (heard->sensor[0])
        wh_json_put_string(text, "sensor", heard->sensor);
    if (heard->descriptor[0])
        wh_json_put_string(text, "descriptor", heard->descriptor);
    put_value(text, "gauge_kpa", "pressure_state", heard->pressure_state, heard->pressure.kpa);
    if (heard->pressure_state == WH_VALUE_OK && heard->from_absolute)
        wh_json_put_fixed(text, "absolute_kpa", heard->absolute.kpa, 3);
    put_value(text, "temp_c", "temperature_state", heard->temperature_state, heard->temperature_c);
    if (heard->battery_low >= 0)
        wh_json_put_bool(text, "battery_low", heard->battery_low == 1);
    if (heard->sensor_fault == 1)
        wh_json_put_bool(text, "sensor_fault", true);
    wh_json_put_fixed(text, "confidence", shown_confidence(heard), 3);
    wh_json_put_fixed(text, "level_dbfs", heard->level_dbfs, 1);
    wh_json_put_fixed(text, "snr_db", heard->snr_db, 1);
    wh_json_put_fixed(text, "carrier_hz", heard->carrier_hz, 0);
    if (heard->copies > 0)
        wh_json_put_count(text, "copies", heard->copies);
}

void wh_events_put_json(wh_text *text, const wh_sweep *sweep)
{
    for (size_t i = 0; i < sweep->event_count; i++) {
        const wh_event *event = &sweep->events[i];
        char at[WH_TIME_SIZE], position[WH_POSITION_SIZE];
        wh_json_open(text);
        wh_json_put_string(text, "record", "event");
        if (sweep->dated)
            wh_json_put_string(text, "at", wh_time_text(at, event->at_us, 6));
        else
            wh_json_put_fixed(text, "offset_s", (double)event->at_us * 1e-6, 6);
        wh_json_put_count(text, "sweep", (uint64_t)sweep->id);
        wh_json_put_count(text, "id", (uint64_t)event->id);
        wh_json_put_string(text, "event", wh_event_kind_name(event->kind));
        if (event->unit[0])
            wh_json_put_string(text, "unit", event->unit);
        if (event->position.axle > 0)
            wh_json_put_string(text, "position", wh_position_text(position, event->position));
        if (event->text[0])
            wh_json_put_string(text, "note", event->text);
        if (has_heard(event))
            put_heard_json(text, &event->heard);
        wh_json_close(text);
        wh_text_add(text, "\n");
    }
}

void wh_events_csv_heading(wh_text *text)
{
    wh_text_add(text, "sweep,id,at,event,unit,position,sensor,descriptor,gauge kPa,temp. C,battery low,sensor fault,"
                      "confidence,level dBFS,SNR dB,carrier Hz,copies,note\r\n");
}

static void put_number(wh_csv_writer *writer, bool there, double value, unsigned decimals)
{
    char number[WH_FIXED_SIZE];
    wh_csv_put_number(writer, there ? wh_fixed(number, value, decimals) : "");
}

static void put_heard_csv(wh_csv_writer *writer, const wh_event *event)
{
    const wh_heard *heard = &event->heard;
    const bool there = has_heard(event);
    wh_csv_put(writer, heard->sensor);
    wh_csv_put(writer, heard->descriptor);
    put_number(writer, there && heard->pressure_state == WH_VALUE_OK, heard->pressure.kpa, 1);
    put_number(writer, there && heard->temperature_state == WH_VALUE_OK, heard->temperature_c, 1);
    wh_csv_put(writer, !there || heard->battery_low < 0 ? "" : heard->battery_low ? "yes" : "no");
    wh_csv_put(writer, !there ? "" : heard->sensor_fault ? "yes" : "no");
    put_number(writer, there, shown_confidence(heard), 3);
    put_number(writer, there, heard->level_dbfs, 1);
    put_number(writer, there, heard->snr_db, 1);
    put_number(writer, there, heard->carrier_hz, 0);
    put_number(writer, there, heard->copies, 0);
}

void wh_events_put_csv(wh_text *text, const wh_sweep *sweep)
{
    wh_csv_writer writer = {.out = text};
    for (size_t i = 0; i < sweep->event_count; i++) {
        const wh_event *event = &sweep->events[i];
        char at[WH_TIME_SIZE], number[WH_FIXED_SIZE], position[WH_POSITION_SIZE];
        put_number(&writer, true, (double)sweep->id, 0);
        put_number(&writer, true, (double)event->id, 0);
        wh_csv_put(&writer,
                   sweep->dated ? wh_time_text(at, event->at_us, 6) : wh_fixed(number, (double)event->at_us * 1e-6, 6));
        wh_csv_put(&writer, wh_event_kind_name(event->kind));
        wh_csv_put(&writer, event->unit);
        wh_csv_put(&writer, event->position.axle > 0 ? wh_position_text(position, event->position) : "");
        put_heard_csv(&writer, event);
        wh_csv_put(&writer, event->text);
        wh_csv_end_row(&writer);
    }
}
