#include "kind_study.h"

#include "chip_align.h"
#include "distinct_frames.h"
#include "frame_guess.h"
#include "frame_rows.h"
#include "kind_radio.h"
#include "line_rank.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SHORTEST_CHIPS  24   /* of an emission worth looking at */
#define OWN_RATE_ERROR  0.01 /* a shape's chip rate is far better than this; the search stays short */
#define OWN_DEVIATION   0.35 /* smoothing draws the tones of fast keying together */
#define ZERO_RUN_MORE   2    /* longer runs of zeros than seen so far may still be no pause */
#define CERTAIN_CODE    0.99
#define LIKELY_CODE     0.7
#define FRAMES_FOR_SURE 4 /* different frames without which a line code is never called certain */

void wh_kind_emissions(const wh_kind_tools *tools, const size_t *member, size_t count, wh_emission_set *set)
{
    unsigned zero_run = 1;
    for (size_t i = 0; i < count; i++) {
        const wh_burst_shape *shape = &wh_burst_store_at(tools->store, member[i])->shape;
        if (shape->found && shape->zero_run > zero_run)
            zero_run = shape->zero_run;
    }
    const wh_demod_limits limits = {.shortest_chips = SHORTEST_CHIPS, .zero_run = zero_run + ZERO_RUN_MORE};
    for (size_t i = 0; i < count && !set->failed; i++) {
        const wh_study_burst *burst = wh_burst_store_at(tools->store, member[i]);
        if (!burst->shape.found)
            continue;
        const wh_radio radio = {.modulation = burst->shape.modulation,
                                .chip_rate_hz = 1.0 / burst->shape.grid.chip,
                                .rate_tolerance = OWN_RATE_ERROR,
                                .deviation_hz = burst->shape.deviation_hz,
                                .deviation_tolerance = OWN_DEVIATION};
        wh_emission_set_add(set, tools->demod, burst, member[i], &radio, &limits);
    }
    const size_t whole = set->count;
    for (size_t i = 0; i < whole && !set->failed; i++) {
        const size_t period = wh_repeat_of(&set->items[i]);
        if (period > 0)
            wh_emission_set_cut(set, i, period);
    }
}

static void drop_aligned(wh_emission_set *set)
{
    size_t kept = 0;
    for (size_t i = 0; i < set->count; i++) {
        if (set->items[i].aligned)
            wh_study_emission_free(&set->items[i]);
        else
            set->items[kept++] = set->items[i];
    }
    set->count = kept;
}

/* Line codes best first; the first that leaves a payload is the one. *memory is false when it is out. */
static bool choose_line(const wh_distinct_frames *frames, const wh_columns *columns, wh_kind_estimate *kind,
                        bool *memory)
{
    wh_line_ranking ranking;
    const long vary = frames->count > 1 && columns->vary < frames->common_end ? columns->vary : frames->common_end;
    *memory = wh_line_rank(frames, columns->begin, vary, &ranking);
    kind->line_count = ranking.count;
    memcpy(kind->line, ranking.candidate, ranking.count * sizeof *ranking.candidate);
    size_t chosen = 0;
    while (chosen < ranking.count && !wh_frame_guess(frames, columns, &ranking, chosen, kind))
        chosen++;
    if (chosen >= ranking.count)
        return false;
    const wh_line_candidate best = kind->line[chosen];
    memmove(kind->line + 1, kind->line, chosen * sizeof *kind->line);
    kind->line[0] = best;
    const bool enough = frames->count >= FRAMES_FOR_SURE;
    kind->line_code = chosen == 0 && best.probability >= CERTAIN_CODE && enough ? WH_CERTAIN
                      : best.probability >= LIKELY_CODE && frames->count > 1    ? WH_LIKELY
                                                                                : WH_OPEN;
    return true;
}

static void say_missing(const wh_frame_table *table, size_t distinct, char missing[WH_MISSING_SIZE])
{
    missing[0] = '\0';
    if (table->kind.frame.bits_max == 0)
        snprintf(missing, WH_MISSING_SIZE, "no payload could be told from what all frames have in common");
    else if (distinct < 2)
        snprintf(missing, WH_MISSING_SIZE,
                 "all frames are alike: record another sensor, or the same one at another pressure, to see where the "
                 "payload begins");
    else if (table->row_count < 3)
        snprintf(missing, WH_MISSING_SIZE, "only %zu different frame%s: record more activations", table->row_count,
                 table->row_count == 1 ? "" : "s");
}

wh_kind_outcome wh_kind_study(const wh_kind_tools *tools, wh_emission_set *set, const size_t *member, size_t count,
                              int number, wh_frame_table *table, char missing[WH_MISSING_SIZE])
{
    *table = (wh_frame_table){0};
    if (wh_align_emissions(set) < 2)
        return WH_KIND_NOTHING;
    wh_columns columns;
    wh_distinct_frames frames;
    if (!wh_kind_radio(tools->store, set, &table->kind) || !wh_columns_make(set, &columns))
        return WH_KIND_NO_MEMORY;
    if (!wh_distinct_frames_make(set, &columns, &frames)) {
        wh_columns_free(&columns);
        return WH_KIND_NO_MEMORY;
    }
    bool good;
    if (choose_line(&frames, &columns, &table->kind, &good))
        good = wh_frame_rows_fill(tools->store, tools->demod, member, count, number, table);
    else
        table->kind.frame = (wh_frame_spec){0};
    say_missing(table, frames.count, missing);
    wh_distinct_frames_free(&frames);
    wh_columns_free(&columns);
    drop_aligned(set);
    return good ? WH_KIND_FRAMES : WH_KIND_NO_MEMORY;
}
