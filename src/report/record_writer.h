/* One format of records: what report.c calls. Each writer appends whole lines to report->line. */
#ifndef WH_RECORD_WRITER_H
#define WH_RECORD_WRITER_H

#include "report.h"
#include "text_buffer.h"

struct wh_report {
    wh_report_style style;
    FILE *out;
    wh_text line;
    wh_status status;
    bool heading_written;
    bool heading_has_time; /* text: the first column is UTC, not the offset */
    char source[128];      /* text: named last */
};

/* NULL: the format has no such record. */
typedef struct wh_record_writer {
    void (*reading)(wh_report *report, const wh_reading *reading);
    void (*burst)(wh_report *report, const wh_burst *burst);
    void (*attempt)(wh_report *report, const wh_attempt *attempt);
    void (*summary)(wh_report *report, const wh_run_summary *summary);
    void (*error)(wh_report *report, const char *source, const wh_error *error);
    void (*finish)(wh_report *report);
} wh_record_writer;

extern const wh_record_writer wh_text_writer, wh_json_writer, wh_csv_writer;

/* A JSON reading without its line end; what --expect compares with. */
void wh_json_reading(wh_text *text, const wh_reading *reading);

/* A field or flag name as a key: blanks become underscores. */
void wh_key_of(char key[WH_NAME_MAX], const char *name);
/* Payload bits as hex digits, high bit first; the last digit is filled up with zeros. */
void wh_frame_hex(char hex[WH_FRAME_BITS_MAX / 4 + 1], const wh_reading *reading);
/* A further value's number with as many decimals as it needs, six at most. */
const char *wh_value_number(char out[WH_FIXED_SIZE], double value);
/* A confidence with three decimals, rounded down and never 1: what came by radio is not certain, and nothing may pass
 * for better than it is. */
const char *wh_confidence_text(char out[WH_FIXED_SIZE], double confidence);
/* Why there is no number: the note of the descriptor, else the name of the state. */
const char *wh_why_no_number(wh_value_state state, const char *note);

#endif
