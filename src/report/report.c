#include "report.h"

#include "record_writer.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const wh_record_writer *const writers[WH_REPORT_FORMAT_COUNT] = {
    [WH_REPORT_TEXT] = &wh_text_writer,
    [WH_REPORT_JSON] = &wh_json_writer,
    [WH_REPORT_CSV] = &wh_csv_writer,
};

wh_report *wh_report_create(const wh_report_style *style, FILE *out)
{
    wh_report *report = calloc(1, sizeof *report);
    if (!report)
        return NULL;
    report->style = *style;
    report->out = out;
    return report;
}

void wh_report_destroy(wh_report **report)
{
    if (!*report)
        return;
    wh_text_free(&(*report)->line);
    free(*report);
    *report = NULL;
}

/* A record reaches the stream whole or not at all. */
static wh_status write_line(wh_report *report)
{
    if (report->line.failed)
        report->status = WH_ERR_MEMORY;
    else if (report->line.length > 0 && fwrite(report->line.data, report->line.length, 1, report->out) != 1)
        report->status = WH_ERR_IO;
    wh_text_clear(&report->line);
    return report->status;
}

static const wh_record_writer *writer_of(const wh_report *report)
{
    return writers[report->style.format];
}

wh_status wh_report_reading(wh_report *report, const wh_reading *reading)
{
    if (report->status != WH_OK)
        return report->status;
    writer_of(report)->reading(report, reading);
    return write_line(report);
}

wh_status wh_report_burst(wh_report *report, const wh_burst *burst)
{
    if (report->status != WH_OK || !writer_of(report)->burst)
        return report->status;
    writer_of(report)->burst(report, burst);
    return write_line(report);
}

wh_status wh_report_attempt(wh_report *report, const wh_attempt *attempt)
{
    if (report->status != WH_OK || !writer_of(report)->attempt)
        return report->status;
    writer_of(report)->attempt(report, attempt);
    return write_line(report);
}

wh_status wh_report_summary(wh_report *report, const wh_run_summary *summary)
{
    if (report->status != WH_OK || !writer_of(report)->summary)
        return report->status;
    writer_of(report)->summary(report, summary);
    return write_line(report);
}

wh_status wh_report_error(wh_report *report, const char *source, const wh_error *error)
{
    if (report->status != WH_OK || !writer_of(report)->error)
        return report->status;
    writer_of(report)->error(report, source, error);
    return write_line(report);
}

wh_status wh_report_flush(wh_report *report)
{
    if (report->status == WH_OK && fflush(report->out) != 0)
        report->status = WH_ERR_IO;
    return report->status;
}

wh_status wh_report_finish(wh_report *report)
{
    if (report->status == WH_OK && writer_of(report)->finish) {
        writer_of(report)->finish(report);
        write_line(report);
    }
    return wh_report_flush(report);
}

void wh_key_of(char key[WH_NAME_MAX], const char *name)
{
    size_t i = 0;
    for (; i < WH_NAME_MAX - 1 && name[i]; i++)
        key[i] = name[i] == ' ' ? '_' : name[i];
    key[i] = '\0';
}

void wh_frame_hex(char hex[WH_FRAME_BITS_MAX / 4 + 1], const wh_reading *reading)
{
    static const char digits[] = "0123456789ABCDEF";
    const unsigned bits = reading->frame_bits < WH_FRAME_BITS_MAX ? reading->frame_bits : WH_FRAME_BITS_MAX;
    const unsigned count = (bits + 3) / 4;
    for (unsigned i = 0; i < count; i++)
        hex[i] = digits[i % 2 == 0 ? reading->frame[i / 2] >> 4 : reading->frame[i / 2] & 15];
    hex[count] = '\0';
}

const char *wh_value_number(char out[WH_FIXED_SIZE], double value)
{
    /* A counter of 64 bits has no room for decimals. */
    return wh_plain(out, value, value < 1e9 && value > -1e9 ? 6 : 0);
}

const char *wh_confidence_text(char out[WH_FIXED_SIZE], double confidence)
{
    return wh_fixed_down(out, fmin(confidence, 0.999), 3);
}

const char *wh_why_no_number(wh_value_state state, const char *note)
{
    return note[0] ? note : wh_value_state_name(state);
}
