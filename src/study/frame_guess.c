#include "frame_guess.h"

#include <math.h>
#include <string.h>

#define PERIOD_MAX     16
#define PREAMBLE_LEAST 12  /* chips and three periods: shorter repetitions are chance */
#define END_SHARE      0.5 /* of the frames that must contradict the code in a cell that is taken for the end pattern */
#define END_MOST       32
#define BITS_BACK      64 /* constant bits looked at before the first one that varies */
#define SYNC_BITS_MOST 16 /* more bits than that behind a broken code never changing are rather part of the sync */
#define PAYLOAD_MOST   256

/* One try at cutting the columns up. */
typedef struct cut {
    long first_cell;   /* earliest cell from which on the code is kept */
    bool broken;       /* something the code cannot make stands right before it, ... */
    bool marked;       /* ... on purpose: runs longer than any of the code, not just halves of bits exchanged */
    unsigned constant; /* whole bits from there to the first cell that varies */
    unsigned varying;  /* bits from the first cell that varies to the end of the payload */
    long payload_end;  /* column, of words of equal length */
    bool end_known;    /* chips follow the payload that the code cannot make */
    unsigned unsure;   /* last bits that may already be the end pattern */
} cut;

static unsigned common_chip(const wh_columns *columns, long c)
{
    return wh_columns_common(columns, c) > 0;
}

/* Can the code make the cell that ends before column `end`? Returns its length, 0 when it cannot. */
static unsigned cell_before(const wh_columns *columns, const wh_line_spec *line, long end)
{
    if (line->kind == WH_LINE_NRZ)
        return 1;
    if (line->kind != WH_LINE_PULSE_WIDTH) {
        const bool differ_inside = common_chip(columns, end - 2) != common_chip(columns, end - 1);
        const bool differ_before = common_chip(columns, end - 3) != common_chip(columns, end - 2);
        const bool middle = line->kind == WH_LINE_MANCHESTER || line->kind == WH_LINE_DIFFERENTIAL_MANCHESTER;
        return (middle ? differ_inside : differ_before) ? 2 : 0;
    }
    const uint8_t *word[2] = {line->zero_chips, line->one_chips};
    const unsigned count[2] = {line->zero_count, line->one_count};
    unsigned fits = 0;
    for (unsigned w = 0; w < 2; w++) {
        bool same = true;
        for (unsigned i = 0; i < count[w] && same; i++)
            same = common_chip(columns, end - (long)count[w] + (long)i) == word[w][i];
        if (same && count[w] > fits)
            fits = count[w];
    }
    return fits;
}

/* The longest run of equal chips around a column. */
static long run_around(const wh_columns *columns, long c)
{
    const int value = wh_columns_common(columns, c);
    long from = c, to = c + 1;
    while (from > columns->begin && wh_columns_common(columns, from - 1) == value)
        from--;
    while (to < columns->vary && wh_columns_common(columns, to) == value)
        to++;
    return to - from;
}

/* Walk back over constant cells until the code breaks or the signal begins. */
static void walk_back(const wh_columns *columns, const wh_line_spec *line, long cell, cut *c)
{
    c->first_cell = cell;
    c->constant = 0;
    c->broken = false;
    while (c->constant < BITS_BACK) {
        const unsigned length = cell_before(columns, line, c->first_cell);
        if (length == 0) {
            c->broken = true;
            c->marked = line->kind == WH_LINE_PULSE_WIDTH || run_around(columns, c->first_cell - 1) > 2 ||
                        run_around(columns, c->first_cell - 2) > 2;
            return;
        }
        if (c->first_cell - (long)length < columns->begin)
            return;
        c->first_cell -= (long)length;
        c->constant++;
    }
}

static unsigned usual_of(const unsigned *value, size_t count)
{
    unsigned best = 0;
    size_t most = 0;
    for (size_t i = 0; i < count; i++) {
        size_t same = 0;
        for (size_t j = 0; j < count; j++)
            same += value[j] == value[i];
        if (same > most || (same == most && value[i] > best)) {
            most = same;
            best = value[i];
        }
    }
    return best;
}

/* Bits from the first varying cell on: up to the frame's end, or to where most frames contradict the code alike. */
static void measure_payload(const wh_distinct_frames *frames, const wh_line_spec *line, long cell, long stop, cut *c)
{
    unsigned char bits[PAYLOAD_MOST + BITS_BACK];
    unsigned count[WH_DISTINCT_MAX], violations;
    const unsigned most = sizeof bits;
    if (line->kind == WH_LINE_PULSE_WIDTH) {
        size_t stopped = 0, same_last = 0;
        for (size_t f = 0; f < frames->count; f++) {
            long end;
            count[f] = wh_line_read(frames, f, line, cell, frames->end[f], most, bits, &violations, &end);
            stopped += violations > 0;
            /* The last gap does not show in on-off keying: a word whose pulse is an end pulse looks like a bit. */
            same_last += count[f] > 0 && end > frames->end[f];
        }
        c->varying = usual_of(count, frames->count);
        c->end_known = stopped * 2 > frames->count;
        c->unsure = !c->end_known && same_last == frames->count ? 1 : 0;
        return;
    }
    const unsigned length = line->kind == WH_LINE_NRZ ? 1 : 2;
    const long all = (stop - cell) / (long)length;
    long whole = all;
    for (long k = 0; k < all && length == 2; k++) {
        size_t wrong = 0;
        for (size_t f = 0; f < frames->count; f++) {
            long end;
            wh_line_read(frames, f, line, cell + 2 * k, cell + 2 * k + 2, 1, bits, &violations, &end);
            wrong += violations > 0;
        }
        if ((double)wrong > END_SHARE * (double)frames->count) {
            whole = k;
            c->end_known = true;
            break;
        }
    }
    c->varying = (unsigned)(whole > 0 ? whole : 0);
    c->payload_end = cell + whole * (long)length;
}

/* How many bits the payload has: whole bytes when that is possible, because most layouts are. With a sync that breaks the code
 * all that follows it belongs to the payload; without, as little as possible of what never changes. */
static unsigned choose_bits(const cut *c, bool varies, unsigned *dropped)
{
    /* All that follows a sync that is known for one: when that is whole bytes, nothing else need be asked. */
    for (unsigned drop = 0; drop <= c->unsure && c->marked; drop++) {
        const unsigned all = c->varying - drop + c->constant;
        *dropped = drop;
        if (all % 8 == 0 && c->constant <= SYNC_BITS_MOST)
            return all;
    }
    for (unsigned drop = 0; drop <= c->unsure; drop++) {
        const unsigned least = c->varying - drop, most = least + c->constant;
        unsigned chosen = 0;
        *dropped = drop;
        if (c->marked || !varies) {
            const unsigned bytes = most / 8 * 8;
            chosen = bytes >= least && bytes >= 8 ? bytes : 0;
            while (chosen > least + SYNC_BITS_MOST && varies)
                chosen -= 8;
        } else if (least > 0) {
            const unsigned bytes = (least + 7) / 8 * 8;
            chosen = bytes <= most ? bytes : 0;
        }
        if (chosen)
            return chosen;
    }
    *dropped = 0;
    return c->varying + (c->marked || !varies ? c->constant : 0);
}

/* Column where the last `bits` cells before the payload's end begin. */
static long payload_start(const wh_columns *columns, const wh_line_spec *line, long cell, unsigned constant)
{
    for (unsigned i = 0; i < constant; i++)
        cell -= (long)cell_before(columns, line, cell);
    return cell;
}

/* The longest beginning that repeats itself; its end and period. 0 when there is none. */
static long preamble_end(const wh_columns *columns, long stop, long *period)
{
    long best = columns->begin;
    *period = 0;
    /* The very first chips may be spoilt by the transmitter's start. */
    for (long skip = 0; skip <= 4; skip++) {
        const long begin = columns->begin + skip;
        for (long p = 1; p <= PERIOD_MAX; p++) {
            long c = begin + p;
            while (c < stop && common_chip(columns, c) == common_chip(columns, c - p))
                c++;
            const bool enough = c - begin >= PREAMBLE_LEAST && c - begin >= 3 * p;
            if (enough && c > best + 2) {
                best = c;
                *period = p;
            }
        }
    }
    return best;
}

static void copy_columns(const wh_columns *columns, long from, long to, wh_pattern *pattern)
{
    pattern->chips = true;
    pattern->count = 0;
    for (long c = from; c < to && pattern->count < WH_PATTERN_MAX; c++)
        pattern->value[pattern->count++] = (uint8_t)common_chip(columns, c);
}

static void fill_head(const wh_columns *columns, long payload, wh_kind_estimate *kind)
{
    wh_frame_spec *frame = &kind->frame;
    long period;
    long sync = preamble_end(columns, payload, &period);
    if (period == 0)
        sync = columns->begin;
    if (payload - sync > WH_PATTERN_MAX)
        sync = payload - WH_PATTERN_MAX;
    if (period > 0) {
        const long repeats = (sync - columns->begin) / period;
        copy_columns(columns, sync - period, sync, &frame->preamble);
        frame->preamble_repeats = (uint16_t)repeats;
    }
    copy_columns(columns, sync, payload, &frame->sync);
    kind->preamble = period > 0 ? WH_CERTAIN : WH_OPEN;
}

/* Chips behind the payload that are the same in all frames. */
static void fill_end(const wh_distinct_frames *frames, const wh_line_spec *line, long cell, unsigned varying,
                     wh_kind_estimate *kind)
{
    wh_pattern *end_pattern = &kind->frame.end;
    unsigned char bits[PAYLOAD_MOST + BITS_BACK];
    unsigned violations;
    long from[WH_DISTINCT_MAX];
    for (size_t f = 0; f < frames->count; f++) {
        const long stop = line->kind == WH_LINE_PULSE_WIDTH ? frames->end[f] : frames->common_end;
        wh_line_read(frames, f, line, cell, stop, varying, bits, &violations, &from[f]);
    }
    for (long i = 0; i < END_MOST; i++) {
        size_t ones = 0, heard = 0;
        for (size_t f = 0; f < frames->count; f++) {
            const bool there = frames->end[f] > from[f] + i;
            heard += there;
            ones += there && wh_distinct_chip(frames, f, from[f] + i);
        }
        if (heard * 4 < 3 * frames->count || (ones * 10 > heard && ones * 10 < 9 * heard))
            break;
        end_pattern->value[end_pattern->count++] = ones * 2 > heard;
    }
    end_pattern->chips = true;
    kind->end = end_pattern->count ? WH_LIKELY : WH_OPEN;
}

bool wh_frame_guess(const wh_distinct_frames *frames, const wh_columns *columns, const wh_line_ranking *ranking,
                    size_t choice, wh_kind_estimate *kind)
{
    wh_line_candidate *line = &kind->line[choice];
    cut c = {0};
    kind->frame = (wh_frame_spec){.bits_step = 8};
    const long cell = ranking->cell[choice];
    const bool varies = frames->count > 1 && columns->vary < frames->common_end;
    walk_back(columns, &line->line, cell, &c);
    measure_payload(frames, &line->line, cell, ranking->stop[choice], &c);
    unsigned dropped;
    const unsigned bits = choose_bits(&c, varies, &dropped);
    if (bits < 2 || bits > PAYLOAD_MOST)
        return false;
    const unsigned varying = c.varying - dropped, constant = bits > varying ? bits - varying : 0;
    const long payload = payload_start(columns, &line->line, cell, constant);
    fill_head(columns, payload, kind);
    if (c.end_known || dropped)
        fill_end(frames, &line->line, cell, varying, kind);
    kind->frame.bits_min = kind->frame.bits_max = (uint16_t)bits;
    kind->sync_breaks_code = c.marked && constant <= c.constant;
    kind->common_bits = constant;
    line->columns = bits;
    kind->sync = !varies ? WH_OPEN : kind->sync_breaks_code ? WH_CERTAIN : WH_LIKELY;
    kind->length = !varies ? WH_OPEN : kind->sync_breaks_code && bits % 8 == 0 ? WH_CERTAIN : WH_LIKELY;
    return true;
}
