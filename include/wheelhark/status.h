/* Status codes and error texts used by every part of the library. */
#ifndef WHEELHARK_STATUS_H
#define WHEELHARK_STATUS_H

#include <stdarg.h>

/* Outcome of a call. Kinds of failure are kept apart because users act differently on each. */
typedef enum wh_status {
    WH_OK = 0,
    WH_ERR_ARGUMENT,    /* the caller broke the contract of the call: a bug or a bad option */
    WH_ERR_MEMORY,      /* an allocation failed */
    WH_ERR_FORMAT,      /* not the kind of data it claims to be, e.g. no SigMF in a .sigmf-meta file */
    WH_ERR_UNSUPPORTED, /* the right kind, but a variant we do not read, e.g. SigMF with real samples */
    WH_ERR_DATA,        /* the right kind, damaged, e.g. truncated or with a wrong hash */
    WH_ERR_LIMIT,       /* larger than a stated bound */
    WH_ERR_IO,          /* reading or writing failed */
    WH_ERR_NOT_FOUND,   /* no such file, device, descriptor */
    WH_ERR_BUSY,        /* a device is held by somebody else */
    WH_ERR_PERMISSION,  /* access refused by the system */
    WH_ERR_GONE,        /* a device or peer was there and went away */
    WH_STATUS_COUNT
} wh_status;

/* Lower-case English name of a status, e.g. "damaged data"; never NULL. */
const char *wh_status_name(wh_status status);

/* An error told to people: what happened and where, and what to do about it. */
typedef struct wh_error {
    wh_status status;
    char what[384]; /* "yard.sigmf-meta: line 3, column 9: ..."; empty when status is WH_OK */
    char fix[256];  /* one thing to do; may be empty */
} wh_error;

/* Fill *error (may be NULL: then nothing is stored) and return `status`, so that a function can
 * `return wh_fail(error, ...)`. `fix` may be NULL. `format` follows printf. */
wh_status wh_fail(wh_error *error, wh_status status, const char *fix, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

/* Set *error (may be NULL) to WH_OK with empty texts. */
void wh_error_clear(wh_error *error);

#endif
