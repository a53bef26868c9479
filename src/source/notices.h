/* Damage and oddities found while opening or reading, kept until the caller asks for the next event. */
#ifndef WH_NOTICES_H
#define WH_NOTICES_H

#include "wheelhark/status.h"

#include <stdbool.h>
#include <stddef.h>

/* A hostile file may hold a fault per line; more than this many help nobody. */
#define WH_NOTICES_MAX 16

typedef struct wh_notices {
    wh_error list[WH_NOTICES_MAX];
    size_t count, taken;
    size_t dropped; /* beyond the limit */
} wh_notices;

/* `fix` may be NULL. */
void wh_notices_add(wh_notices *notices, wh_status status, const char *fix, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
/* The next one not taken yet. When more were found than kept, the last one says how many. */
bool wh_notices_take(wh_notices *notices, wh_error *out);

#endif
