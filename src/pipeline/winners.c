#include "winners.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SIDE_LOBES 2.0
#define SURE       0.9

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

/* Where a candidate is on the air: one place, or one for each merged copy. */
static size_t spans_of(const wh_candidate *candidate, const wh_air_span **spans, wh_air_span *single)
{
    if (candidate->merged > 0) {
        *spans = candidate->span;
        return candidate->merged < WH_SPANS_MAX ? candidate->merged : WH_SPANS_MAX;
    }
    *single = (wh_air_span){candidate->start_s, candidate->end_s};
    *spans = single;
    return 1;
}

/* Largest share of any span of either that the other covers. */
static double overlap_share(const wh_candidate *a, const wh_candidate *b)
{
    wh_air_span one, other;
    const wh_air_span *x, *y;
    const size_t x_count = spans_of(a, &x, &one), y_count = spans_of(b, &y, &other);
    double most = 0.0;
    for (size_t i = 0; i < x_count; i++) {
        for (size_t j = 0; j < y_count; j++) {
            const double overlap = fmin(x[i].end_s, y[j].end_s) - fmax(x[i].start_s, y[j].start_s);
            const double shorter = fmin(x[i].end_s - x[i].start_s, y[j].end_s - y[j].start_s);
            most = shorter > 0.0 ? fmax(most, overlap / shorter) : most;
        }
    }
    return most;
}

/* How far apart in the band two carriers can be while the frames stand for one emission. Of two kinds of radio: one tone of a pair read
 * as on-off keying lies a deviation off; keying has side lobes at one and a half chip rates. Pairs of tones equally far apart can
 * only be read beside themselves by side lobes of both. */
static double confusion_hz(const wh_radio *x, const wh_radio *y)
{
    const double lobes = SIDE_LOBES * fmax(x->chip_rate_hz, y->chip_rate_hz);
    const bool pairs = x->modulation == WH_MOD_FSK && y->modulation == WH_MOD_FSK;
    const bool equal = fabs(x->deviation_hz - y->deviation_hz) < 0.5 * lobes;
    return pairs && equal ? lobes : x->deviation_hz + y->deviation_hz + lobes;
}

bool wh_candidates_clash(const wh_candidate *a, const wh_candidate *b)
{
    const double overlap = overlap_share(a, b);
    if (overlap < 0.1)
        return false;
    /* The very same bits at the same time are the same frame, heard again in a side lobe. */
    if (wh_candidates_same_frame(a, b) && overlap > 0.5)
        return true;
    /* What shows beneath a transmission once that is taken out of the samples is not that one read wrongly, when both are sure. */
    if (a->beneath != b->beneath && fmin(a->confidence, b->confidence) >= SURE)
        return false;
    return fabs(a->carrier_hz - b->carrier_hz) < confusion_hz(&a->descriptor->radio, &b->descriptor->radio);
}

int wh_candidate_compare(const wh_candidate *a, const wh_candidate *b)
{
    /* In steps of a thousandth: what is beyond says nothing about which of two is right. */
    const double x = floor(a->confidence * 1000.0), y = floor(b->confidence * 1000.0);
    if (x != y)
        return x > y ? -1 : 1;
    if (a->snr_db != b->snr_db) /* the same burst received with its tones better met */
        return a->snr_db > b->snr_db ? -1 : 1;
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
