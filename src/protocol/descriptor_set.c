#include "descriptor_loader.h"

#include <stdlib.h>
#include <string.h>

struct wh_descriptor_set {
    wh_descriptor **items; /* in order of name */
    size_t count, capacity;
};

wh_descriptor_set *wh_descriptor_set_create(void)
{
    return calloc(1, sizeof(wh_descriptor_set));
}

void wh_descriptor_set_destroy(wh_descriptor_set **set)
{
    if (!set || !*set)
        return;
    for (size_t i = 0; i < (*set)->count; i++)
        wh_descriptor_destroy(&(*set)->items[i]);
    free((*set)->items);
    free(*set);
    *set = NULL;
}

/* Place of the first name that is not less than `name`. */
static size_t place_of(const wh_descriptor_set *set, const char *name)
{
    size_t low = 0, high = set->count;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (strcmp(set->items[middle]->name, name) < 0)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

static bool make_room(wh_descriptor_set *set)
{
    if (set->count < set->capacity)
        return true;
    const size_t capacity = set->capacity ? 2 * set->capacity : 16;
    wh_descriptor **const items = realloc(set->items, capacity * sizeof *items);
    if (!items)
        return false;
    set->items = items;
    set->capacity = capacity;
    return true;
}

wh_status wh_descriptor_set_load_text(wh_descriptor_set *set, const char *name, const char *text, size_t length,
                                      wh_complaint_fn complain, void *context)
{
    wh_descriptor *descriptor;
    const wh_status status = wh_descriptor_compile(set, name, text, length, complain, context, &descriptor);
    if (status != WH_OK)
        return status;
    const size_t place = place_of(set, descriptor->name);
    const bool known = place < set->count && strcmp(set->items[place]->name, descriptor->name) == 0;
    if (known || !make_room(set)) {
        wh_descriptor_destroy(&descriptor);
        return known ? WH_OK : WH_ERR_MEMORY;
    }
    memmove(set->items + place + 1, set->items + place, (set->count - place) * sizeof *set->items);
    set->items[place] = descriptor;
    set->count++;
    return WH_OK;
}

size_t wh_descriptor_set_count(const wh_descriptor_set *set)
{
    return set->count;
}

const wh_descriptor *wh_descriptor_set_at(const wh_descriptor_set *set, size_t index)
{
    return index < set->count ? set->items[index] : NULL;
}

const wh_descriptor *wh_descriptor_set_find(const wh_descriptor_set *set, const char *name)
{
    const size_t place = place_of(set, name);
    return place < set->count && strcmp(set->items[place]->name, name) == 0 ? set->items[place] : NULL;
}

const char *wh_descriptor_name(const wh_descriptor *descriptor)
{
    return descriptor->name;
}

const char *wh_descriptor_summary(const wh_descriptor *descriptor)
{
    return descriptor->summary;
}

const char *wh_descriptor_path(const wh_descriptor *descriptor)
{
    return descriptor->path;
}
