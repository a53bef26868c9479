#include "kept_chips.h"

#include <math.h>
#include <string.h>

void wh_kept_chips_free(wh_kept_chips *kept)
{
    for (size_t r = 0; r < WH_KEPT_RUNS; r++)
        for (size_t i = 0; i < WH_KEPT_EMISSIONS; i++)
            wh_chips_free(&kept->run[r].chips[i]);
}

void wh_kept_chips_forget(wh_kept_chips *kept)
{
    kept->count = 0;
    kept->recording = false;
}

void wh_kept_chips_begin(wh_kept_chips *kept, const wh_radio *radio, const wh_demod_limits *limits)
{
    kept->recording = kept->count < WH_KEPT_RUNS;
    if (!kept->recording)
        return;
    wh_kept_run *run = &kept->run[kept->count];
    run->radio = *radio;
    run->zero_run = limits->zero_run;
    run->count = 0;
}

/* Everything but the arrays, which are `to`'s own and are filled with the same. */
static bool copy(const wh_chips *from, wh_chips *to)
{
    if (!wh_chips_reserve(to, from->count))
        return false;
    wh_chips all = *from;
    all.capacity = to->capacity;
    all.llr = to->llr;
    memcpy(all.llr, from->llr, from->count * sizeof *all.llr);
    for (unsigned v = 0; v < 2; v++) {
        all.value[v] = to->value[v];
        all.cost[v] = to->cost[v];
        memcpy(all.value[v], from->value[v], from->count * sizeof *all.value[v]);
        memcpy(all.cost[v], from->cost[v], from->count * sizeof *all.cost[v]);
    }
    *to = all;
    return true;
}

void wh_kept_chips_add(wh_kept_chips *kept, const wh_chips *chips)
{
    if (!kept->recording)
        return;
    wh_kept_run *run = &kept->run[kept->count];
    kept->recording = run->count < WH_KEPT_EMISSIONS && copy(chips, &run->chips[run->count]);
    run->count++;
}

void wh_kept_chips_end(wh_kept_chips *kept, bool whole)
{
    if (kept->recording && whole && kept->run[kept->count].count > 0)
        kept->count++;
    kept->recording = false;
}

void wh_kept_chips_add_known(wh_kept_chips *kept, const wh_radio *radio, const wh_demod_limits *limits,
                             const wh_chips *chips)
{
    if (kept->count == 0)
        wh_kept_chips_begin(kept, radio, limits);
    else
        kept->recording = --kept->count == 0;
    wh_kept_chips_add(kept, chips);
    wh_kept_chips_end(kept, true);
}

/* The other sense: what was value 1 is value 0. */
static void turn_over(wh_chips *chips)
{
    for (size_t k = 0; k < chips->count; k++)
        chips->llr[k] = -chips->llr[k];
    float complex *value = chips->value[0];
    chips->value[0] = chips->value[1];
    chips->value[1] = value;
    float *cost = chips->cost[0];
    chips->cost[0] = chips->cost[1];
    chips->cost[1] = cost;
    for (unsigned a = 0; a < 2; a++) {
        const float complex turn = chips->turn[0][a];
        chips->turn[0][a] = chips->turn[1][1 - a];
        chips->turn[1][1 - a] = turn;
    }
}

static bool serves(const wh_kept_run *run, const wh_radio *radio, const wh_demod_limits *limits)
{
    const bool keyed = radio->modulation == WH_MOD_OOK;
    bool inside = run->radio.modulation == radio->modulation && (!keyed || run->zero_run == limits->zero_run);
    for (size_t i = 0; i < run->count && inside; i++) {
        const wh_chips *chips = &run->chips[i];
        const double rate = 1.0 / (chips->chip_s * radio->chip_rate_hz) - 1.0;
        const double deviation = keyed ? 0.0 : chips->deviation_hz / radio->deviation_hz - 1.0;
        inside = fabs(rate) <= radio->rate_tolerance && fabs(deviation) <= radio->deviation_tolerance;
    }
    return inside;
}

bool wh_kept_chips_give(wh_kept_chips *kept, const wh_radio *radio, const wh_demod_limits *limits, wh_chips_fn give,
                        void *context, size_t *given)
{
    wh_kept_run *run = kept->run;
    const wh_kept_run *end = kept->run + kept->count;
    while (run < end && !serves(run, radio, limits))
        run++;
    *given = 0;
    if (run == end)
        return false;
    for (size_t i = 0; i < run->count; i++) {
        wh_chips *chips = &run->chips[i];
        if ((chips->last - chips->first) * 2 < limits->shortest_chips)
            continue;
        if (run->radio.low_tone_is_one != radio->low_tone_is_one)
            turn_over(chips);
        chips->rate_error = 1.0 / (chips->chip_s * radio->chip_rate_hz) - 1.0;
        give(context, chips);
        ++*given;
        if (run->radio.low_tone_is_one != radio->low_tone_is_one)
            turn_over(chips);
    }
    return true;
}
