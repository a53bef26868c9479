#include "kept_chips.h"

#include <math.h>
#include <string.h>

#define WITHIN 0.95 /* of its own radio's tolerances: a quarter of a percent from the edge of five */

void wh_kept_chips_free(wh_kept_chips *kept)
{
    for (size_t i = 0; i < WH_KEPT_EMISSIONS; i++)
        wh_chips_free(&kept->chips[i]);
}

void wh_kept_chips_forget(wh_kept_chips *kept)
{
    kept->count = 0;
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

void wh_kept_chips_add(wh_kept_chips *kept, const wh_radio *radio, const wh_demod_limits *limits, const wh_chips *chips)
{
    kept->radio = *radio;
    kept->zero_run = limits->zero_run;
    if (kept->count < WH_KEPT_EMISSIONS && copy(chips, &kept->chips[kept->count]))
        kept->count++;
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

/* Do chips lie in a radio's window, by a share of its tolerances? */
static bool inside(const wh_chips *chips, const wh_radio *radio, double share)
{
    const double rate = 1.0 / (chips->chip_s * radio->chip_rate_hz) - 1.0;
    const double deviation = chips->keyed ? 0.0 : chips->deviation_hz / radio->deviation_hz - 1.0;
    return fabs(rate) <= share * radio->rate_tolerance && fabs(deviation) <= share * radio->deviation_tolerance;
}

/* What was found at the edge of the window it was looked for in may really lie beyond: it serves nobody else. */
static bool serve(const wh_kept_chips *kept, const wh_radio *radio, const wh_demod_limits *limits)
{
    const bool keyed = radio->modulation == WH_MOD_OOK;
    bool all = kept->radio.modulation == radio->modulation && (!keyed || kept->zero_run == limits->zero_run);
    for (size_t i = 0; i < kept->count && all; i++)
        all = inside(&kept->chips[i], &kept->radio, WITHIN) && inside(&kept->chips[i], radio, 1.0);
    return all && kept->count > 0;
}

bool wh_kept_chips_give(wh_kept_chips *kept, const wh_radio *radio, const wh_demod_limits *limits, wh_chips_fn give,
                        void *context, size_t *given)
{
    const bool turned = kept->radio.low_tone_is_one != radio->low_tone_is_one;
    *given = 0;
    if (!serve(kept, radio, limits))
        return false;
    for (size_t i = 0; i < kept->count; i++) {
        wh_chips *chips = &kept->chips[i];
        if ((chips->last - chips->first) * 2 < limits->shortest_chips)
            continue;
        if (turned)
            turn_over(chips);
        chips->rate_error = 1.0 / (chips->chip_s * radio->chip_rate_hz) - 1.0;
        give(context, chips);
        ++*given;
        if (turned)
            turn_over(chips);
    }
    return true;
}
