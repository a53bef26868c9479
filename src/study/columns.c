#include "columns.h"

#include "bits.h"

#include <math.h>
#include <string.h>

#define NUMBER_BITS_MOST 16
#define COUNTER_SHARE    0.8  /* of the steps must be the same */
#define RANDOM_FROM      0.35 /* share of changes: a coin's is 0.5 */

const char *wh_column_kind_name(wh_column_kind kind)
{
    static const char *const names[WH_COLUMN_KIND_COUNT] = {"constant", "per sensor", "slow",
                                                            "counter",  "random",     "check"};
    return (unsigned)kind < WH_COLUMN_KIND_COUNT ? names[kind] : "unknown";
}

/* Calls for each frame and the next one of the same sensor in the same recording. */
typedef void (*pair_fn)(void *context, const wh_field_row *before, const wh_field_row *after);

static void each_pair(const wh_field_rows *rows, pair_fn visit, void *context)
{
    for (size_t i = 0; i < rows->count; i++)
        for (size_t k = i + 1; k < rows->count && rows->row[k].recording == rows->row[i].recording; k++)
            if (rows->row[k].sensor == rows->row[i].sensor) {
                visit(context, &rows->row[i], &rows->row[k]);
                break;
            }
}

static void count_changes(void *context, const wh_field_row *before, const wh_field_row *after)
{
    wh_columns *out = context;
    for (unsigned c = 0; c < out->count; c++) {
        out->column[c].pairs++;
        out->column[c].changes += wh_bit_get(before->bits.data, c) != wh_bit_get(after->bits.data, c);
    }
}

/* 0: constant, 1: constant within each sensor, 2: neither. */
static unsigned variation(const wh_field_rows *rows, unsigned c)
{
    unsigned level = 0;
    unsigned first[WH_FRAME_BITS_MAX]; /* more sensors than columns are not told apart */
    bool seen[WH_FRAME_BITS_MAX] = {false};
    const unsigned any = rows->count ? wh_bit_get(rows->row[0].bits.data, c) : 0;
    for (size_t i = 0; i < rows->count; i++) {
        const unsigned bit = wh_bit_get(rows->row[i].bits.data, c), sensor = rows->row[i].sensor % WH_FRAME_BITS_MAX;
        if (bit != any)
            level = level < 1 ? 1 : level;
        if (seen[sensor] && first[sensor] != bit)
            return 2;
        seen[sensor] = true;
        first[sensor] = bit;
    }
    return level;
}

static void first_look(const wh_field_rows *rows, const wh_check_search *checks, wh_columns *out)
{
    each_pair(rows, count_changes, out);
    for (unsigned c = 0; c < out->count; c++) {
        wh_column *column = &out->column[c];
        const unsigned level = variation(rows, c);
        column->kind = level == 0 ? WH_COLUMN_CONSTANT : level == 1 ? WH_COLUMN_SENSOR : WH_COLUMN_RANDOM;
        if (level ==
            0) /* a bit of an ID is alike in all sensors with 2^(1 - sensors); a constant always. Even before. */
            column->probability = 1.0 / (1.0 + exp2(1.0 - (out->sensors ? out->sensors : 1)));
        else if (level == 1) /* rule of succession: it never changed in so many pairs */
            column->probability = (column->pairs + 1.0) / (column->pairs + 2.0);
        else
            column->probability = 0.5;
    }
    for (unsigned i = 0; i < checks->count; i++) {
        const wh_check_found *found = &checks->found[i];
        wh_frame_bits marks = {.count = out->count};
        wh_places_write(&marks, &found->check.at, false, false, ~(uint64_t)0);
        if (found->bytes_turned)
            wh_frame_turn_bytes(&marks, found->phase);
        for (unsigned c = 0; c < out->count; c++)
            if (wh_bit_get(marks.data, c)) {
                out->column[c].kind = WH_COLUMN_CHECK;
                out->column[c].probability = 1.0 / (1.0 + found->chance);
            }
    }
}

/* A candidate number over all pairs. */
typedef struct motion {
    unsigned at, bits;
    bool low_bit_first;
    uint32_t step[4]; /* the steps met, the first four kinds */
    unsigned times[4], kinds, pairs, moved;
    double sum_log, sum;
} motion;

static void measure_motion(void *context, const wh_field_row *before, const wh_field_row *after)
{
    motion *m = context;
    const uint32_t mask = (uint32_t)wh_bits_mask(m->bits);
    const uint32_t step = (wh_field_row_value(after, m->at, m->bits, m->low_bit_first, false) -
                           wh_field_row_value(before, m->at, m->bits, m->low_bit_first, false)) &
                          mask;
    const double size = fmin(step, (double)mask + 1.0 - step); /* the shorter way round */
    m->pairs++;
    m->moved += step != 0;
    m->sum += size;
    m->sum_log += log2(1.0 + size);
    for (unsigned i = 0; i < 4; i++) {
        if (i == m->kinds) {
            m->step[m->kinds++] = step;
            m->times[i] = 1;
            return;
        }
        if (m->step[i] == step) {
            m->times[i]++;
            return;
        }
    }
}

static motion motion_of(const wh_field_rows *rows, unsigned at, unsigned bits, bool low_bit_first)
{
    motion m = {.at = at, .bits = bits, .low_bit_first = low_bit_first};
    each_pair(rows, measure_motion, &m);
    return m;
}

/* The step that most pairs have, when it is small and not zero. */
static uint32_t counter_step(const motion *m)
{
    for (unsigned i = 0; i < m->kinds; i++)
        if (m->step[i] > 0 && m->step[i] <= 4 && m->times[i] >= COUNTER_SHARE * m->pairs && m->pairs >= 4)
            return m->step[i];
    return 0;
}

static bool free_column(const wh_columns *out, unsigned c)
{
    return c < out->count && out->column[c].kind == WH_COLUMN_RANDOM; /* varies, and not yet explained */
}

static void add_number(wh_columns *out, const wh_number_place *number)
{
    if (out->number_count == WH_NUMBERS_MAX)
        return;
    unsigned at = out->number_count++;
    for (; at > 0 && out->number[at - 1].at > number->at; at--)
        out->number[at] = out->number[at - 1];
    out->number[at] = *number;
    for (unsigned c = number->at; c < number->at + number->bits; c++) {
        wh_column *column = &out->column[c];
        if (column->kind == WH_COLUMN_RANDOM) {
            column->kind = number->counter ? WH_COLUMN_COUNTER : WH_COLUMN_SLOW;
            column->probability = number->probability;
        }
    }
}

/* The longest run that counts, from its lowest bit on. */
static void find_counters(const wh_field_rows *rows, wh_columns *out)
{
    for (unsigned low = 0; low < out->count; low++)
        for (int reversed = 0; reversed < 2 && free_column(out, low); reversed++) {
            unsigned best = 0;
            uint32_t step = 0;
            for (unsigned bits = 2; bits <= NUMBER_BITS_MOST; bits++) {
                const unsigned last = reversed ? low + bits - 1 : low + 1 - bits;
                if ((!reversed && bits > low + 1) || last >= out->count)
                    break;
                const unsigned at = reversed ? low : last;
                if (out->column[last].kind == WH_COLUMN_CHECK)
                    break;
                const motion m = motion_of(rows, at, bits, reversed);
                const uint32_t here = counter_step(&m);
                if (here && free_column(out, last)) {
                    best = bits;
                    step = here;
                }
            }
            if (best < 2)
                continue;
            const wh_number_place number = {.at = reversed ? low : low + 1 - best,
                                            .bits = best,
                                            .low_bit_first = reversed,
                                            .counter = true,
                                            .step = step,
                                            .probability = 0.95};
            add_number(out, &number);
        }
}

static double change_rate(const wh_columns *out, unsigned c)
{
    return out->column[c].pairs ? (double)out->column[c].changes / out->column[c].pairs : 0.0;
}

/* Of what varies by itself, from `from` on: where the number ends whose bits change more and more often towards its lowest.
 * Within a number the rate may stand still; a fall by more than a half of it begins the next one. */
static unsigned end_of_number(const wh_columns *out, unsigned from)
{
    unsigned end = from + 1;
    double most = change_rate(out, from);
    while (free_column(out, end) && end - from < NUMBER_BITS_MOST) {
        const double rate = change_rate(out, end);
        if (rate < 0.5 * most)
            break;
        most = fmax(most, rate);
        end++;
    }
    return end;
}

/* How much less a number moves than one made of random bits would: bits per pair (of random numbers of b bits the shorter way
 * round has a mean log2(1 + size) of about b - 2.4). */
static double calm(const motion *m, unsigned varying)
{
    return m->pairs ? varying - 2.4 - m->sum_log / m->pairs : 0.0;
}

static void find_slow(const wh_field_rows *rows, unsigned grid, wh_columns *out)
{
    for (unsigned from = 0; from < out->count; from++) {
        if (!free_column(out, from))
            continue;
        const unsigned end = end_of_number(out, from);
        /* High bits that did not change stand before it; on to the start of the byte, as far as nothing else claims them. */
        unsigned at = from;
        while (at % 8 != grid && at > 0 && end - at < NUMBER_BITS_MOST && out->column[at - 1].kind <= WH_COLUMN_SENSOR)
            at--;
        const motion m = motion_of(rows, at, end - at, false);
        const bool single = end - from == 1;
        const double calmness = calm(&m, end - from);
        const bool slow = m.pairs >= 2 && (single ? change_rate(out, from) < RANDOM_FROM
                                                  : calmness * m.pairs > 0.0 || change_rate(out, from) < RANDOM_FROM);
        if (!slow) {
            from = end - 1;
            continue;
        }
        const wh_number_place number = {.at = at,
                                        .bits = end - at,
                                        .step = m.pairs ? m.sum / m.pairs : 0.0,
                                        .probability =
                                            single ? 0.6 : 1.0 / (1.0 + exp2(-fmax(0.0, calmness) * m.pairs))};
        add_number(out, &number);
        from = end - 1;
    }
}

void wh_columns_classify(const wh_field_rows *rows, unsigned sensors, const wh_check_search *checks, unsigned grid,
                         wh_columns *out)
{
    memset(out, 0, sizeof *out);
    out->count = rows->columns;
    out->sensors = sensors;
    first_look(rows, checks, out);
    find_counters(rows, out);
    find_slow(rows, grid, out);
    for (unsigned c = 0; c < out->count; c++)
        if (out->column[c].kind == WH_COLUMN_RANDOM) {
            const double share = change_rate(out, c);
            out->column[c].probability = share >= RANDOM_FROM ? 0.8 : 0.5;
        }
}
