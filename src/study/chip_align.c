#include "chip_align.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define ALIGN_CHIPS_MAX 4096
/* A chip that differs undoes so many that agree. Payloads of pulse-width codes agree by five parts in six wherever their pulses
 * coincide, and must not add up; chips are wrong once in 30 at worst. */
#define DISAGREE      8
#define APART         3 /* and so much counts that two do not begin together: strong ones rarely lose their first chips */
#define MATCH_LEAST   20 /* chips in common that are no chance: a lag has 1e-6 of it, and some hundred lags are tried */
#define START_SPOILT  8  /* first chips that a transmitter's start may spoil */
#define ELSEWHERE     8  /* a stretch in common elsewhere counts so much less */
#define START_REACH   200 /* chips that may be missing from a preamble, or be more */
#define END_REACH_LAG 40
#define DOUBT         2.0f /* |llr| below which a chip has no say */
#define REPEAT_LEAST  40   /* chips; shorter repeats are preambles and runs of equal bits */
/* Of the emissions so many must differ in a column, and two at least: fewer are reception errors. */
#define VARIES_SHARE 0.04

/* Signs of an emission's chips: 1, -1, 0 in doubt. Returns how many. */
static size_t signs_of(const wh_study_emission *e, signed char *sign)
{
    size_t count = e->end - e->begin;
    count = count < ALIGN_CHIPS_MAX ? count : ALIGN_CHIPS_MAX;
    for (size_t i = 0; i < count; i++) {
        const float llr = e->llr[e->begin + i];
        sign[i] = (signed char)(llr > DOUBT ? 1 : llr < -DOUBT ? -1 : 0);
    }
    return count;
}

/* Runs of agreement between a[i + lag] and b[i]: the best one that begins where the later of the two does, and the best anywhere. */
typedef struct runs {
    int from_start, anywhere;
} runs;

static runs best_runs(const signed char *a, long a_count, const signed char *b, long b_count, long lag)
{
    runs best = {0, 0};
    const long from = lag < 0 ? -lag : 0;
    int here = 0, prefix = 0;
    for (long i = from; i < b_count && i + lag < a_count; i++) {
        const int product = a[i + lag] * b[i], step = product > 0 ? 1 : product < 0 ? -DISAGREE : 0;
        prefix += step;
        if (prefix < 0 && i - from < START_SPOILT)
            prefix = 0;
        best.from_start = prefix > best.from_start ? prefix : best.from_start;
        here = here + step > 0 ? here + step : 0;
        best.anywhere = here > best.anywhere ? here : best.anywhere;
    }
    return best;
}

/* What the beginnings have in common counts before all else: frames may have longer stretches in common behind a bit that differs,
 * and with words of unequal length at another lag. */
static void try_lag(const signed char *a, long a_count, const signed char *b, long b_count, long trial, int *best,
                    long *lag)
{
    const runs run = best_runs(a, a_count, b, b_count, trial);
    const int begin = run.from_start - (trial ? APART : 0), elsewhere = run.anywhere / ELSEWHERE;
    const int score = begin > elsewhere ? begin : elsewhere;
    if (score > *best) {
        *best = score;
        *lag = trial;
    }
}

/* Lag at which `b` fits `a` best: of those where both begin about together (a start may be lost), or end together. Ties go to the
 * nearest beginning. */
static int best_lag(const signed char *a, long a_count, const signed char *b, long b_count, long *lag)
{
    int best = 0;
    *lag = 0;
    for (long distance = 0; distance <= START_REACH; distance++) {
        try_lag(a, a_count, b, b_count, distance, &best, lag);
        if (distance > 0)
            try_lag(a, a_count, b, b_count, -distance, &best, lag);
    }
    const long together = a_count - b_count;
    for (long trial = together - END_REACH_LAG; trial <= together + END_REACH_LAG; trial++)
        if (labs(trial) > START_REACH)
            try_lag(a, a_count, b, b_count, trial, &best, lag);
    return best;
}

static int by_length(const void *a, const void *b)
{
    const size_t x = *(const size_t *)a, y = *(const size_t *)b;
    return (x > y) - (x < y);
}

/* The loudest of the emissions of usual length: its chips are right. */
static size_t choose_reference(const wh_emission_set *set, const bool *out, bool *any)
{
    size_t *length = malloc((set->count + 1) * sizeof *length), count = 0, chosen = 0;
    *any = false;
    if (!length)
        return 0;
    for (size_t i = 0; i < set->count; i++)
        if (!out[i] && set->items[i].strong)
            length[count++] = set->items[i].end - set->items[i].begin;
    if (count == 0) {
        free(length);
        return 0;
    }
    qsort(length, count, sizeof *length, by_length);
    const size_t usual = length[count / 2];
    free(length);
    for (size_t i = 0; i < set->count; i++) {
        const wh_study_emission *e = &set->items[i];
        const size_t own = e->end - e->begin;
        if (out[i] || !e->strong || own * 10 < usual * 9 || own * 10 > usual * 11)
            continue;
        if (!*any || e->snr_db > set->items[chosen].snr_db)
            chosen = i;
        *any = true;
    }
    return chosen;
}

/* Lay all over the reference. */
static size_t align_to(wh_emission_set *set, size_t reference, signed char *a, signed char *b)
{
    const long a_count = (long)signs_of(&set->items[reference], a);
    size_t aligned = 0;
    for (size_t i = 0; i < set->count; i++) {
        wh_study_emission *e = &set->items[i];
        const long b_count = (long)signs_of(e, b);
        long lag = 0;
        const int score = i == reference ? MATCH_LEAST : best_lag(a, a_count, b, b_count, &lag);
        e->aligned = score >= MATCH_LEAST;
        e->column0 = lag - (long)e->begin;
        aligned += e->aligned;
    }
    return aligned;
}

/* Emissions that contradict what the others have in common at the beginning are of another kind. */
static size_t sort_out(wh_emission_set *set)
{
    wh_columns columns;
    if (!wh_columns_make(set, &columns))
        return 0;
    size_t left = 0;
    for (size_t i = 0; i < set->count; i++) {
        wh_study_emission *e = &set->items[i];
        int with = 0, against = 0;
        for (long c = columns.begin; c < columns.vary; c++) {
            const float llr = wh_emission_at(e, c);
            const int common = wh_columns_common(&columns, c);
            if (common == 0 || fabsf(llr) < DOUBT)
                continue;
            with += (llr > 0.0f) == (common > 0);
            against += (llr > 0.0f) != (common > 0);
        }
        e->aligned = e->aligned && with >= 8 && against * 8 <= with;
        left += e->aligned;
    }
    wh_columns_free(&columns);
    return left;
}

size_t wh_align_emissions(wh_emission_set *set)
{
    signed char *a = malloc(2 * ALIGN_CHIPS_MAX), *b = a ? a + ALIGN_CHIPS_MAX : NULL;
    bool *out = calloc(set->count + 1, sizeof *out);
    size_t aligned = 0;
    for (int attempt = 0; a && out && attempt < 4; attempt++) {
        bool any;
        const size_t reference = choose_reference(set, out, &any);
        if (!any)
            break;
        aligned = align_to(set, reference, a, b);
        aligned = aligned >= 2 ? sort_out(set) : 0;
        if (aligned >= 2 && set->items[reference].aligned)
            break;
        aligned = 0; /* a stray was taken as the reference */
        out[reference] = true;
    }
    if (aligned == 0)
        for (size_t i = 0; i < set->count; i++)
            set->items[i].aligned = false;
    free(a);
    free(out);
    return aligned;
}

/* Only strong emissions have a say, unless there are too few. */
static bool counts(const wh_study_emission *e, bool strong_only)
{
    return e->aligned && (e->strong || !strong_only);
}

/* So many emissions may differ from the others in a column by reception errors: one of four and more. */
static double errors_allowed(const wh_columns *columns)
{
    return columns->emissions < 4 ? 0.5 : fmax(1.5, VARIES_SHARE * (double)columns->emissions);
}

static void find_marks(wh_columns *columns)
{
    const size_t emissions = columns->emissions;
    size_t i = 0;
    while (i < columns->count && columns->heard[i] * 2 < emissions)
        i++;
    columns->begin = columns->first + (long)i;
    const double most = errors_allowed(columns);
    for (; i < columns->count; i++) {
        const double minority = 0.5 * (1.0 - fabs((double)columns->mean[i])) * columns->heard[i];
        if (columns->heard[i] * 2 < emissions || minority > most)
            break;
    }
    columns->vary = columns->first + (long)i;
    while (i < columns->count && columns->heard[i] * 2 >= emissions)
        i++;
    columns->end = columns->first + (long)i;
}

bool wh_columns_make(const wh_emission_set *set, wh_columns *columns)
{
    *columns = (wh_columns){0};
    long first = 0, end = 0;
    size_t strong = 0;
    for (size_t i = 0; i < set->count; i++)
        strong += set->items[i].aligned && set->items[i].strong;
    for (size_t i = 0; i < set->count; i++) {
        const wh_study_emission *e = &set->items[i];
        if (!counts(e, strong >= 2))
            continue;
        const long from = wh_emission_first_column(e), to = wh_emission_end_column(e);
        first = columns->emissions == 0 || from < first ? from : first;
        end = columns->emissions == 0 || to > end ? to : end;
        columns->emissions++;
    }
    columns->first = first;
    columns->count = (size_t)(end - first);
    columns->mean = calloc(columns->count + 1, sizeof *columns->mean);
    columns->heard = calloc(columns->count + 1, sizeof *columns->heard);
    if (!columns->mean || !columns->heard) {
        wh_columns_free(columns);
        return false;
    }
    for (size_t i = 0; i < set->count; i++) {
        const wh_study_emission *e = &set->items[i];
        if (!counts(e, strong >= 2))
            continue;
        for (long c = wh_emission_first_column(e); c < wh_emission_end_column(e); c++) {
            columns->heard[c - first]++;
            columns->mean[c - first] += wh_emission_at(e, c) > 0.0f ? 1.0f : -1.0f;
        }
    }
    for (size_t i = 0; i < columns->count; i++)
        columns->mean[i] /= (float)(columns->heard[i] ? columns->heard[i] : 1);
    find_marks(columns);
    return true;
}

void wh_columns_free(wh_columns *columns)
{
    free(columns->mean);
    free(columns->heard);
    columns->mean = NULL;
    columns->heard = NULL;
}

int wh_columns_common(const wh_columns *columns, long column)
{
    if (column < columns->first || column >= columns->first + (long)columns->count)
        return 0;
    const size_t i = (size_t)(column - columns->first);
    const double minority = 0.5 * (1.0 - fabs((double)columns->mean[i])) * columns->heard[i];
    if (columns->heard[i] == 0 || minority > errors_allowed(columns))
        return 0;
    return columns->mean[i] > 0.0f ? 1 : -1;
}

size_t wh_repeat_of(const wh_study_emission *emission)
{
    signed char sign[ALIGN_CHIPS_MAX];
    const size_t count = signs_of(emission, sign);
    for (size_t lag = REPEAT_LEAST; lag + REPEAT_LEAST <= count; lag++) {
        /* Agreement from the end backwards, for as long as it lasts. */
        size_t agree = 0, differ = 0;
        for (size_t i = count - lag; i-- > 0;) {
            differ += sign[i] * sign[i + lag] < 0;
            if (differ * 30 > agree + 15)
                break;
            agree++;
        }
        if (agree >= REPEAT_LEAST && agree * 10 >= (count - lag) * 7 && agree * 2 >= lag)
            return lag;
    }
    return 0;
}
