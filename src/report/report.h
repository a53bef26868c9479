/* Records for people and programs: readings, bursts, attempts, the summary and errors as text, JSON Lines or CSV,
 * written to a stream the caller owns. What is written depends on the records alone: not on the locale, the clock or
 * the machine. */
#ifndef WH_REPORT_H
#define WH_REPORT_H

#include "wheelhark/reading.h"
#include "wheelhark/receiver.h"
#include "wheelhark/status.h"
#include "wheelhark/units.h"

#include <stdbool.h>
#include <stdio.h>

typedef enum wh_report_format {
    WH_REPORT_TEXT,
    WH_REPORT_JSON,
    WH_REPORT_CSV,
    WH_REPORT_FORMAT_COUNT
} wh_report_format;

typedef struct wh_report_style {
    wh_report_format format;
    wh_pressure_unit pressure;       /* of text and CSV; JSON is always kPa and degrees Celsius */
    wh_temperature_unit temperature; /* of text and CSV */
    bool color;                      /* of text: escape sequences of ECMA-48 */
    bool name_sources;               /* of text: a line with the source's name wherever it changes */
} wh_report_style;

/* What was heard in one run. */
typedef struct wh_run_summary {
    unsigned inputs; /* files or devices */
    wh_receiver_stats stats;
} wh_run_summary;

typedef struct wh_report wh_report;

/* A report onto `out`, which stays the caller's and must outlive it. NULL when memory is out. */
wh_report *wh_report_create(const wh_report_style *style, FILE *out);
void wh_report_destroy(wh_report **report);

/* Write one record. The text and CSV formats put their heading before the first reading. CSV holds readings only:
 * the other records are left out there; text leaves the summary and errors out, which belong on stderr.
 * WH_ERR_IO (see errno) and WH_ERR_MEMORY stay: later calls do nothing but return them. */
wh_status wh_report_reading(wh_report *report, const wh_reading *reading);
wh_status wh_report_burst(wh_report *report, const wh_burst *burst);
wh_status wh_report_attempt(wh_report *report, const wh_attempt *attempt);
wh_status wh_report_summary(wh_report *report, const wh_run_summary *summary);
/* `source`: what the error is about, e.g. the file; may be NULL. */
wh_status wh_report_error(wh_report *report, const char *source, const wh_error *error);
/* Hand on what the stream still holds. */
wh_status wh_report_flush(wh_report *report);
/* At the end: a CSV without readings still gets its heading. Flushes. */
wh_status wh_report_finish(wh_report *report);

#endif
