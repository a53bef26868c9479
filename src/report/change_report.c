#include "change_report.h"

#include "csv.h"
#include "finding_report.h"
#include "json_writer.h"
#include "text_wrap.h"

#include <stdio.h>

void wh_change_reason(wh_text *text, const wh_change *change)
{
    char other[WH_POSITION_SIZE];
    wh_position_text(other, change->other);
    switch (change->kind) {
    case WH_IDENTITY_OTHER_UNIT:
        wh_text_print(text, "on record for unit %s at %s: take it off there", change->other_unit, other);
        break;
    case WH_IDENTITY_MOVED: wh_text_print(text, "on record at %s", other); break;
    case WH_IDENTITY_CROSSED: wh_text_print(text, "crossed with %s", other); break;
    case WH_IDENTITY_CIRCLE: wh_text_print(text, "came from %s, several wheels changed places", other); break;
    case WH_IDENTITY_EMPTY: wh_text_add(text, "the old one is elsewhere: take it off here"); break;
    default: wh_text_add(text, "on no record");
    }
    if (change->confirm)
        wh_text_add(text, "; heard once only: hear it again before you enter it");
}

static const char *or_dash(const char *string)
{
    return string[0] ? string : "-";
}

static const char *location(char out[8], bool has, uint8_t byte)
{
    snprintf(out, 8, has ? "0x%02X" : "-", byte);
    return out;
}

static void change_text(wh_text *text, const wh_change *change)
{
    char position[WH_POSITION_SIZE], j1939[8], centre8[8];
    wh_text reason = {0};
    wh_text_print(text, "[ ] %-6s%-12s%-12s%-14s%-7s%-9s%s\n", wh_position_text(position, change->position),
                  or_dash(change->old_sensor), or_dash(change->new_sensor), or_dash(change->new_decimal),
                  location(j1939, change->has_j1939, change->j1939),
                  location(centre8, change->has_centre8, change->centre8), or_dash(change->x12));
    wh_change_reason(&reason, change);
    wh_text_wrap(text, "         ", reason.data ? reason.data : "", 10, 80);
    text->failed |= reason.failed;
    wh_text_free(&reason);
}

static void put_known(wh_text *text, const char *key, const char *string)
{
    if (string[0])
        wh_json_put_string(text, key, string);
}

static void put_location(wh_text *text, const char *key, bool has, uint8_t byte)
{
    if (has)
        wh_json_put_count(text, key, byte);
}

static void change_json(wh_text *text, const char *unit, const wh_change *change)
{
    char position[WH_POSITION_SIZE];
    wh_text reason = {0};
    wh_json_open(text);
    wh_json_put_string(text, "record", "change");
    wh_json_put_string(text, "unit", unit);
    wh_json_put_string(text, "position", wh_position_text(position, change->position));
    put_known(text, "old_sensor", change->old_sensor);
    put_known(text, "old_decimal", change->old_decimal);
    put_known(text, "new_sensor", change->new_sensor);
    put_known(text, "new_decimal", change->new_decimal);
    wh_json_put_fixed(text, "odds", change->odds, 3);
    wh_json_put_bool(text, "confirm", change->confirm);
    put_known(text, "other_unit", change->other_unit);
    if (change->other.axle > 0)
        wh_json_put_string(text, "other_position", wh_position_text(position, change->other));
    put_location(text, "j1939_location", change->has_j1939, change->j1939);
    put_location(text, "centre8_location", change->has_centre8, change->centre8);
    put_known(text, "x12_location", change->x12);
    wh_change_reason(&reason, change);
    wh_json_put_string(text, "reason", reason.data ? reason.data : "");
    text->failed |= reason.failed;
    wh_text_free(&reason);
    wh_json_close(text);
    wh_text_add(text, "\n");
}

static void change_csv(wh_text *text, const char *unit, const wh_change *change)
{
    char position[WH_POSITION_SIZE], byte[8];
    wh_text reason = {0};
    wh_csv_writer writer = {.out = text};
    wh_change_reason(&reason, change);
    wh_csv_put(&writer, unit);
    wh_csv_put(&writer, wh_position_text(position, change->position));
    wh_csv_put(&writer, change->old_sensor);
    wh_csv_put(&writer, change->new_sensor);
    wh_csv_put(&writer, change->old_decimal);
    wh_csv_put(&writer, change->new_decimal);
    wh_csv_put(&writer, change->has_j1939 ? location(byte, true, change->j1939) : "");
    wh_csv_put(&writer, change->has_centre8 ? location(byte, true, change->centre8) : "");
    wh_csv_put(&writer, change->x12);
    wh_csv_put(&writer, reason.data ? reason.data : "");
    wh_csv_end_row(&writer);
    text->failed |= reason.failed;
    wh_text_free(&reason);
}

void wh_changes_lines(wh_text *text, wh_table_format format, const char *unit, const wh_changes *changes)
{
    if (format == WH_TABLE_CSV)
        wh_text_add(text, "unit,wheel,old sensor (hex),new sensor (hex),old sensor (decimal),new sensor (decimal),"
                          "SAE J1939 location,centre-8 location,X12 302 location,reason\r\n");
    if (format == WH_TABLE_TEXT && changes->count == 0)
        wh_text_add(text, "No ID is to be entered, as far as sensors were heard and are surely placed.\n");
    else if (format == WH_TABLE_TEXT)
        wh_text_print(text, "    %-6s%-12s%-12s%-14s%-7s%-9s%s\n", "wheel", "old ID", "new ID", "decimal", "J1939",
                      "centre-8", "X12");
    for (unsigned i = 0; i < changes->count; i++) {
        if (format == WH_TABLE_JSON)
            change_json(text, unit, &changes->items[i]);
        else if (format == WH_TABLE_CSV)
            change_csv(text, unit, &changes->items[i]);
        else
            change_text(text, &changes->items[i]);
    }
}

void wh_verification_summary(wh_text *text, const wh_verification *verification)
{
    for (int verdict = 0; verdict < WH_VERDICT_COUNT; verdict++) {
        if (verification->by_verdict[verdict] > 0)
            wh_text_print(text, "%u %s, ", verification->by_verdict[verdict], wh_verdict_text((wh_verdict)verdict));
    }
    wh_text_print(text, "%u of %u wheels heard since the repair mark", verification->wheels_heard,
                  verification->wheels);
}

static void verified_json(wh_text *text, const char *unit, const wh_verify_row *row)
{
    char position[WH_POSITION_SIZE];
    wh_json_open(text);
    wh_json_put_string(text, "record", "verified");
    wh_json_put_string(text, "unit", unit);
    if (row->position.axle > 0)
        wh_json_put_string(text, "position", wh_position_text(position, row->position));
    if (row->other.axle > 0)
        wh_json_put_string(text, "other_position", wh_position_text(position, row->other));
    wh_json_put_string(text, "verdict", wh_verdict_name(row->verdict));
    wh_json_put_string(text, "severity", wh_severity_name(row->severity));
    if (row->has_before)
        wh_json_put_string(text, "before", wh_finding_kind_name(row->before.kind));
    if (row->has_after)
        wh_json_put_string(text, "after", wh_finding_kind_name(row->after.kind));
    wh_json_put_bool(text, "heard", row->heard);
    wh_json_put_string(text, "evidence", row->text);
    wh_json_close(text);
    wh_text_add(text, "\n");
}

static void row_where(wh_text *text, const wh_verify_row *row)
{
    char position[WH_POSITION_SIZE];
    if (row->has_before || row->has_after) {
        wh_finding_where(text, row->has_before ? &row->before : &row->after);
        return;
    }
    wh_text_add(text, wh_position_text(position, row->position));
}

static const char *row_subject(const wh_verify_row *row)
{
    return row->has_before  ? wh_finding_kind_text(row->before.kind)
           : row->has_after ? wh_finding_kind_text(row->after.kind)
                            : "";
}

static void verified_row(wh_text *text, const char *unit, const wh_verify_row *row, bool csv)
{
    wh_text where = {0};
    row_where(&where, row);
    const char *place = where.data ? where.data : "";
    if (csv) {
        wh_csv_writer writer = {.out = text};
        wh_csv_put(&writer, unit);
        wh_csv_put(&writer, place);
        wh_csv_put(&writer, wh_verdict_name(row->verdict));
        wh_csv_put(&writer, wh_severity_name(row->severity));
        wh_csv_put(&writer, row_subject(row));
        wh_csv_put(&writer, row->text);
        wh_csv_end_row(&writer);
    } else {
        wh_text_print(text, "%s  %s: %s\n", place, wh_verdict_text(row->verdict), row_subject(row));
        wh_text_wrap(text, "       ", row->text, 8, 80);
    }
    text->failed |= where.failed;
    wh_text_free(&where);
}

void wh_verification_lines(wh_text *text, wh_table_format format, const char *unit, const wh_verification *verification)
{
    if (format == WH_TABLE_CSV)
        wh_text_add(text, "unit,wheel,verdict,severity,finding,evidence\r\n");
    for (size_t i = 0; i < verification->count; i++) {
        if (format == WH_TABLE_JSON)
            verified_json(text, unit, &verification->rows[i]);
        else
            verified_row(text, unit, &verification->rows[i], format == WH_TABLE_CSV);
    }
    if (format == WH_TABLE_TEXT) {
        wh_verification_summary(text, verification);
        wh_text_add(text, "\n");
    }
}
