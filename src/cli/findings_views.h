/* The views of the findings command: each appends a whole text in one format. */
#ifndef WH_FINDINGS_VIEWS_H
#define WH_FINDINGS_VIEWS_H

#include "yard_view.h"

typedef enum wh_view_format { WH_VIEW_TEXT, WH_VIEW_JSON, WH_VIEW_CSV } wh_view_format;

/* Findings of one unit; after a repair mark also what became of the earlier ones (not in CSV: a table has one heading). */
void wh_view_findings(wh_text *text, const wh_yard_view *view, const wh_yard_case *yard_case, wh_view_format format);
/* IDs to enter, old and new. */
void wh_view_changes(wh_text *text, const wh_yard_view *view, const wh_yard_case *yard_case, wh_view_format format);
/* Sweeps round the unit, newest first, and the readings of its sensors, oldest first. */
wh_status wh_view_history(wh_text *text, const wh_yard_view *view, const wh_yard_case *yard_case, wh_view_format format,
                          wh_error *error);
/* Cold pressure over time at one wheel, SVG. */
wh_status wh_view_trend(wh_text *text, const wh_case_options *options, const wh_yard_case *yard_case,
                        wh_position position, wh_error *error);
/* Every unit: when swept, wheels heard, findings by severity. *found: is there any finding? */
wh_status wh_view_yard(wh_text *text, const wh_yard_view *view, wh_view_format format, bool *found, wh_error *error);
/* The thresholds and their sources. */
void wh_view_rules(wh_text *text, const wh_thresholds *thresholds, wh_view_format format);

#endif
