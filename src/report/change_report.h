/* The IDs to enter, and what became of the findings after a repair, as text, JSON Lines and CSV. */
#ifndef WH_CHANGE_REPORT_H
#define WH_CHANGE_REPORT_H

#include "changes.h"
#include "history_report.h"
#include "text_buffer.h"
#include "verify.h"

/* `unit`: its name. Text fits 80 columns unless IDs are longer than 32 bits. */
void wh_changes_lines(wh_text *text, wh_table_format format, const char *unit, const wh_changes *changes);
/* "in place of 0A1B2C3D", "on record at 2RO: take it off there", ...: why an ID is to be entered. */
void wh_change_reason(wh_text *text, const wh_change *change);

/* Text: what was mended and what stays open; JSON: one record "verified" a row. */
void wh_verification_lines(wh_text *text, wh_table_format format, const char *unit,
                           const wh_verification *verification);
/* "2 mended, 1 open, 1 not heard since; 5 of 6 wheels heard" */
void wh_verification_summary(wh_text *text, const wh_verification *verification);

#endif
