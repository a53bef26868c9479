#include "name_index.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

struct wh_name_slot {
    const char *name; /* NULL: free */
    uint64_t hash;
    size_t number;
};

/* FNV-1a (Fowler, Noll and Vo), mixed once more because the low bits choose the slot. */
static uint64_t hash_of(const char *name)
{
    uint64_t hash = 0xcbf29ce484222325u;
    for (; *name; name++)
        hash = (hash ^ (unsigned char)*name) * 0x100000001b3u;
    return hash ^ hash >> 29;
}

size_t wh_name_index_find(const wh_name_index *index, const char *name)
{
    if (index->capacity == 0)
        return SIZE_MAX;
    const uint64_t hash = hash_of(name);
    for (size_t i = hash & (index->capacity - 1); index->slots[i].name; i = (i + 1) & (index->capacity - 1))
        if (index->slots[i].hash == hash && strcmp(index->slots[i].name, name) == 0)
            return index->slots[i].number;
    return SIZE_MAX;
}

static void put(wh_name_index *index, struct wh_name_slot slot)
{
    size_t i = slot.hash & (index->capacity - 1);
    while (index->slots[i].name)
        i = (i + 1) & (index->capacity - 1);
    index->slots[i] = slot;
}

bool wh_name_index_add(wh_name_index *index, const char *name, size_t number)
{
    if (2 * index->count >= index->capacity) {
        wh_name_index more = {.capacity = index->capacity ? 2 * index->capacity : 64, .count = index->count};
        more.slots = calloc(more.capacity, sizeof *more.slots);
        if (!more.slots)
            return false;
        for (size_t i = 0; i < index->capacity; i++)
            if (index->slots[i].name)
                put(&more, index->slots[i]);
        free(index->slots);
        *index = more;
    }
    put(index, (struct wh_name_slot){name, hash_of(name), number});
    index->count++;
    return true;
}

void wh_name_index_free(wh_name_index *index)
{
    free(index->slots);
    *index = (wh_name_index){0};
}
