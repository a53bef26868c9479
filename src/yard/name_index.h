/* Numbers by name: a hash table that only grows. */
#ifndef WH_NAME_INDEX_H
#define WH_NAME_INDEX_H

#include <stdbool.h>
#include <stddef.h>

typedef struct wh_name_index {
    struct wh_name_slot *slots;
    size_t capacity, count; /* capacity: 0 or a power of two */
} wh_name_index;            /* all zero: empty */

/* SIZE_MAX when the name is not there. */
size_t wh_name_index_find(const wh_name_index *index, const char *name);
/* A name that is not there yet; it is borrowed. false when memory is out. */
bool wh_name_index_add(wh_name_index *index, const char *name, size_t number);
void wh_name_index_free(wh_name_index *index);

#endif
