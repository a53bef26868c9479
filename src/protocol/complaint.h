/* Complaints about a descriptor file: collected while it is read, told in file order at the end, so that one run
 * shows everything that is wrong. */
#ifndef WH_PROTOCOL_COMPLAINT_H
#define WH_PROTOCOL_COMPLAINT_H

#include "wheelhark/descriptor.h"

#include <stdbool.h>
#include <stddef.h>

/* More than this many complaints about one file help nobody; the last one then says that there were more. */
#define WH_COMPLAINTS_MAX 60

/* A place in the file; lines and columns count from 1, columns count characters. */
typedef struct wh_mark {
    unsigned line, column;
} wh_mark;

/* A stretch of one line. */
typedef struct wh_span {
    wh_mark at;
    unsigned width; /* characters, >= 1 */
} wh_span;

typedef struct wh_complaints {
    const char *file; /* borrowed */
    const char *text; /* borrowed: the whole file, for quoting lines */
    size_t length;
    wh_complaint *items;
    size_t count, capacity;
    unsigned errors; /* including those no longer stored */
    bool memory_out;
} wh_complaints;

/* `file` and `text` must outlive the collection. */
void wh_complaints_begin(wh_complaints *complaints, const char *file, const char *text, size_t length);
void wh_complaints_free(wh_complaints *complaints);

/* Add an error or a warning. `hint` may be NULL; `format` follows printf. */
void wh_complain(wh_complaints *complaints, wh_span where, const char *hint, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
void wh_warn(wh_complaints *complaints, wh_span where, const char *hint, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

/* Sort by place and hand each to `tell` (may be NULL). */
void wh_complaints_tell(wh_complaints *complaints, wh_complaint_fn tell, void *context);

#endif
