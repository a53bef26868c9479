/* What became of the readings of a recording when a descriptor was added. */
#ifndef WH_READING_CHANGES_H
#define WH_READING_CHANGES_H

#include "text_buffer.h"
#include "wheelhark/reading.h"

#include <stdbool.h>
#include <stddef.h>

#define WH_READING_LIST_MAX 20000

/* Zeroed it is empty. */
typedef struct wh_reading_list {
    wh_reading *items; /* owned */
    size_t count, capacity;
    size_t left_out; /* beyond WH_READING_LIST_MAX */
    bool failed;     /* memory ran out */
} wh_reading_list;

/* `list` is a wh_reading_list; the form is that of wh_receiver_sink.reading. */
void wh_reading_list_take(void *list, const wh_reading *reading);
void wh_reading_list_free(wh_reading_list *list);

/* Readings of `before` that are not in `after` (the same descriptor and sensor within 20 ms), each with what stands there now, and how
 * many readings are by `added`. Returns how many are gone. */
size_t wh_reading_changes_text(const wh_reading_list *before, const wh_reading_list *after, const char *added,
                               wh_text *text);

#endif
