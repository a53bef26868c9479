#include "json_writer.h"
#include "record_writer.h"

#include <math.h>
#include <stdio.h>

static void put_start(wh_text *text, const char *record, bool has_time, int64_t at_utc_us, double offset_s)
{
    char at[WH_TIME_SIZE];
    wh_json_open(text);
    wh_json_put_string(text, "record", record);
    if (has_time)
        wh_json_put_string(text, "at", wh_time_text(at, at_utc_us, 6));
    wh_json_put_fixed(text, "offset_s", offset_s, 6);
}

/* A quantity the sensor may not know: the number, null, or no key when the descriptor has no such field. */
static void put_measured(wh_text *text, const char *key, wh_value_state state, double value)
{
    if (state == WH_VALUE_OK)
        wh_json_put_fixed(text, key, value, 1);
    else if (state != WH_VALUE_ABSENT)
        wh_json_put_null(text, key);
}

static void put_confidence(wh_text *text, double confidence)
{
    char number[WH_FIXED_SIZE];
    wh_json_key(text, "confidence");
    wh_text_add(text, isfinite(confidence) ? wh_confidence_text(number, confidence) : "null");
}

static void put_flags(wh_text *text, const wh_reading *reading)
{
    if (reading->flag_count == 0)
        return;
    wh_json_key(text, "flags");
    wh_json_open(text);
    for (unsigned i = 0; i < reading->flag_count; i++) {
        char key[WH_NAME_MAX];
        wh_key_of(key, reading->flags[i].name);
        wh_json_put_bool(text, key, reading->flags[i].set);
    }
    wh_json_close(text);
}

static void put_value(wh_text *text, const wh_named_value *value)
{
    char key[WH_NAME_MAX], number[WH_FIXED_SIZE];
    wh_key_of(key, value->name);
    wh_json_key(text, key);
    wh_json_open(text);
    wh_json_key(text, "value");
    const bool known = value->state == WH_VALUE_OK && isfinite(value->value);
    wh_text_add(text, known ? wh_value_number(number, value->value) : "null");
    if (value->unit[0])
        wh_json_put_string(text, "unit", value->unit);
    if (value->state == WH_VALUE_OK && value->text[0])
        wh_json_put_string(text, "text", value->text);
    wh_json_close(text);
}

static void put_values(wh_text *text, const wh_reading *reading)
{
    bool any = false;
    for (unsigned i = 0; i < reading->value_count; i++) {
        if (reading->values[i].state == WH_VALUE_ABSENT)
            continue;
        if (!any) {
            wh_json_key(text, "values");
            wh_json_open(text);
        }
        any = true;
        put_value(text, &reading->values[i]);
    }
    if (any)
        wh_json_close(text);
}

static bool lacks_number(wh_value_state state)
{
    return state != WH_VALUE_OK && state != WH_VALUE_ABSENT;
}

static void put_fault(wh_text *text, bool *any, const char *key, const char *why)
{
    if (!*any) {
        wh_json_key(text, "faults");
        wh_json_open(text);
    }
    *any = true;
    wh_json_put_string(text, key, why);
}

/* Why a value is null. */
static void put_faults(wh_text *text, const wh_reading *reading)
{
    bool any = false;
    if (lacks_number(reading->pressure_state))
        put_fault(text, &any, "gauge_kpa", wh_why_no_number(reading->pressure_state, reading->pressure_note));
    if (lacks_number(reading->temperature_state))
        put_fault(text, &any, "temp_c", wh_why_no_number(reading->temperature_state, reading->temperature_note));
    for (unsigned i = 0; i < reading->value_count; i++) {
        const wh_named_value *value = &reading->values[i];
        char key[WH_NAME_MAX];
        wh_key_of(key, value->name);
        if (lacks_number(value->state))
            put_fault(text, &any, key, wh_why_no_number(value->state, value->text));
    }
    if (any)
        wh_json_close(text);
}

void wh_json_reading(wh_text *text, const wh_reading *reading)
{
    put_start(text, "reading", reading->has_time, reading->at_utc_us, reading->offset_s);
    wh_json_put_string(text, "source", reading->source);
    wh_json_put_string(text, "descriptor", reading->descriptor);
    wh_json_put_string(text, "sensor", reading->sensor);
    put_measured(text, "gauge_kpa", reading->pressure_state, reading->pressure.kpa);
    if (reading->pressure_state == WH_VALUE_OK && reading->from_absolute)
        wh_json_put_fixed(text, "absolute_kpa", reading->absolute.kpa, 1);
    put_measured(text, "temp_c", reading->temperature_state, reading->temperature_c);
    put_confidence(text, reading->confidence);
    wh_json_put_fixed(text, "carrier_hz", reading->carrier_hz, 0);
    wh_json_put_fixed(text, "snr_db", reading->snr_db, 1);
    wh_json_put_fixed(text, "level_dbfs", reading->level_dbfs, 1);
    wh_json_put_count(text, "copies", reading->copies);
    if (reading->repaired_bits > 0)
        wh_json_put_count(text, "repaired_bits", reading->repaired_bits);
    char hex[WH_FRAME_BITS_MAX / 4 + 1];
    wh_frame_hex(hex, reading);
    wh_json_put_string(text, "frame", hex);
    if (reading->frame_bits % 8 != 0) /* else the digits tell */
        wh_json_put_count(text, "frame_bits", reading->frame_bits);
    put_flags(text, reading);
    put_values(text, reading);
    put_faults(text, reading);
    wh_json_close(text);
}

static void end_line(wh_text *text)
{
    wh_json_close(text);
    wh_text_add(text, "\n");
}

static void write_reading(wh_report *report, const wh_reading *reading)
{
    wh_json_reading(&report->line, reading);
    wh_text_add(&report->line, "\n");
}

static void write_burst(wh_report *report, const wh_burst *burst)
{
    wh_text *text = &report->line;
    put_start(text, "burst", burst->has_time, burst->at_utc_us, burst->offset_s);
    wh_json_put_string(text, "source", burst->source);
    wh_json_put_count(text, "burst", burst->number);
    wh_json_put_fixed(text, "duration_s", burst->duration_s, 6);
    wh_json_put_fixed(text, "carrier_hz", burst->carrier_hz, 0);
    wh_json_put_fixed(text, "width_hz", burst->width_hz, 0);
    wh_json_put_fixed(text, "snr_db", burst->snr_db, 1);
    wh_json_put_fixed(text, "level_dbfs", burst->level_dbfs, 1);
    wh_json_put_string(text, "stage", wh_stage_name(burst->stage));
    wh_json_put_string(text, "reason", wh_reason_name(burst->reason));
    if (burst->descriptor[0])
        wh_json_put_string(text, "descriptor", burst->descriptor);
    end_line(text);
}

static void write_attempt(wh_report *report, const wh_attempt *attempt)
{
    wh_text *text = &report->line;
    wh_json_open(text);
    wh_json_put_string(text, "record", "attempt");
    wh_json_put_count(text, "burst", attempt->burst_number);
    wh_json_put_string(text, "descriptor", attempt->descriptor);
    wh_json_put_string(text, "stage", wh_stage_name(attempt->stage));
    wh_json_put_string(text, "reason", wh_reason_name(attempt->reason));
    if (attempt->detail[0])
        wh_json_put_string(text, "detail", attempt->detail);
    end_line(text);
}

static void write_summary(wh_report *report, const wh_run_summary *summary)
{
    const wh_receiver_stats *stats = &summary->stats;
    wh_text *text = &report->line;
    wh_json_open(text);
    wh_json_put_string(text, "record", "summary");
    wh_json_put_count(text, "inputs", summary->inputs);
    wh_json_put_fixed(text, "signal_s", stats->seconds, 6);
    wh_json_put_count(text, "samples", stats->samples);
    wh_json_put_count(text, "samples_lost", stats->samples_lost);
    wh_json_put_count(text, "samples_invalid", stats->samples_invalid);
    wh_json_put_count(text, "samples_clipped", stats->clipped_samples);
    wh_json_put_count(text, "bursts", stats->bursts);
    wh_json_put_count(text, "bursts_decoded", stats->bursts_decoded);
    wh_json_put_count(text, "readings", stats->readings);
    wh_json_put_count(text, "readings_weak", stats->readings_weak);
    wh_json_key(text, "rejected");
    wh_json_open(text);
    for (int reason = 0; reason < WH_REASON_COUNT; reason++) {
        if (reason != WH_REASON_DECODED && stats->reasons[reason] > 0)
            wh_json_put_count(text, wh_reason_name((wh_reason)reason), stats->reasons[reason]);
    }
    wh_json_close(text);
    end_line(text);
}

static void write_error(wh_report *report, const char *source, const wh_error *error)
{
    wh_text *text = &report->line;
    wh_json_open(text);
    wh_json_put_string(text, "record", "error");
    if (source)
        wh_json_put_string(text, "source", source);
    wh_json_put_string(text, "error", wh_status_name(error->status));
    wh_json_put_string(text, "what", error->what);
    if (error->fix[0])
        wh_json_put_string(text, "fix", error->fix);
    end_line(text);
}

const wh_record_writer wh_json_writer = {
    .reading = write_reading,
    .burst = write_burst,
    .attempt = write_attempt,
    .summary = write_summary,
    .error = write_error,
};
