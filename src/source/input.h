/* Bytes from a file or a pipe, read in order, in bounded pieces. Never mapped: memory must not grow with the
 * recording, and a file that shrinks meanwhile must not kill the program. */
#ifndef WH_INPUT_H
#define WH_INPUT_H

#include "wheelhark/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct wh_input {
    int fd; /* -1: closed */
    bool owned;
    bool regular;      /* a file with a size; otherwise a pipe, FIFO, terminal */
    uint64_t base;     /* regular: where byte 0 stands in the file (a member of an archive) */
    uint64_t size;     /* regular: bytes from `base` on, as found when opened */
    uint64_t position; /* bytes taken so far */
    uint8_t ahead[16]; /* looked at, not yet taken */
    size_t ahead_from, ahead_to;
    char name[256]; /* for messages */
} wh_input;

/* Open a file for reading. NOT_FOUND, PERMISSION, FORMAT (a folder), IO. */
wh_status wh_input_open(wh_input *input, const char *path, wh_error *error);
/* Read from a descriptor that stays the caller's. */
void wh_input_adopt(wh_input *input, int fd, const char *name);
/* Regular files: go on with `size` bytes starting at `base`. */
void wh_input_window(wh_input *input, uint64_t base, uint64_t size);
/* `want` bytes, fewer only at the end of the input. */
wh_status wh_input_read(wh_input *input, void *bytes, size_t want, size_t *got, wh_error *error);
/* At least one byte, at most `want`; waits `wait_ms` for a pipe: then *idle is true and *got 0. End: *got 0.
 * A regular file delivers `want` bytes except at its end. */
wh_status wh_input_read_some(wh_input *input, void *bytes, size_t want, int wait_ms, size_t *got, bool *idle,
                             wh_error *error);
/* Pass over `count` bytes; *passed tells how many there were. */
wh_status wh_input_skip(wh_input *input, uint64_t count, uint64_t *passed, wh_error *error);
/* See the next bytes (at most 16) without taking them. */
wh_status wh_input_peek(wh_input *input, void *bytes, size_t want, size_t *got, wh_error *error);
void wh_input_close(wh_input *input);

/* A whole file of at most `limit` bytes; *text is NUL-terminated and the caller's to free. */
wh_status wh_input_load(wh_input *input, size_t limit, char **text, size_t *length, wh_error *error);
/* Part of `path` behind the last slash. */
const char *wh_base_name(const char *path);
bool wh_has_suffix(const char *text, const char *suffix);

#endif
