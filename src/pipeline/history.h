/* The last second or two of samples in their native format, by sample number. */
#ifndef WH_HISTORY_H
#define WH_HISTORY_H

#include "wheelhark/iq.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct wh_history {
    wh_iq_format format;
    size_t capacity;      /* samples */
    uint64_t end;         /* number of the next sample */
    unsigned char *bytes; /* owned */
} wh_history;

bool wh_history_init(wh_history *history, wh_iq_format format, size_t capacity);
void wh_history_free(wh_history *history);
void wh_history_append(wh_history *history, const void *samples, size_t count);
/* Samples first .. first + count - 1 as floats [2 x count]; what lies before the start, after the end, or has been overwritten is 0. */
void wh_history_read(const wh_history *history, int64_t first, size_t count, float *out);

#endif
