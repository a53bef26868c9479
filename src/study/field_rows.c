#include "field_rows.h"

#include "bits.h"
#include "check_search.h"

#include <stdlib.h>
#include <string.h>

static bool heard_whole(const wh_table_row *row, unsigned columns)
{
    if (row->length < columns)
        return false;
    for (unsigned c = 0; c < columns; c++)
        if (!(row->reliability[c] > 0.0f))
            return false;
    return true;
}

bool wh_line_has_twin(const wh_frame_table *table)
{
    const wh_line_kind kind = table->kind.line[0].line.kind;
    return table->kind.line_count > 0 && (kind == WH_LINE_MANCHESTER || kind == WH_LINE_DIFFERENTIAL_MANCHESTER);
}

static wh_line_spec other_sense(const wh_line_spec *line)
{
    wh_line_spec other = *line;
    switch (line->kind) {
    case WH_LINE_BIPHASE_MARK: other.kind = WH_LINE_BIPHASE_SPACE; break;
    case WH_LINE_BIPHASE_SPACE: other.kind = WH_LINE_BIPHASE_MARK; break;
    case WH_LINE_PULSE_WIDTH:
        other.zero_count = line->one_count;
        other.one_count = line->zero_count;
        memcpy(other.zero_chips, line->one_chips, sizeof other.zero_chips);
        memcpy(other.one_chips, line->zero_chips, sizeof other.one_chips);
        break;
    default: other.inverted = !line->inverted; break;
    }
    return other;
}

wh_line_spec wh_bit_reading_line(const wh_frame_table *table, const wh_bit_reading *reading)
{
    wh_line_spec line = table->kind.line[0].line;
    if (reading->twin_code) {
        line.kind = line.kind == WH_LINE_MANCHESTER ? WH_LINE_DIFFERENTIAL_MANCHESTER : WH_LINE_MANCHESTER;
        line.inverted = false;
    }
    return reading->inverted ? other_sense(&line) : line;
}

/* A differential one (no edge at the start) is a Manchester bit unlike the one before it, for its chips 1 0 or 0 1 begin with the
 * chip that stands last. Before the first bit stands the last chip of the sync. */
static void read_twin(uint8_t bits[WH_FRAME_BITS_MAX / 8], unsigned columns, const wh_frame_table *table)
{
    const wh_pattern *before = table->kind.frame.sync.count ? &table->kind.frame.sync : &table->kind.frame.preamble;
    const unsigned last_chip = before->chips && before->count ? before->value[before->count - 1] : 0;
    const bool to_manchester = table->kind.line[0].line.kind == WH_LINE_DIFFERENTIAL_MANCHESTER;
    const bool inverted = table->kind.line[0].line.inverted;
    unsigned previous = !last_chip; /* as a Manchester bit: chips 1 0 are a one */
    for (unsigned c = 0; c < columns; c++) {
        const unsigned bit = wh_bit_get(bits, c) ^ inverted;
        wh_bit_put(bits, c, bit ^ previous);
        previous = to_manchester ? bit ^ previous : bit;
    }
}

static void fill(wh_field_row *out, const wh_table_row *row, const wh_frame_table *table, const wh_bit_reading *reading)
{
    memset(out, 0, sizeof *out);
    out->bits.count = table->columns - reading->dropped;
    out->weakest = row->reliability[0];
    for (unsigned c = 0; c < table->columns; c++)
        if (row->reliability[c] < out->weakest)
            out->weakest = row->reliability[c];
    uint8_t bits[WH_FRAME_BITS_MAX / 8];
    memcpy(bits, row->bits, sizeof bits);
    if (reading->twin_code)
        read_twin(bits, table->columns, table);
    for (unsigned c = 0; c < out->bits.count; c++)
        wh_bit_put(out->bits.data, c, wh_bit_get(bits, c + reading->dropped) ^ reading->inverted);
    if (reading->low_bit_first)
        wh_frame_turn_bytes(&out->bits, 0);
    out->recording = row->recording;
    out->at_s = row->at_s;
    out->has_time = row->has_time;
    out->at_utc_us = row->at_utc_us;
}

wh_status wh_field_rows_make(wh_field_rows *out, const wh_frame_table *table, const wh_bit_reading *reading,
                             wh_error *error)
{
    memset(out, 0, sizeof *out);
    if (table->columns > WH_FRAME_BITS_MAX || reading->dropped >= table->columns)
        return wh_fail(error, WH_ERR_LIMIT, NULL, "frames of %u bits; 1 to %d can be studied", table->columns,
                       WH_FRAME_BITS_MAX);
    out->columns = table->columns - reading->dropped;
    out->row = calloc(table->row_count ? table->row_count : 1, sizeof *out->row);
    if (!out->row)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "not enough memory for %zu frames", table->row_count);
    for (size_t i = 0; i < table->row_count; i++) {
        if (!heard_whole(&table->rows[i], table->columns)) {
            out->incomplete++;
            continue;
        }
        fill(&out->row[out->count], &table->rows[i], table, reading);
        out->row[out->count++].source_row = i;
    }
    return WH_OK;
}

void wh_field_rows_free(wh_field_rows *rows)
{
    free(rows->row);
    memset(rows, 0, sizeof *rows);
}

size_t wh_field_rows_filter(wh_field_rows *rows, bool (*keep)(void *context, const wh_field_row *row), void *context)
{
    size_t kept = 0;
    for (size_t i = 0; i < rows->count; i++)
        if (keep(context, &rows->row[i]))
            rows->row[kept++] = rows->row[i];
    const size_t left_out = rows->count - kept;
    rows->count = kept;
    return left_out;
}

uint32_t wh_field_row_value(const wh_field_row *row, unsigned at, unsigned bits, bool low_bit_first,
                            bool low_byte_first)
{
    const wh_places places = {1, {{(uint16_t)at, (uint16_t)bits}}};
    return (uint32_t)wh_places_read(&row->bits, &places, low_bit_first, low_byte_first);
}
