#include "wheelhark/roster.h"

#include <stdlib.h>
#include <string.h>

/* A fleet has hundreds or thousands of units; the bound keeps a broken file from filling the memory. */
#define UNITS_MAX 20000

struct wh_roster {
    wh_unit **units; /* in order of name */
    size_t count, capacity;
};

wh_roster *wh_roster_create(void)
{
    return calloc(1, sizeof(wh_roster));
}

void wh_roster_destroy(wh_roster **roster)
{
    if (!*roster)
        return;
    for (size_t i = 0; i < (*roster)->count; i++)
        free((*roster)->units[i]);
    free((*roster)->units);
    free(*roster);
    *roster = NULL;
}

/* Where `name` is, or where it belongs. */
static size_t place_of(const wh_roster *roster, const char *name, bool *found)
{
    size_t low = 0, high = roster->count;
    *found = false;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        const int order = strcmp(roster->units[middle]->name, name);
        if (order == 0) {
            *found = true;
            return middle;
        }
        if (order < 0)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

static bool make_room(wh_roster *roster)
{
    if (roster->count < roster->capacity)
        return true;
    const size_t capacity = roster->capacity ? 2 * roster->capacity : 16;
    wh_unit **units = realloc(roster->units, capacity * sizeof(wh_unit *));
    if (!units)
        return false;
    roster->units = units;
    roster->capacity = capacity;
    return true;
}

wh_status wh_roster_put(wh_roster *roster, const wh_unit *unit, wh_error *error)
{
    bool found;
    const size_t place = place_of(roster, unit->name, &found);
    if (found) {
        *roster->units[place] = *unit;
        return WH_OK;
    }
    if (roster->count == UNITS_MAX)
        return wh_fail(error, WH_ERR_LIMIT, "keep a roster for each yard", "a roster holds %d units at most",
                       UNITS_MAX);
    wh_unit *copy = make_room(roster) ? malloc(sizeof *copy) : NULL;
    if (!copy)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "no memory for unit %s", unit->name);
    *copy = *unit;
    memmove(roster->units + place + 1, roster->units + place, (roster->count - place) * sizeof(wh_unit *));
    roster->units[place] = copy;
    roster->count++;
    return WH_OK;
}

wh_status wh_roster_remove(wh_roster *roster, const char *name)
{
    bool found;
    const size_t place = place_of(roster, name, &found);
    if (!found)
        return WH_ERR_NOT_FOUND;
    free(roster->units[place]);
    roster->count--;
    memmove(roster->units + place, roster->units + place + 1, (roster->count - place) * sizeof(wh_unit *));
    return WH_OK;
}

size_t wh_roster_count(const wh_roster *roster)
{
    return roster->count;
}

const wh_unit *wh_roster_at(const wh_roster *roster, size_t index)
{
    return index < roster->count ? roster->units[index] : NULL;
}

const wh_unit *wh_roster_find(const wh_roster *roster, const char *name)
{
    bool found;
    const size_t place = place_of(roster, name, &found);
    return found ? roster->units[place] : NULL;
}

size_t wh_roster_places(const wh_roster *roster, const char *sensor, wh_roster_place *places, size_t capacity)
{
    size_t count = 0;
    if (!*sensor) /* wheels without a sensor on record */
        return 0;
    for (size_t i = 0; i < roster->count; i++) {
        const wh_unit *unit = roster->units[i];
        for (unsigned w = 0; w < unit->wheel_count; w++) {
            if (strcmp(unit->wheels[w].sensor, sensor) != 0)
                continue;
            if (count < capacity)
                places[count] = (wh_roster_place){unit, &unit->wheels[w]};
            count++;
        }
    }
    return count;
}
