#include "finding_report.h"

#include "csv.h"
#include "json_writer.h"
#include "text_wrap.h"

#include <stdio.h>
#include <string.h>

void wh_finding_where(wh_text *text, const wh_finding *finding)
{
    char position[WH_POSITION_SIZE];
    wh_text_add(text, wh_position_text(position, finding->position));
    const bool elsewhere = finding->other_unit[0] && strcmp(finding->other_unit, finding->unit) != 0;
    if (finding->other.axle == 0 && !elsewhere)
        return;
    wh_text_add(text, " and");
    if (elsewhere)
        wh_text_print(text, " %s", finding->other_unit);
    if (finding->other.axle > 0)
        wh_text_print(text, " %s", wh_position_text(position, finding->other));
}

void wh_finding_put_text(wh_text *text, const char *lead, const wh_finding *finding, unsigned columns)
{
    char odds[WH_FIXED_SIZE];
    wh_text_add(text, lead);
    wh_finding_where(text, finding);
    wh_text_print(text, "  %s (%s, odds %s)\n", wh_finding_kind_text(finding->kind),
                  wh_severity_name(finding->severity), wh_fixed_down(odds, finding->odds, 2));
    wh_text_wrap(text, "        heard", finding->evidence, 15, columns);
    wh_text_wrap(text, "        do", finding->remedy, 15, columns);
    char why[sizeof finding->rule + sizeof finding->rule_source + 4];
    snprintf(why, sizeof why, "%s (%s)", finding->rule, finding->rule_source);
    wh_text_wrap(text, "        rule", why, 15, columns);
}

static void put_position(wh_text *text, const char *key, wh_position position)
{
    char string[WH_POSITION_SIZE];
    if (position.axle > 0)
        wh_json_put_string(text, key, wh_position_text(string, position));
}

static void put_known(wh_text *text, const char *key, const char *string)
{
    if (string[0])
        wh_json_put_string(text, key, string);
}

void wh_finding_put_json(wh_text *text, const wh_finding *finding, bool dated, int64_t at_us)
{
    char at[WH_TIME_SIZE];
    wh_json_open(text);
    wh_json_put_string(text, "record", "finding");
    if (dated)
        wh_json_put_string(text, "at", wh_time_text(at, at_us, 6));
    wh_json_put_string(text, "unit", finding->unit);
    put_position(text, "position", finding->position);
    wh_json_put_string(text, "finding", wh_finding_kind_name(finding->kind));
    wh_json_put_string(text, "severity", wh_severity_name(finding->severity));
    wh_json_put_fixed(text, "odds", finding->odds, 3);
    put_known(text, "other_unit", finding->other_unit);
    put_position(text, "other_position", finding->other);
    put_known(text, "sensor", finding->sensor);
    put_known(text, "recorded_sensor", finding->recorded);
    if (finding->has_pressure) {
        wh_json_put_fixed(text, "gauge_kpa", finding->pressure.kpa, 1);
        if (finding->cold.kpa > 0)
            wh_json_put_fixed(text, "cold_gauge_kpa", finding->cold.kpa, 1);
        if (finding->target.kpa > 0)
            wh_json_put_fixed(text, "target_gauge_kpa", finding->target.kpa, 1);
    }
    if (finding->has_temperature)
        wh_json_put_fixed(text, "temp_c", finding->temperature_c, 1);
    wh_json_put_bool(text, "inflation", finding->inflation);
    wh_json_put_string(text, "evidence", finding->evidence);
    wh_json_put_string(text, "rule", finding->rule);
    wh_json_put_string(text, "rule_source", finding->rule_source);
    wh_json_put_string(text, "remedy", finding->remedy);
    wh_json_close(text);
    wh_text_add(text, "\n");
}

void wh_findings_put_cautions(wh_text *text, const wh_findings *findings, unsigned columns)
{
    bool inflation = false;
    for (size_t i = 0; i < findings->count; i++)
        inflation |= findings->items[i].inflation;
    if (!inflation)
        return;
    wh_text_add(text, "\nCAUTION\n");
    for (const char *const *line = wh_cautions; *line; line++)
        wh_text_wrap(text, "  *", *line, 4, columns);
}

static void put_number(wh_csv_writer *writer, bool known, double value, unsigned decimals)
{
    char number[WH_FIXED_SIZE];
    wh_csv_put_number(writer, known ? wh_fixed(number, value, decimals) : "");
}

static void put_csv(wh_text *text, const wh_finding *finding)
{
    char position[WH_POSITION_SIZE];
    wh_csv_writer writer = {.out = text};
    wh_csv_put(&writer, finding->unit);
    wh_csv_put(&writer, wh_position_text(position, finding->position));
    wh_csv_put(&writer, wh_finding_kind_name(finding->kind));
    wh_csv_put(&writer, wh_severity_name(finding->severity));
    put_number(&writer, true, finding->odds, 3);
    wh_csv_put(&writer, finding->other.axle > 0 ? wh_position_text(position, finding->other) : "");
    wh_csv_put(&writer, finding->other_unit);
    wh_csv_put(&writer, finding->sensor);
    wh_csv_put(&writer, finding->recorded);
    put_number(&writer, finding->has_pressure, finding->pressure.kpa, 1);
    put_number(&writer, finding->has_pressure && finding->cold.kpa > 0, finding->cold.kpa, 1);
    put_number(&writer, finding->has_pressure && finding->target.kpa > 0, finding->target.kpa, 1);
    put_number(&writer, finding->has_temperature, finding->temperature_c, 1);
    wh_csv_put(&writer, finding->evidence);
    wh_csv_put(&writer, finding->remedy);
    wh_csv_put(&writer, finding->rule);
    wh_csv_put(&writer, finding->rule_source);
    wh_csv_end_row(&writer);
}

void wh_findings_put_csv(wh_text *text, const wh_findings *findings)
{
    wh_text_add(text,
                "unit,wheel,finding,severity,odds,other wheel,other unit,sensor,recorded sensor,gauge pressure (kPa),"
                "cold gauge pressure (kPa),target gauge pressure (kPa),temperature (C),evidence,remedy,rule,"
                "source of the rule\r\n");
    for (size_t i = 0; i < findings->count; i++)
        put_csv(text, &findings->items[i]);
}
