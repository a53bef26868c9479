#include "reading_changes.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SAME_S 0.02 /* as expectations allow */
#define TOLD   20

void wh_reading_list_take(void *list, const wh_reading *reading)
{
    wh_reading_list *l = list;
    if (l->count == WH_READING_LIST_MAX) {
        l->left_out++;
        return;
    }
    if (l->count == l->capacity) {
        const size_t capacity = l->capacity ? 2 * l->capacity : 64;
        wh_reading *items = realloc(l->items, capacity * sizeof *items);
        if (!items) {
            l->failed = true;
            return;
        }
        l->items = items;
        l->capacity = capacity;
    }
    l->items[l->count++] = *reading;
}

void wh_reading_list_free(wh_reading_list *list)
{
    free(list->items);
    *list = (wh_reading_list){0};
}

static bool at_one_time(const wh_reading *a, const wh_reading *b)
{
    return fabs(a->offset_s - b->offset_s) <= SAME_S;
}

static bool same(const wh_reading *a, const wh_reading *b)
{
    return at_one_time(a, b) && strcmp(a->descriptor, b->descriptor) == 0 && strcmp(a->sensor, b->sensor) == 0;
}

static const wh_reading *find(const wh_reading_list *list, const wh_reading *wanted,
                              bool (*fits)(const wh_reading *a, const wh_reading *b))
{
    for (size_t i = 0; i < list->count; i++)
        if (fits(&list->items[i], wanted))
            return &list->items[i];
    return NULL;
}

size_t wh_reading_changes_text(const wh_reading_list *before, const wh_reading_list *after, const char *added,
                               wh_text *text)
{
    size_t gone = 0, fresh = 0;
    char at[WH_FIXED_SIZE], was[WH_FIXED_SIZE], is[WH_FIXED_SIZE];
    for (size_t i = 0; i < after->count; i++)
        fresh += strcmp(after->items[i].descriptor, added) == 0;
    for (size_t i = 0; i < before->count; i++) {
        const wh_reading *old = &before->items[i];
        if (find(after, old, same))
            continue;
        if (++gone > TOLD)
            continue;
        wh_text_print(text, "  %s s: %s of %s (confidence %s) is gone", wh_fixed(at, old->offset_s, 3), old->sensor,
                      old->descriptor, wh_fixed_down(was, old->confidence, 3));
        const wh_reading *now = find(after, old, at_one_time);
        if (now)
            wh_text_print(text, "; %s of %s (%s) won", now->sensor, now->descriptor,
                          wh_fixed_down(is, now->confidence, 3));
        wh_text_add(text, "\n");
    }
    if (gone > TOLD)
        wh_text_print(text, "  and %zu more\n", gone - TOLD);
    wh_text_print(text, "  %zu before, %zu with %s, %zu of them by it, %zu gone\n", before->count, after->count, added,
                  fresh, gone);
    return gone;
}
