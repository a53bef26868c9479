/* The metadata of a SigMF recording (sigmf.org, version 1.2): parsed, checked, reduced to what a receiver needs. */
#ifndef WH_SIGMF_META_H
#define WH_SIGMF_META_H

#include "notices.h"
#include "wheelhark/iq.h"
#include "wheelhark/log.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define WH_SIGMF_META_LIMIT   ((size_t)16 << 20) /* bytes of a metadata file */
#define WH_SIGMF_CAPTURES_MAX 100000

typedef struct wh_sigmf_capture {
    uint64_t sample_start; /* counted from the first sample of the file: core:offset is taken off */
    uint64_t index;        /* counted where the samples were taken: core:global_index less that of the first capture;
                              sample_start where the file does not say it, or says what cannot be */
    uint64_t header_bytes; /* before its samples */
    double frequency_hz;   /* NaN: not said */
    bool has_time;
    int64_t utc_us;
} wh_sigmf_capture;

typedef struct wh_sigmf_meta {
    wh_iq_format format;
    double sample_rate_hz; /* NaN: not said */
    uint64_t trailing_bytes;
    bool has_sha512;
    char sha512[129];           /* lower case */
    char dataset[256];          /* core:dataset: name of a data file of another kind; empty: the usual .sigmf-data */
    wh_sigmf_capture *captures; /* in order of sample_start, never two with the same; may be none */
    size_t capture_count;
    uint64_t annotated_end; /* the last annotation reaches to this sample of the file; 0: none */
} wh_sigmf_meta;

/* Parse `text`. What makes the samples unreadable is an error: broken JSON (DATA, with line and column), missing
 * datatype (FORMAT), samples of a kind not read here (UNSUPPORTED). What can be worked around goes to `notices`,
 * habits of old versions to `log` (may be NULL). `name` begins every message. On success free with
 * wh_sigmf_meta_free; on failure nothing is left to free. */
wh_status wh_sigmf_meta_parse(const char *text, size_t length, const char *name, const wh_log *log, wh_sigmf_meta *meta,
                              wh_notices *notices, wh_error *error);
void wh_sigmf_meta_free(wh_sigmf_meta *meta);

/* core:datatype alone. *tolerated: not the standard's spelling, but clear. */
wh_status wh_sigmf_datatype_parse(const char *text, wh_iq_format *format, bool *tolerated, const char *name,
                                  wh_error *error);

#endif
