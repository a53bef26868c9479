#include "winners.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SIDE_LOBES 2.0
#define SURE       0.9
#define OVERLAP    0.1 /* edges are known to a few chips of some hundred */

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

/* Of the shorter of two spans, the share that the other covers. */
static double covered_share(const wh_air_span *x, const wh_air_span *y)
{
    const double overlap = fmin(x->end_s, y->end_s) - fmax(x->start_s, y->start_s);
    const double shorter = fmin(x->end_s - x->start_s, y->end_s - y->start_s);
    return shorter > 0.0 ? fmax(0.0, overlap / shorter) : 0.0;
}

struct overlap {
    double most;     /* largest share of any pair of spans */
    bool free_of[2]; /* of the merged copies of the first (second) most lie where the other has none */
};

/* How many of the spans x are claimed by any of y; *most: largest share so far. */
static size_t claimed(const wh_air_span *x, size_t x_count, const wh_air_span *y, size_t y_count, double *most)
{
    size_t count = 0;
    for (size_t i = 0; i < x_count; i++) {
        double covered = 0.0;
        for (size_t j = 0; j < y_count; j++)
            covered = fmax(covered, covered_share(&x[i], &y[j]));
        *most = fmax(*most, covered);
        count += covered >= OVERLAP;
    }
    return count;
}

static struct overlap overlap_of(const wh_candidate *a, const wh_candidate *b)
{
    wh_air_span one, other;
    const wh_air_span *x, *y;
    const size_t x_count = spans_of(a, &x, &one), y_count = spans_of(b, &y, &other);
    struct overlap overlap = {0.0, {false, false}};
    overlap.free_of[0] = x_count > 2 * claimed(x, x_count, y, y_count, &overlap.most);
    overlap.free_of[1] = y_count > 2 * claimed(y, y_count, x, x_count, &overlap.most);
    return overlap;
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
    const struct overlap overlap = overlap_of(a, b);
    if (overlap.most < OVERLAP)
        return false;
    /* The very same bits at the same time are the same frame, heard again in a side lobe. */
    if (wh_candidates_same_frame(a, b) && overlap.most > 0.5)
        return true;
    /* When both are sure: what shows beneath a transmission once that is taken out of the samples is not that one read wrongly, and
     * copies merged from places most of which the other does not claim are not made of it. */
    if (fmin(a->confidence, b->confidence) >= SURE &&
        (a->beneath != b->beneath || overlap.free_of[0] || overlap.free_of[1]))
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
