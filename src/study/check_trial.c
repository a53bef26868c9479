#include "check_trial.h"

#include "bits.h"

#include <math.h>
#include <string.h>

#define PRIME 65521 /* for ranks of numbers: large enough that a rank is hardly ever lost */

static void clear_tail(wh_frame_bits *frame, unsigned columns)
{
    for (unsigned i = columns; i < WH_FRAME_BITS_MAX; i++)
        wh_bit_put(frame->data, i, 0);
    frame->count = columns;
}

static bool alike(const wh_frame_bits *a, const wh_frame_bits *b)
{
    return memcmp(a->data, b->data, sizeof a->data) == 0;
}

static int first_one(const wh_frame_bits *frame, unsigned from, unsigned to)
{
    for (unsigned i = from; i < to; i++)
        if (wh_bit_get(frame->data, i))
            return (int)i;
    return -1;
}

static void add(wh_frame_bits *to, const wh_frame_bits *other)
{
    for (unsigned i = 0; i < sizeof to->data; i++)
        to->data[i] ^= other->data[i];
}

/* Put `row` into the basis, kept in echelon form; nothing is added when it depends on what is there. */
static void insert(wh_frame_bits *basis, unsigned *rank, unsigned columns, wh_frame_bits row)
{
    unsigned at = 0;
    for (int lead = first_one(&row, 0, columns); lead >= 0; lead = first_one(&row, (unsigned)lead, columns)) {
        while (at < *rank && first_one(&basis[at], 0, columns) < lead)
            at++;
        if (at == *rank || first_one(&basis[at], 0, columns) > lead) {
            memmove(basis + at + 1, basis + at, (*rank - at) * sizeof *basis);
            basis[at] = row;
            (*rank)++;
            return;
        }
        add(&row, &basis[at]);
    }
}

static void measure_columns(wh_trial_frames *frames)
{
    frames->first_varying = frames->columns;
    frames->end_varying = 0;
    for (unsigned c = 0; c < frames->columns; c++) {
        uint64_t pattern = 0;
        for (unsigned i = 1; i < frames->count; i++)
            if (wh_bit_get(frames->frame[i].data, c) != wh_bit_get(frames->frame[0].data, c))
                pattern |= (uint64_t)1 << i;
        frames->column[c] = pattern;
        if (pattern) {
            frames->end_varying = c + 1;
            if (frames->first_varying == frames->columns)
                frames->first_varying = c;
        }
    }
}

void wh_trial_frames_make(wh_trial_frames *out, const wh_frame_bits *frames, size_t count, unsigned columns)
{
    memset(out, 0, sizeof *out);
    out->columns = columns;
    for (size_t i = 0; i < count && out->count < WH_CHECK_FRAMES_MAX; i++) {
        wh_frame_bits frame = frames[i];
        clear_tail(&frame, columns);
        bool seen = false;
        for (unsigned k = 0; k < out->count && !seen; k++)
            seen = alike(&out->frame[k], &frame);
        if (!seen)
            out->frame[out->count++] = frame;
    }
    for (unsigned i = 1; i < out->count; i++) {
        wh_frame_bits difference = out->frame[i];
        add(&difference, &out->frame[0]);
        insert(out->basis, &out->rank, columns, difference);
    }
    for (unsigned i = 0; i < out->rank; i++)
        out->leads[first_one(&out->basis[i], 0, columns)] = true;
    measure_columns(out);
}

void wh_trials_keep(wh_trials *trials, const wh_check_found *found)
{
    unsigned at = 0;
    while (at < trials->kept_count && trials->kept[at].chance <= found->chance)
        at++;
    if (at >= trials->capacity)
        return;
    const unsigned kept = trials->kept_count < trials->capacity ? trials->kept_count : trials->capacity - 1;
    memmove(trials->kept + at + 1, trials->kept + at, (kept - at) * sizeof *trials->kept);
    trials->kept[at] = *found;
    trials->kept_count = kept + 1;
}

unsigned wh_trial_own_columns(const wh_trial_frames *frames, unsigned place, unsigned width)
{
    unsigned own = 0;
    for (unsigned i = 0; i < width; i++) {
        /* Frame 0 is the reference of every pattern, so inverse columns have the same one. */
        const uint64_t pattern = frames->column[place + i];
        bool counted = pattern == 0;
        for (unsigned k = 0; k < i && !counted; k++)
            counted = frames->column[place + k] == pattern;
        own += !counted;
    }
    return own;
}

unsigned wh_trial_rank_within(const wh_trial_frames *frames, const wh_frame_bits *columns)
{
    wh_frame_bits basis[WH_RANK_MAX];
    unsigned rank = 0;
    for (unsigned i = 0; i < frames->rank; i++) {
        wh_frame_bits row = frames->basis[i];
        for (unsigned k = 0; k < sizeof row.data; k++)
            row.data[k] &= columns->data[k];
        insert(basis, &rank, frames->columns, row);
    }
    return rank;
}

static void mark(wh_frame_bits *columns, const wh_places *places)
{
    for (unsigned i = 0; i < places->count; i++)
        for (unsigned k = 0; k < places->piece[i].length; k++)
            wh_bit_put(columns->data, places->piece[i].at + k, 1);
}

unsigned wh_trial_rank(const wh_trial_frames *frames, const wh_places *over, const wh_places *at)
{
    wh_frame_bits columns = {.count = frames->columns};
    mark(&columns, over);
    mark(&columns, at);
    return wh_trial_rank_within(frames, &columns);
}

/* Value of the covered word at `at` in frame `row`, minus that in frame 0. */
static uint32_t word_difference(const wh_trial_frames *frames, unsigned row, unsigned at, unsigned word)
{
    const uint64_t mine = wh_bits_read(frames->frame[row].data, at, word);
    const uint64_t first = wh_bits_read(frames->frame[0].data, at, word);
    return (uint32_t)((mine % PRIME + PRIME - first % PRIME) % PRIME);
}

unsigned wh_trial_word_rank(const wh_trial_frames *frames, const wh_check *check, unsigned word, bool with_check)
{
    static const unsigned most = WH_FRAME_BITS_MAX / 4 + 1;
    uint32_t rows[WH_CHECK_FRAMES_MAX][WH_FRAME_BITS_MAX / 4 + 1] = {{0}};
    unsigned columns = 0;
    for (unsigned i = 0; i < check->over.count + (with_check ? 1u : 0u); i++) {
        const wh_piece piece = i < check->over.count ? check->over.piece[i] : check->at.piece[0];
        for (unsigned k = 0; k < piece.length && columns < most; k += word, columns++) {
            const unsigned bits = piece.length - k < word ? piece.length - k : word;
            for (unsigned row = 1; row < frames->count; row++)
                rows[row][columns] = word_difference(frames, row, piece.at + k, bits);
        }
    }
    unsigned rank = 1; /* row 0 is all zero */
    for (unsigned c = 0; c < columns && rank < frames->count; c++) {
        unsigned pivot = rank;
        while (pivot < frames->count && rows[pivot][c] == 0)
            pivot++;
        if (pivot == frames->count)
            continue;
        for (unsigned k = 0; k < columns; k++) {
            const uint32_t kept = rows[rank][k];
            rows[rank][k] = rows[pivot][k];
            rows[pivot][k] = kept;
        }
        for (unsigned row = rank + 1; row < frames->count; row++) {
            const uint64_t factor = rows[row][c], scale = rows[rank][c];
            for (unsigned k = c; factor && k < columns; k++) /* without a division: the rank stays */
                rows[row][k] = (uint32_t)((scale * rows[row][k] + (PRIME - factor) * rows[rank][k]) % PRIME);
        }
        rank++;
    }
    return rank - 1;
}

static bool varies(const wh_trial_frames *frames, unsigned from, unsigned to)
{
    for (unsigned c = from; c < to; c++)
        if (frames->column[c])
            return true;
    return false;
}

typedef struct range_maker {
    const wh_trial_frames *frames;
    unsigned grid, step;
    wh_trial_visit visit;
    void *context;
} range_maker;

#define LEAST_COVERED 8 /* bits; a check over less is a code, not a check */

static void offer(const range_maker *maker, wh_trial_range range, double cost)
{
    range.cost += cost;
    maker->visit(maker->context, &range);
}

/* Covered bits before the check: all of them, or from a later bit on; or ending some bits before the check. */
static void ranges_before(const range_maker *maker, wh_trial_range range)
{
    const wh_trial_frames *frames = maker->frames;
    const unsigned place = range.place, steps = place / maker->step + 1;
    range.to = place;
    range.from = place % maker->grid;
    /* Constant bits in front change only the start value: one range stands for all that begin among them. */
    const bool whole = range.from <= frames->first_varying;
    if (place >= range.from + LEAST_COVERED && varies(frames, range.from, place))
        offer(maker, range, whole ? 1.0 : 3.0);
    const unsigned first = place % maker->step;
    for (unsigned from = first; from + LEAST_COVERED <= place; from += maker->step) {
        if (from <= frames->first_varying || from == place % maker->grid)
            continue;
        range.from = from;
        if (varies(frames, from, place))
            offer(maker, range, 3.0 + log2(steps));
    }
    for (unsigned to = place; to > maker->step + LEAST_COVERED;) {
        to -= maker->step;
        range.from = to % maker->grid;
        range.to = to;
        if (to >= range.from + LEAST_COVERED && varies(frames, range.from, to) && varies(frames, to, place))
            offer(maker, range, 5.0 + log2(steps));
    }
}

/* The check in front of what it covers, or in the middle of it. */
static void ranges_behind(const range_maker *maker, wh_trial_range range)
{
    const wh_trial_frames *frames = maker->frames;
    const unsigned columns = frames->columns, begin = range.place + range.width;
    const double steps = log2(columns / maker->step + 1.0);
    range.from = begin;
    for (unsigned to = begin + (columns - begin) / maker->grid * maker->grid; to >= begin + LEAST_COVERED;) {
        range.to = to;
        if (varies(frames, begin, to))
            offer(maker, range, to + maker->grid > columns ? 4.0 : 5.0 + steps);
        if (to < begin + maker->step)
            break;
        to -= maker->step;
    }
    range.from = range.place % maker->grid;
    range.to = begin + (columns - begin) / maker->grid * maker->grid;
    if (range.width % maker->grid == 0 && varies(frames, range.from, range.place) && varies(frames, begin, range.to))
        offer(maker, range, 4.0);
}

void wh_trial_ranges(const wh_trial_frames *frames, unsigned width, unsigned grid, wh_trial_visit visit, void *context)
{
    /* Ranges begin and end on bytes or half bytes; only half as finely in long frames, to bound the time. */
    const unsigned fine = frames->columns <= 128 ? 4 : 8;
    const range_maker maker = {frames, grid, grid > fine ? grid : fine, visit, context};
    for (unsigned place = 0; place + width <= frames->columns; place++) {
        const unsigned own = wh_trial_own_columns(frames, place, width);
        if (own * frames->rank < 8 || 2 * own < (width < frames->rank ? width : frames->rank))
            continue; /* could not be told from chance anyway */
        const bool last = place + width == frames->columns;
        const wh_trial_range range = {
            .place = place, .width = width, .own = own, .cost = last ? 1.0 : 1.0 + log2(frames->columns)};
        ranges_before(&maker, range);
        ranges_behind(&maker, range);
    }
}

void wh_trial_places(const wh_trial_range *range, wh_check *check)
{
    const unsigned place = range->place, end = range->place + range->width;
    check->at = (wh_places){1, {{(uint16_t)place, (uint16_t)range->width}}};
    if (place > range->from && place < range->to)
        check->over = (wh_places){
            2,
            {{(uint16_t)range->from, (uint16_t)(place - range->from)}, {(uint16_t)end, (uint16_t)(range->to - end)}}};
    else
        check->over = (wh_places){1, {{(uint16_t)range->from, (uint16_t)(range->to - range->from)}}};
}
