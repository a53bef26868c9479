#include "winners.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SIDE_LOBES 2.0

void wh_candidate_list_add(wh_candidate_list *list, const wh_candidate *candidate)
{
    if (list->count == list->capacity) {
        const size_t more = list->capacity ? 2 * list->capacity : 16;
        wh_candidate *items = realloc(list->items, more * sizeof *items);
        if (!items) {
            list->failed = true;
            return;
        }
        list->items = items;
        list->capacity = more;
    }
    list->items[list->count++] = *candidate;
}

void wh_candidate_list_free(wh_candidate_list *list)
{
    free(list->items);
    *list = (wh_candidate_list){0};
}

bool wh_candidates_same_frame(const wh_candidate *a, const wh_candidate *b)
{
    return a->descriptor == b->descriptor && a->frame.count == b->frame.count &&
           memcmp(a->frame.data, b->frame.data, sizeof a->frame.data) == 0;
}

bool wh_candidates_clash(const wh_candidate *a, const wh_candidate *b)
{
    const double overlap = fmin(a->end_s, b->end_s) - fmax(a->start_s, b->start_s);
    const double shorter = fmin(a->end_s - a->start_s, b->end_s - b->start_s);
    if (overlap < 0.1 * shorter)
        return false;
    /* The very same bits at the same time are the same frame, heard again in a side lobe. */
    if (wh_candidates_same_frame(a, b) && overlap > 0.5 * shorter)
        return true;
    const wh_radio *x = &a->descriptor->radio, *y = &b->descriptor->radio;
    /* One tone of a pair read as on-off keying lies a deviation off; keying has side lobes at one and a half chip rates. */
    const double reach = x->deviation_hz + y->deviation_hz + SIDE_LOBES * fmax(x->chip_rate_hz, y->chip_rate_hz);
    return fabs(a->carrier_hz - b->carrier_hz) < reach;
}

int wh_candidate_compare(const wh_candidate *a, const wh_candidate *b)
{
    if (a->confidence != b->confidence)
        return a->confidence > b->confidence ? -1 : 1;
    const int name = strcmp(a->descriptor->name, b->descriptor->name);
    if (name)
        return name;
    if (a->start_s != b->start_s)
        return a->start_s < b->start_s ? -1 : 1;
    return memcmp(a->frame.data, b->frame.data, sizeof a->frame.data);
}

static int by_preference(const void *a, const void *b)
{
    return wh_candidate_compare(a, b);
}

static int by_time(const void *a, const void *b)
{
    const wh_candidate *x = a, *y = b;
    if (x->start_s != y->start_s)
        return x->start_s < y->start_s ? -1 : 1;
    return wh_candidate_compare(x, y);
}

size_t wh_candidate_list_winners(wh_candidate_list *list, wh_candidate *winners, size_t room)
{
    if (list->count == 0)
        return 0;
    qsort(list->items, list->count, sizeof *list->items, by_preference);
    size_t count = 0;
    for (size_t i = 0; i < list->count && count < room; i++) {
        bool free_place = true;
        for (size_t j = 0; j < count && free_place; j++)
            free_place = !wh_candidates_clash(&list->items[i], &winners[j]);
        if (free_place)
            winners[count++] = list->items[i];
    }
    qsort(winners, count, sizeof *winners, by_time);
    return count;
}
