#include "check_search.h"

#include "bits.h"
#include "check_trial.h"
#include "rng.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define TRUSTED_LEAST 5 /* with fewer frames a subset tells nothing */
#define SUBSETS       4
#define KEPT          640 /* parities: two ranges and the whole frame for each of 256 places at most, and to spare */

void wh_frame_turn_bytes(wh_frame_bits *frame, unsigned phase)
{
    for (unsigned at = phase; at < frame->count; at += 8) {
        const unsigned bits = frame->count - at < 8 ? frame->count - at : 8;
        const uint64_t value = wh_bits_read(frame->data, at, bits);
        wh_bits_write(frame->data, at, bits, wh_bits_reverse(value, bits));
    }
}

bool wh_check_found_holds(const wh_check_found *found, const wh_frame_bits *frame)
{
    wh_frame_bits turned = *frame;
    if (found->bytes_turned)
        wh_frame_turn_bytes(&turned, found->phase);
    return wh_check_right(&found->check, &turned);
}

/* Linear conditions on the bits of a frame, in echelon form: what the checks accepted so far already imply. */
typedef struct conditions {
    unsigned rank;
    wh_frame_bits row[WH_FRAME_BITS_MAX];
} conditions;

/* The last column of a condition. Checks mostly stand behind what they cover, so what is left of a condition that others
 * imply in part is about the covered bits. */
static int lead_of(const wh_frame_bits *row)
{
    for (unsigned i = sizeof row->data; i-- > 0;)
        if (row->data[i])
            return (int)(8 * i) + 7 - __builtin_ctz(row->data[i]);
    return -1;
}

/* Is the condition new? Then what is left of it is added. */
static bool add_condition(conditions *set, wh_frame_bits row)
{
    for (unsigned i = 0; i < set->rank; i++) {
        const int lead = lead_of(&set->row[i]);
        if (wh_bit_get(row.data, (size_t)lead))
            for (unsigned k = 0; k < sizeof row.data; k++)
                row.data[k] ^= set->row[i].data[k];
    }
    if (lead_of(&row) < 0 || set->rank == WH_FRAME_BITS_MAX)
        return false;
    /* No other row has a one at this lead, so that one pass reduces. */
    const size_t own = (size_t)lead_of(&row);
    for (unsigned i = 0; i < set->rank; i++)
        if (wh_bit_get(set->row[i].data, own))
            for (unsigned k = 0; k < sizeof row.data; k++)
                set->row[i].data[k] ^= row.data[k];
    set->row[set->rank++] = row;
    return true;
}

static uint64_t residue(const wh_check_found *found, const wh_frame_bits *frame)
{
    wh_frame_bits turned = *frame;
    if (found->bytes_turned)
        wh_frame_turn_bytes(&turned, found->phase);
    const wh_check *check = &found->check;
    return wh_places_read(&turned, &check->at, check->low_bit_first, check->low_byte_first) ^
           wh_check_value(check, &turned);
}

/* How many conditions of a check are new. All bits of a CRC, XOR or parity are linear in the frame; of a sum, the lowest. */
static unsigned add_check(conditions *set, const wh_check_found *found, unsigned columns)
{
    const bool sum = found->check.kind == WH_CHECK_SUM || found->check.kind == WH_CHECK_TWOS_SUM;
    const unsigned bits = sum ? 1 : found->check.width;
    wh_frame_bits frame = {.count = columns};
    const uint64_t none = residue(found, &frame);
    wh_frame_bits row[32] = {{0}};
    for (unsigned c = 0; c < columns; c++) {
        wh_bit_put(frame.data, c, 1);
        const uint64_t flips = residue(found, &frame) ^ none;
        wh_bit_put(frame.data, c, 0);
        for (unsigned bit = 0; bit < bits; bit++)
            wh_bit_put(row[bit].data, c, (unsigned)(flips >> bit & 1));
    }
    unsigned added = 0;
    for (unsigned bit = 0; bit < bits; bit++)
        added += add_condition(set, row[bit]);
    return added;
}

static bool overlap(const wh_check *a, const wh_check *b)
{
    const wh_piece p = a->at.piece[0], q = b->at.piece[0];
    return p.at < q.at + q.length && q.at < p.at + p.length;
}

/* Of a check that others imply in part only the new conditions are evidence; of a parity only the bits that are left. */
static void count_what_is_new(const wh_trial_frames *frames, const conditions *grown, unsigned added,
                              wh_check_found *found)
{
    const wh_check_kind kind = found->check.kind;
    if (kind == WH_CHECK_SUM || kind == WH_CHECK_TWOS_SUM)
        return;
    if (found->check.width == 1)
        found->evidence_bits = added ? wh_trial_rank_within(frames, &grown->row[grown->rank - 1]) : 0.0;
    else if (added < found->check.width)
        found->evidence_bits *= (double)added / found->check.width;
    found->chance = exp2(found->cost_bits - found->evidence_bits);
}

/* What is decided while candidates are gone through. */
typedef struct choice {
    wh_check_search *out;
    const wh_trial_frames *frames;
    conditions implied, grown;
} choice;

static void begin_choice(choice *c, const wh_trial_frames *frames, wh_check_search *out)
{
    static const wh_check_found nothing = {.chance = 0.0};
    c->out = out;
    c->frames = frames;
    c->implied.rank = 0;
    for (unsigned column = 0; column < frames->columns; column++) {
        wh_frame_bits one = {.count = frames->columns};
        wh_bit_put(one.data, column, 1);
        if (!frames->column[column])
            add_condition(&c->implied, one);
    }
    out->count = out->rejected = 0;
    out->doubtful = nothing;
}

/* From the candidates those that stand on their own, besides what was chosen before. */
static void choose(choice *c, wh_trials *trials)
{
    wh_check_search *out = c->out;
    for (unsigned i = 0; i < trials->kept_count; i++) {
        wh_check_found *found = &trials->kept[i];
        bool taken = false;
        for (unsigned k = 0; k < out->count && !taken; k++) {
            taken = overlap(&out->found[k].check, &found->check);
            const wh_piece mine = found->check.at.piece[0], theirs = out->found[k].check.at.piece[0];
            out->found[k].alike += taken && mine.at == theirs.at && mine.length == theirs.length;
        }
        if (taken || out->count == WH_CHECKS_FOUND_MAX)
            continue;
        c->grown = c->implied;
        const unsigned added = add_check(&c->grown, found, c->frames->columns);
        count_what_is_new(c->frames, &c->grown, added, found);
        if (found->chance <= WH_CHECK_CHANCE_MAX) {
            c->implied = c->grown;
            out->found[out->count++] = *found;
        } else if (added > 0) {
            if (out->rejected == 0 || found->chance < out->doubtful.chance)
                out->doubtful = *found;
            out->rejected++;
        }
    }
}

/* Working memory of a search. */
typedef struct workspace {
    wh_trial_frames frames;
    choice choice;
    wh_check_found kept[KEPT];
} workspace;

static void add_cost(wh_trials *trials, double cost)
{
    for (unsigned i = 0; i < trials->kept_count; i++) {
        trials->kept[i].cost_bits += cost;
        trials->kept[i].chance *= exp2(cost);
    }
}

/* One pass over these frames, all of them taken for right; `cost`: bits for how they were picked. */
static void search_once(workspace *work, const wh_frame_bits *frames, size_t count, unsigned columns, double cost,
                        wh_check_search *out)
{
    wh_trial_frames_make(&work->frames, frames, count, columns);
    begin_choice(&work->choice, &work->frames, out);
    if (work->frames.rank == 0)
        return;
    wh_trials trials = {.frames = &work->frames, .kept = work->kept, .capacity = KEPT};
    wh_crc_trials(&trials);
    wh_sum_trials(&trials, false, 0);
    add_cost(&trials, cost);
    choose(&work->choice, &trials);
    trials.kept_count = 0; /* parities follow from most CRCs, so they come when those are known */
    wh_parity_trials(&trials);
    add_cost(&trials, cost);
    choose(&work->choice, &trials);
    out->tried += trials.tried;
}

/* Sums of bytes sent low bit first: only when nothing was found in the bits as they came. */
static void search_turned(workspace *work, const wh_frame_bits *frames, unsigned count, unsigned columns,
                          wh_check_search *out)
{
    wh_frame_bits turned[WH_CHECK_FRAMES_MAX];
    wh_trials trials = {.frames = &work->frames, .kept = work->kept, .capacity = KEPT};
    for (unsigned phase = 0; phase < 8; phase++) {
        for (unsigned i = 0; i < count; i++) {
            turned[i] = frames[i];
            wh_frame_turn_bytes(&turned[i], phase);
        }
        wh_trial_frames_make(&work->frames, turned, count, columns);
        if (work->frames.rank > 0)
            wh_sum_trials(&trials, true, phase);
    }
    wh_trial_frames_make(&work->frames, frames, count, columns); /* conditions are about bits as they came */
    choose(&work->choice, &trials);
    out->tried += trials.tried;
}

static unsigned distinct(const wh_frame_bits *frames, size_t count, unsigned columns, wh_frame_bits *list,
                         unsigned most)
{
    unsigned kept = 0;
    for (size_t i = 0; i < count && kept < most; i++) {
        wh_frame_bits frame = frames[i];
        frame.count = columns;
        for (unsigned c = columns; c < WH_FRAME_BITS_MAX; c++)
            wh_bit_put(frame.data, c, 0);
        bool seen = false;
        for (unsigned k = 0; k < kept && !seen; k++)
            seen = memcmp(list[k].data, frame.data, sizeof frame.data) == 0;
        if (!seen)
            list[kept++] = frame;
    }
    return kept;
}

/* Some of the frames have wrong bits: subsets, of the most reliable and at random, until one agrees with itself. */
static void search_subsets(workspace *work, const wh_frame_bits *frames, unsigned count, unsigned columns,
                           wh_check_search *out)
{
    wh_rng rng;
    wh_rng_seed(&rng, 1);
    wh_frame_bits chosen[WH_CHECK_FRAMES_MAX];
    for (unsigned attempt = 0; attempt < SUBSETS && out->count == 0; attempt++) {
        const unsigned share = attempt == 0 ? 2 : 3;
        const unsigned wanted = count / share > TRUSTED_LEAST ? count / share : TRUSTED_LEAST;
        unsigned got = 0;
        for (unsigned i = 0; i < count && got < wanted; i++) {
            const bool take = attempt < 2 || wh_rng_below(&rng, count - i) < wanted - got;
            if (take)
                chosen[got++] = frames[i];
        }
        search_once(work, chosen, got, columns, log2(2.0 + attempt), out);
    }
}

static void search_all(workspace *work, const wh_frame_bits *list, unsigned listed, unsigned columns,
                       wh_check_search *out)
{
    search_once(work, list, listed, columns, 0.0, out);
    if (out->count == 0)
        search_turned(work, list, listed, columns, out);
    if (out->count == 0 && listed > TRUSTED_LEAST)
        search_subsets(work, list, listed, columns, out);
    if (out->count == 0)
        return;
    wh_frame_bits right[WH_CHECK_FRAMES_MAX];
    unsigned holding = 0;
    for (unsigned i = 0; i < listed; i++)
        if (wh_check_found_holds(&out->found[0], &list[i]))
            right[holding++] = list[i];
    /* Once the wrong frames are known, the right ones tell all there is to know. */
    if (out->found[0].frames < holding && !out->found[0].bytes_turned)
        search_once(work, right, holding, columns, log2(2.0 + SUBSETS), out);
    for (unsigned k = 0; k < out->count; k++) {
        out->found[k].frames = listed;
        out->found[k].holding = 0;
        for (unsigned i = 0; i < listed; i++)
            out->found[k].holding += wh_check_found_holds(&out->found[k], &list[i]);
    }
}

static wh_status run(const wh_frame_bits *frames, size_t count, unsigned columns, bool quick, wh_check_search *out,
                     wh_error *error)
{
    memset(out, 0, sizeof *out);
    if (columns > WH_FRAME_BITS_MAX)
        return wh_fail(error, WH_ERR_LIMIT, NULL, "frames of %u bits; %d are looked at", columns, WH_FRAME_BITS_MAX);
    workspace *work = malloc(sizeof *work);
    if (!work)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "not enough memory to search for checks");
    wh_frame_bits list[WH_CHECK_FRAMES_MAX];
    const unsigned listed = distinct(frames, count, columns, list, WH_CHECK_FRAMES_MAX);
    if (quick)
        search_once(work, list, listed, columns, 0.0, out);
    else
        search_all(work, list, listed, columns, out);
    free(work);
    return WH_OK;
}

wh_status wh_check_search_run(const wh_frame_bits *frames, size_t count, unsigned columns, wh_check_search *out,
                              wh_error *error)
{
    return run(frames, count, columns, false, out, error);
}

wh_status wh_check_search_quick(const wh_frame_bits *frames, size_t count, unsigned columns, wh_check_search *out,
                                wh_error *error)
{
    return run(frames, count, columns, true, out, error);
}
