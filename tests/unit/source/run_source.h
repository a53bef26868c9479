/* For the tests of sources: files in a folder of their own, and a source run to its end with everything it said. */
#ifndef RUN_SOURCE_H
#define RUN_SOURCE_H

#include "source.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#define RUN_MAX 32

typedef struct source_run {
    wh_status open_status; /* of wh_source_open; when not WH_OK nothing else is filled */
    wh_status end_status;  /* WH_OK: came to END */
    wh_error error;
    wh_stream streams[RUN_MAX];
    size_t stream_samples[RUN_MAX];
    size_t stream_count;
    wh_error notices[RUN_MAX];
    size_t notice_count;
    uint8_t *bytes; /* all samples */
    size_t byte_count;
    size_t largest_block;
    size_t blocks;
    uint64_t total; /* of wh_source_progress after opening */
    const char *kind;
} source_run;

/* Folder made for this test program; removed by folder_end. The text is static. */
const char *folder_begin(void);
void folder_end(void);
/* Path in the folder; a few results stay valid at the same time. */
const char *in_folder(const char *name);
void write_bytes(const char *name, const void *bytes, size_t count);
void write_text(const char *name, const char *text);

/* Options with nothing but a target (a path is used as it is). */
wh_source_options options_for(const char *target);
void run_source(source_run *run, const wh_source_options *options);
void run_free(source_run *run);
/* Is there a notice of this status whose text contains `text`? */
bool has_notice(const source_run *run, wh_status status, const char *text);

#define assert_contains(text, part) assert_non_null(strstr((text), (part)))

#endif
