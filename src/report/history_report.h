/* The history of a unit and the units at a glance, as text, JSON Lines and CSV. */
#ifndef WH_HISTORY_REPORT_H
#define WH_HISTORY_REPORT_H

#include "store.h"
#include "text_buffer.h"

typedef enum wh_table_format { WH_TABLE_TEXT, WH_TABLE_JSON, WH_TABLE_CSV } wh_table_format;

/* What the tables are given in. */
typedef struct wh_table_style {
    wh_table_format format;
    wh_pressure_unit pressure; /* of text and CSV */
    wh_temperature_unit temperature;
    double reference_c; /* cold pressures */
    wh_absolute site;
} wh_table_style;

/* Sweeps in the order given, one line each. */
void wh_history_sweeps(wh_text *text, const wh_table_style *style, const wh_sweep_head *sweeps, size_t count);
/* Readings in the order given, one line each. */
void wh_history_readings(wh_text *text, const wh_table_style *style, const wh_past *past, size_t count);

/* One unit at a glance. */
typedef struct wh_unit_line {
    const wh_unit *unit;
    bool swept;
    bool dated;
    int64_t sweep_us; /* begin of the latest sweep; holds when swept */
    bool repaired;    /* it has a repair mark: what follows counts since then */
    unsigned heard;   /* wheels with a sensor heard at them */
    unsigned by_severity[WH_SEVERITY_COUNT];
} wh_unit_line;

void wh_yard_lines(wh_text *text, wh_table_format format, const wh_unit_line *lines, size_t count);
/* From an attribution and its findings; the rest of *line is set by the caller. */
void wh_unit_line_count(wh_unit_line *line, const wh_attribution *attribution, const wh_findings *findings);

/* The thresholds judged by, with the source of each default. */
void wh_rules_lines(wh_text *text, wh_table_format format, const wh_thresholds *thresholds);

#endif
