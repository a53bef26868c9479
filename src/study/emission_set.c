#include "emission_set.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define EMISSIONS_MAX 8192
#define END_REACH                                                                                                      \
    40 /* chips around the demodulator's ends in which the real ones are looked for: its smoothing and some */
#define STRONG_DB 11.0 /* exp(-SNR/2)/2 wrong chips of noncoherent keying: 0.1 % */

void wh_emission_set_free(wh_emission_set *set)
{
    for (size_t i = 0; i < set->count; i++)
        wh_chips_free(&set->items[i].chips);
    free(set->items);
    *set = (wh_emission_set){0};
}

static bool copy_chips(const wh_chips *from, wh_chips *to)
{
    *to = (wh_chips){0};
    if (!wh_chips_reserve(to, from->count))
        return false;
    wh_chips copy = *from;
    copy.capacity = to->capacity;
    copy.llr = to->llr;
    copy.value[0] = to->value[0];
    copy.value[1] = to->value[1];
    memcpy(copy.llr, from->llr, from->count * sizeof *copy.llr);
    memcpy(copy.value[0], from->value[0], from->count * sizeof *copy.value[0]);
    memcpy(copy.value[1], from->value[1], from->count * sizeof *copy.value[1]);
    *to = copy;
    return true;
}

/* How much more than half on a chip is, by energy: positive while a carrier is sent. */
static float on_score(const wh_chips *c, size_t k)
{
    const float one = wh_magnitude(c->value[1][k]), zero = wh_magnitude(c->value[0][k]);
    const float level = fmaxf(one, zero) / c->amplitude;
    const float energy = fminf(level * level, 1.0f);
    return energy - (c->keyed ? 0.12f : 0.3f);
}

/* The ends that explain the energy best: sums of the score from outside in are lowest just before the first chip. */
static void draw_ends(wh_study_emission *e)
{
    const wh_chips *c = &e->chips;
    const size_t from = c->first > END_REACH ? c->first - END_REACH : 0;
    const size_t middle = (c->first + c->last) / 2;
    float sum = 0.0f, lowest = 0.0f;
    e->begin = from;
    for (size_t k = from; k < middle && k < c->first + END_REACH; k++) {
        sum += on_score(c, k);
        if (sum < lowest) {
            lowest = sum;
            e->begin = k + 1;
        }
    }
    const size_t to = c->last + END_REACH < c->count ? c->last + END_REACH : c->count;
    sum = lowest = 0.0f;
    e->end = to;
    for (size_t k = to; k > middle && k + END_REACH > c->last; k--) {
        sum += on_score(c, k - 1);
        if (sum < lowest) {
            lowest = sum;
            e->end = k - 1;
        }
    }
}

typedef struct taking {
    wh_emission_set *set;
    const wh_study_burst *burst;
    size_t index, first;
} taking;

static bool overlaps(const wh_study_emission *a, double from, double to)
{
    const double length = a->chips.chip_s * (double)(a->end - a->begin);
    return a->begin_s < to && from < a->begin_s + length;
}

static void take(void *context, const wh_chips *chips)
{
    taking *t = context;
    wh_emission_set *set = t->set;
    if (set->failed || set->count >= EMISSIONS_MAX)
        return;
    if (set->count == set->capacity) {
        const size_t capacity = set->capacity ? 2 * set->capacity : 64;
        wh_study_emission *larger = realloc(set->items, capacity * sizeof *larger);
        if (!larger) {
            set->failed = true;
            return;
        }
        set->items = larger;
        set->capacity = capacity;
    }
    wh_study_emission e = {.burst = t->index};
    if (!copy_chips(chips, &e.chips)) {
        wh_chips_free(&e.chips);
        set->failed = true;
        return;
    }
    draw_ends(&e);
    e.begin_s = t->burst->at_s + chips->start_s + chips->chip_s * (double)e.begin;
    e.strong = chips->snr_db >= STRONG_DB;
    bool keep = e.end >= e.begin + 8;
    for (size_t i = t->first; i < set->count && keep; i++)
        keep = !overlaps(&set->items[i], e.begin_s, e.begin_s + chips->chip_s * (double)(e.end - e.begin));
    if (keep)
        set->items[set->count++] = e;
    else
        wh_chips_free(&e.chips);
}

void wh_emission_set_add(wh_emission_set *set, wh_demod *demod, const wh_study_burst *burst, size_t index,
                         const wh_radio *radio, const wh_demod_limits *limits)
{
    taking t = {set, burst, index, set->count};
    const wh_baseband baseband = wh_study_baseband(burst);
    if (wh_demod_load(demod, &baseband) != WH_DEMOD_OK)
        return;
    if (wh_demod_run(demod, radio, limits, take, &t) == WH_DEMOD_NO_MEMORY)
        set->failed = true;
}
