#include "study_text.h"

#include "json_writer.h"

#include <stdio.h>

static void put_chips(wh_text *text, const char *key, const uint8_t *value, size_t count)
{
    char digits[WH_PATTERN_MAX + 1];
    size_t i = 0;
    for (; i < count && i < WH_PATTERN_MAX; i++)
        digits[i] = value[i] ? '1' : '0';
    digits[i] = '\0';
    wh_json_put_string(text, key, digits);
}

static void put_measured(wh_text *text, const char *name, const wh_measured *measured)
{
    wh_json_key(text, name);
    wh_json_open(text);
    wh_json_put_fixed(text, "value", measured->value, 1);
    wh_json_put_fixed(text, "error", measured->error, 1);
    wh_json_put_string(text, "certainty", wh_certainty_name(measured->certainty));
    wh_json_close(text);
}

static void put_line(wh_text *text, const wh_line_candidate *candidate)
{
    wh_json_open(text);
    wh_json_put_string(text, "code", wh_line_kind_name(candidate->line.kind));
    if (candidate->line.kind == WH_LINE_PULSE_WIDTH) {
        put_chips(text, "one_chips", candidate->line.one_chips, candidate->line.one_count);
        put_chips(text, "zero_chips", candidate->line.zero_chips, candidate->line.zero_count);
    }
    wh_json_put_fixed(text, "probability", candidate->probability, 4);
    wh_json_put_count(text, "compared", candidate->compared);
    wh_json_put_count(text, "violations", candidate->violations);
    wh_json_put_fixed(text, "varying_bits", candidate->varying, 2);
    wh_json_put_fixed(text, "check_evidence_bits", candidate->check_bits, 1);
    wh_json_close(text);
}

static void put_lines(wh_text *text, const wh_kind_estimate *kind)
{
    wh_json_key(text, "line_codes");
    wh_text_add(text, "[");
    for (size_t i = 0; i < kind->line_count; i++) {
        wh_text_add(text, i ? "," : "");
        put_line(text, &kind->line[i]);
    }
    wh_text_add(text, "]");
    wh_json_put_string(text, "line_code_certainty", wh_certainty_name(kind->line_code));
}

static void put_framing(wh_text *text, const wh_kind_estimate *kind)
{
    const wh_frame_spec *frame = &kind->frame;
    if (frame->preamble.count) {
        put_chips(text, "preamble_chips", frame->preamble.value, frame->preamble.count);
        wh_json_put_count(text, "preamble_repeats", frame->preamble_repeats);
    }
    put_chips(text, "sync_chips", frame->sync.value, frame->sync.count);
    wh_json_put_bool(text, "sync_breaks_code", kind->sync_breaks_code);
    wh_json_put_string(text, "sync_certainty", wh_certainty_name(kind->sync));
    wh_json_put_count(text, "payload_bits", frame->bits_max);
    wh_json_put_count(text, "common_bits", kind->common_bits);
    wh_json_put_string(text, "payload_certainty", wh_certainty_name(kind->length));
    if (frame->end.count)
        put_chips(text, "end_chips", frame->end.value, frame->end.count);
    wh_json_put_count(text, "copies", kind->copies);
    wh_json_put_string(text, "copies_certainty", wh_certainty_name(kind->copies_certainty));
    if (kind->copies > 1) {
        wh_json_put_fixed(text, "gap_least_s", kind->gap_least_s, 6);
        wh_json_put_fixed(text, "gap_most_s", kind->gap_most_s, 6);
    }
}

void wh_study_json_kind(const wh_study *study, size_t kind, wh_text *text)
{
    const wh_frame_table *table = wh_study_kind(study, kind);
    const wh_kind_estimate *estimate = &table->kind;
    wh_json_open(text);
    wh_json_put_string(text, "record", "kind");
    wh_json_put_count(text, "kind", kind + 1);
    wh_json_put_count(text, "bursts", estimate->bursts);
    wh_json_put_count(text, "frames", estimate->frames);
    wh_json_put_count(text, "different_frames", table->row_count);
    wh_json_put_string(text, "modulation", estimate->radio.modulation == WH_MOD_FSK ? "fsk" : "ook");
    wh_json_put_string(text, "modulation_certainty", wh_certainty_name(estimate->modulation));
    put_measured(text, "chip_rate_hz", &estimate->chip_rate_hz);
    if (estimate->radio.modulation == WH_MOD_FSK)
        put_measured(text, "deviation_hz", &estimate->deviation_hz);
    wh_json_key(text, estimate->carriers_known ? "carriers_hz" : "carrier_offsets_hz");
    wh_text_add(text, "[");
    for (size_t i = 0; i < estimate->carrier_count; i++) {
        char number[WH_FIXED_SIZE];
        wh_text_add(text, i ? "," : "");
        wh_text_add(text, wh_fixed(number, estimate->carriers_hz[i], 0));
    }
    wh_text_add(text, "]");
    put_lines(text, estimate);
    if (estimate->frame.bits_max > 0)
        put_framing(text, estimate);
    wh_json_put_fixed(text, "snr_median_db", estimate->snr_median_db, 1);
    wh_json_put_fixed(text, "snr_least_db", estimate->snr_least_db, 1);
    wh_json_put_count(text, "clipped_bursts", estimate->clipped_bursts);
    if (wh_study_missing(study, kind)[0])
        wh_json_put_string(text, "missing", wh_study_missing(study, kind));
    wh_json_close(text);
    wh_text_add(text, "\n");
}

static void put_frame(wh_text *text, const wh_table_row *row)
{
    char hex[WH_TABLE_BITS_MAX / 4 + 1];
    const unsigned digits = (row->length + 3) / 4;
    for (unsigned i = 0; i < digits; i++)
        snprintf(hex + i, 2, "%X", (unsigned)row->bits[i / 2] >> (i % 2 ? 0 : 4) & 0xFu);
    hex[digits] = '\0';
    wh_json_put_string(text, "frame", hex);
    wh_json_put_count(text, "frame_bits", row->length);
    wh_json_key(text, "doubtful_bits");
    wh_text_add(text, "[");
    bool first = true;
    for (unsigned i = 0; i < row->length; i++) {
        if (row->reliability[i] >= WH_DOUBTFUL)
            continue;
        wh_text_print(text, "%s%u", first ? "" : ",", i);
        first = false;
    }
    wh_text_add(text, "]");
}

void wh_study_json_frames(wh_study *study, size_t kind, wh_text *text)
{
    const wh_frame_table *table = wh_study_kind(study, kind);
    for (size_t i = 0; i < table->row_count; i++) {
        const wh_table_row *row = &table->rows[i];
        char at[WH_TIME_SIZE];
        wh_json_open(text);
        wh_json_put_string(text, "record", "frame");
        wh_json_put_count(text, "kind", kind + 1);
        if (row->has_time)
            wh_json_put_string(text, "at", wh_time_text(at, row->at_utc_us, 6));
        wh_json_put_fixed(text, "offset_s", row->at_s, 6);
        wh_json_put_string(text, "source", wh_burst_store_recording(wh_study_store(study), row->recording)->name);
        wh_json_put_count(text, "sample", row->sample);
        wh_json_put_count(text, "copies", row->copies);
        wh_json_put_fixed(text, "carrier_hz", row->carrier_hz, 0);
        wh_json_put_fixed(text, "snr_db", row->snr_db, 1);
        wh_json_put_fixed(text, "level_dbfs", row->level_dbfs, 1);
        put_frame(text, row);
        wh_json_close(text);
        wh_text_add(text, "\n");
    }
}

void wh_study_json_strays(wh_study *study, wh_text *text)
{
    wh_burst_store *store = wh_study_store(study);
    for (size_t i = 0; i < wh_burst_store_count(store); i++) {
        const wh_study_burst *burst = wh_burst_store_at(store, i);
        const wh_stray reason = wh_study_stray(study, i);
        if (reason == WH_STRAY_NONE)
            continue;
        wh_json_open(text);
        wh_json_put_string(text, "record", "stray");
        wh_json_put_fixed(text, "offset_s", burst->at_s, 6);
        wh_json_put_string(text, "source", wh_burst_store_recording(store, burst->recording)->name);
        wh_json_put_count(text, "sample", burst->sample);
        wh_json_put_fixed(text, "duration_s", burst->duration_s, 6);
        wh_json_put_fixed(text, "carrier_hz", burst->carrier_hz, 0);
        wh_json_put_fixed(text, "width_hz", burst->width_hz, 0);
        wh_json_put_fixed(text, "snr_db", burst->snr_db, 1);
        wh_json_put_fixed(text, "level_dbfs", burst->level_dbfs, 1);
        wh_json_put_string(text, "reason", wh_stray_name(reason));
        wh_json_close(text);
        wh_text_add(text, "\n");
    }
}
