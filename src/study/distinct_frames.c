#include "distinct_frames.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SAME_CHIPS  1    /* copies may differ in so many chips by reception errors; frames differ in a check as well */
#define WIDTH_MAX   5000 /* 256 bits of 16 chips, and what stands before and after */
#define STUMP       0.3  /* share of the varying part that may be missing: words of unequal length vary by less */
#define END_SUPPORT 0.15 /* share of the frames that must reach an end before it counts */

static bool is_known(const wh_distinct_frames *frames, const unsigned char *row, long from, long end)
{
    for (size_t f = 0; f < frames->count; f++) {
        const unsigned char *other = frames->chip + f * frames->width;
        unsigned differ = labs(end - frames->end[f]) > 2 ? SAME_CHIPS + 1 : 0;
        const long stop = end < frames->end[f] ? end : frames->end[f];
        for (long c = from; c < stop && differ <= SAME_CHIPS; c++)
            differ += row[c - frames->first] != other[c - frames->first];
        if (differ <= SAME_CHIPS)
            return true;
    }
    return false;
}

static int by_number(const void *a, const void *b)
{
    const long x = *(const long *)a, y = *(const long *)b;
    return (x > y) - (x < y);
}

/* On-off keying hides trailing zeros, so the latest end that enough frames reach is the frame's. Otherwise the usual one. */
static long end_of_most(const wh_distinct_frames *frames)
{
    long sorted[WH_DISTINCT_MAX];
    const size_t n = frames->count;
    memcpy(sorted, frames->end, n * sizeof *sorted);
    qsort(sorted, n, sizeof *sorted, by_number);
    if (frames->keyed) {
        const size_t back = (size_t)ceil(END_SUPPORT * (double)n);
        return sorted[n - (back > 0 ? back : 1)];
    }
    long best = sorted[0];
    size_t most = 0;
    for (size_t i = 0; i < n;) {
        size_t j = i;
        while (j < n && sorted[j] == sorted[i])
            j++;
        if (j - i >= most) {
            most = j - i;
            best = sorted[i];
        }
        i = j;
    }
    return best;
}

/* What breaks off long before the others do was not heard to its end. */
static void drop_stumps(wh_distinct_frames *frames, long vary)
{
    size_t kept = 0;
    for (size_t f = 0; f < frames->count; f++) {
        if ((double)(frames->common_end - frames->end[f]) > STUMP * (double)(frames->common_end - vary))
            continue;
        memmove(frames->chip + kept * frames->width, frames->chip + f * frames->width, frames->width);
        frames->end[kept++] = frames->end[f];
    }
    frames->count = kept;
}

bool wh_distinct_frames_make(const wh_emission_set *set, const wh_columns *columns, wh_distinct_frames *frames)
{
    *frames = (wh_distinct_frames){.first = columns->first};
    frames->width = columns->count < WIDTH_MAX ? columns->count : WIDTH_MAX;
    frames->chip = calloc(WH_DISTINCT_MAX * (frames->width + 1), 1);
    if (!frames->chip)
        return false;
    size_t strong = 0;
    for (size_t i = 0; i < set->count; i++)
        strong += set->items[i].aligned && set->items[i].strong;
    const long limit = frames->first + (long)frames->width;
    for (size_t i = 0; i < set->count && frames->count < WH_DISTINCT_MAX; i++) {
        const wh_study_emission *e = &set->items[i];
        if (!e->aligned || (strong >= 2 && !e->strong) || wh_emission_first_column(e) > columns->vary)
            continue;
        frames->keyed = e->keyed;
        unsigned char *row = frames->chip + frames->count * frames->width;
        memset(row, 0, frames->width);
        const long end = wh_emission_end_column(e) < limit ? wh_emission_end_column(e) : limit;
        for (long c = wh_emission_first_column(e) > frames->first ? wh_emission_first_column(e) : frames->first;
             c < end; c++)
            row[c - frames->first] = wh_emission_at(e, c) > 0.0f;
        /* What begins later than usual lacks chips that all others have in common. */
        for (long c = columns->begin; c < wh_emission_first_column(e) && c < end; c++)
            row[c - frames->first] = wh_columns_common(columns, c) > 0;
        if (!is_known(frames, row, columns->vary, end))
            frames->end[frames->count++] = end;
    }
    if (frames->count > 0)
        frames->common_end = end_of_most(frames);
    if (frames->common_end > columns->vary)
        drop_stumps(frames, columns->vary);
    return true;
}

void wh_distinct_frames_free(wh_distinct_frames *frames)
{
    free(frames->chip);
    frames->chip = NULL;
}
