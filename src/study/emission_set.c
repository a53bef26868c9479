#include "emission_set.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define EMISSIONS_MAX 8192
#define END_REACH                                                                                                      \
    40 /* chips around the demodulator's ends in which the real ones are looked for: its smoothing and some */
#define STRONG_DB 11.0 /* exp(-SNR/2)/2 wrong chips of noncoherent keying: 0.1 % */

void wh_study_emission_free(wh_study_emission *emission)
{
    free(emission->llr);
    free(emission->on);
    emission->llr = emission->on = NULL;
}

void wh_emission_set_free(wh_emission_set *set)
{
    for (size_t i = 0; i < set->count; i++)
        wh_study_emission_free(&set->items[i]);
    free(set->items);
    *set = (wh_emission_set){0};
}

static bool reserve(wh_emission_set *set, size_t more)
{
    if (set->count + more <= set->capacity)
        return true;
    const size_t capacity = 2 * (set->count + more) + 64;
    wh_study_emission *larger = realloc(set->items, capacity * sizeof *larger);
    if (!larger) {
        set->failed = true;
        return false;
    }
    set->items = larger;
    set->capacity = capacity;
    return true;
}

static bool make(wh_emission_set *set, size_t count, wh_study_emission *e)
{
    e->count = count;
    e->llr = malloc((count + 1) * sizeof *e->llr);
    e->on = malloc((count + 1) * sizeof *e->on);
    if (e->llr && e->on)
        return true;
    wh_study_emission_free(e);
    set->failed = true;
    return false;
}

/* How much more than half on a chip is, by energy: positive while a carrier is sent. */
static float on_score(const wh_chips *c, size_t k)
{
    const float one = wh_magnitude(c->value[1][k]), zero = c->keyed ? 0.0f : wh_magnitude(c->value[0][k]);
    const float level = fmaxf(one, zero) / c->amplitude;
    const float energy = fminf(level * level, 1.0f);
    return energy - (c->keyed ? 0.12f : 0.3f);
}

/* The ends that explain the energy best: sums of the score from outside in are lowest just before the first chip. Looked for in
 * [from, from + reach) and (to - reach, to]. */
static void draw_ends(wh_study_emission *e, size_t from, size_t to, size_t reach)
{
    const size_t middle = (from + to) / 2;
    float sum = 0.0f, lowest = 0.0f;
    e->begin = from;
    for (size_t k = from; k < middle && k < from + reach; k++) {
        sum += e->on[k];
        if (sum < lowest) {
            lowest = sum;
            e->begin = k + 1;
        }
    }
    sum = lowest = 0.0f;
    e->end = to;
    for (size_t k = to; k > middle && k + reach > to; k--) {
        sum += e->on[k - 1];
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

static bool overlaps(const wh_study_emission *a, const wh_study_emission *b)
{
    const double a_end = a->begin_s + a->chip_s * (double)(a->end - a->begin),
                 b_end = b->begin_s + b->chip_s * (double)(b->end - b->begin);
    return a->begin_s < b_end && b->begin_s < a_end;
}

static void take(void *context, const wh_chips *chips)
{
    taking *t = context;
    wh_emission_set *set = t->set;
    if (set->failed || set->count >= EMISSIONS_MAX || chips->count < 8 || !(chips->amplitude > 0.0f) ||
        !reserve(set, 1))
        return;
    wh_study_emission e = {
        .burst = t->index,
        .keyed = chips->keyed,
        .chip_s = chips->chip_s,
        .carrier_hz = chips->carrier_hz,
        .deviation_hz = chips->deviation_hz,
        .snr_db = chips->snr_db,
        .strong = chips->snr_db >= STRONG_DB,
    };
    if (!make(set, chips->count, &e))
        return;
    memcpy(e.llr, chips->llr, chips->count * sizeof *e.llr);
    for (size_t k = 0; k < chips->count; k++)
        e.on[k] = on_score(chips, k);
    const size_t from = chips->first > END_REACH ? chips->first - END_REACH : 0;
    const size_t to = chips->last + END_REACH < chips->count ? chips->last + END_REACH : chips->count;
    draw_ends(&e, from, to, 2 * END_REACH);
    e.begin_s = t->burst->at_s + chips->start_s + chips->chip_s * (double)e.begin;
    bool keep = e.end >= e.begin + 8;
    for (size_t i = t->first; i < set->count && keep; i++)
        keep = !overlaps(&set->items[i], &e);
    if (keep)
        set->items[set->count++] = e;
    else
        wh_study_emission_free(&e);
}

void wh_emission_set_cut(wh_emission_set *set, size_t index, size_t period)
{
    /* Behind the last copy there is no pause. */
    const size_t length = set->items[index].end - set->items[index].begin, copies = (length + period / 2) / period;
    if (copies < 2 || !reserve(set, copies))
        return;
    const wh_study_emission whole = set->items[index];
    for (size_t c = 0; c < copies; c++) {
        wh_study_emission piece = whole;
        if (c + 1 < copies && !make(set, whole.count, &piece))
            return;
        if (c + 1 < copies) {
            memcpy(piece.llr, whole.llr, whole.count * sizeof *piece.llr);
            memcpy(piece.on, whole.on, whole.count * sizeof *piece.on);
        }
        const size_t to = whole.end - c * period;
        const size_t from = c + 1 < copies && to > whole.begin + period ? to - period : whole.begin;
        draw_ends(&piece, from, to, period / 3);
        piece.begin_s = whole.begin_s + whole.chip_s * ((double)piece.begin - (double)whole.begin);
        set->items[c + 1 < copies ? set->count++ : index] = piece;
    }
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
