#include "gas_law.h"

#include <math.h>
#include <string.h>

#define CHANCE_MAX  0.01
#define STEPS_LEAST 6
#define JUMP        4.0 /* times the mean step of a number: air was let in or out */
/* Counts of 1 degC or 0.5 degC that begin between -100 degC and 0 degC: 173 to 273 or twice as many above absolute zero (common
 * practice, no source); with what the error of a slope from few counts may add. */
#define ZERO_LEAST 120.0
#define ZERO_MOST  700.0

/* Sums over groups: a group is what one sensor sent in one recording, as long as nobody touched the valve. */
typedef struct sums {
    double pp, tt, p, t;  /* of squared deviations from the group's mean; of the values */
    double dpp, dtt, dpt; /* of products of steps from frame to frame */
    unsigned frames, steps;
} sums;

typedef struct group {
    double p[WH_FRAME_BITS_MAX], t[WH_FRAME_BITS_MAX];
    unsigned count;
} group;

static void close_group(group *g, sums *s)
{
    double p = 0.0, t = 0.0;
    for (unsigned i = 0; i < g->count; i++) {
        p += g->p[i] / g->count;
        t += g->t[i] / g->count;
    }
    for (unsigned i = 0; g->count >= 3 && i < g->count; i++) {
        s->pp += (g->p[i] - p) * (g->p[i] - p);
        s->tt += (g->t[i] - t) * (g->t[i] - t);
        s->p += g->p[i];
        s->t += g->t[i];
        s->frames++;
        if (i > 0) {
            const double dp = g->p[i] - g->p[i - 1], dt = g->t[i] - g->t[i - 1];
            s->dpp += dp * dp;
            s->dtt += dt * dt;
            s->dpt += dp * dt;
            s->steps++;
        }
    }
    g->count = 0;
}

static double number_of(const wh_field_row *row, const wh_number_place *place)
{
    return wh_field_row_value(row, place->at, place->bits, place->low_bit_first, false);
}

static sums gather(const wh_field_rows *rows, const wh_columns *columns, const wh_number_place *pressure,
                   const wh_number_place *temperature)
{
    sums s = {0};
    group g = {.count = 0};
    for (unsigned sensor = 0; sensor < columns->sensors; sensor++) {
        const wh_field_row *last = NULL;
        for (size_t i = 0; i < rows->count; i++) {
            const wh_field_row *row = &rows->row[i];
            if (row->sensor != sensor)
                continue;
            const bool jump =
                last && fabs(number_of(row, pressure) - number_of(last, pressure)) > JUMP * fmax(1.0, pressure->step);
            if (last && (last->recording != row->recording || jump || g.count == WH_FRAME_BITS_MAX))
                close_group(&g, &s);
            g.p[g.count] = number_of(row, pressure);
            g.t[g.count++] = number_of(row, temperature);
            last = row;
        }
        close_group(&g, &s);
    }
    return s;
}

/* Fisher's z: atanh(r) sqrt(n - 3) is nearly normal; one side, for only numbers that rise together are meant. */
static double chance_of(double correlation, unsigned steps)
{
    return 0.5 * erfc(atanh(fmin(correlation, 0.9999)) * sqrt(steps - 3.0) / sqrt(2.0));
}

static void keep(wh_gas_law *out, const wh_gas_pair *pair)
{
    unsigned at = 0;
    while (at < out->count && out->pair[at].chance <= pair->chance)
        at++;
    if (at == WH_GAS_PAIRS_MAX)
        return;
    out->count += out->count < WH_GAS_PAIRS_MAX;
    memmove(out->pair + at + 1, out->pair + at, (out->count - 1 - at) * sizeof *out->pair);
    out->pair[at] = *pair;
}

void wh_gas_law_run(const wh_field_rows *rows, const wh_columns *columns, wh_gas_law *out)
{
    *out = (wh_gas_law){0};
    unsigned slow = 0;
    for (unsigned i = 0; i < columns->number_count; i++)
        slow += !columns->number[i].counter;
    for (unsigned p = 0; p < columns->number_count; p++)
        for (unsigned t = 0; t < columns->number_count; t++) {
            const wh_number_place *pressure = &columns->number[p], *temperature = &columns->number[t];
            if (p == t || pressure->counter || temperature->counter || pressure->bits < 6 || temperature->bits < 6)
                continue;
            const sums s = gather(rows, columns, pressure, temperature);
            if (s.steps < STEPS_LEAST || s.dpp <= 0.0 || s.dtt <= 0.0)
                continue;
            /* Of steps, not of values: two numbers that wander by themselves often lie along each other for a while. */
            wh_gas_pair pair = {.pressure = p, .temperature = t, .steps = s.steps};
            pair.correlation = s.dpt / sqrt(s.dpp * s.dtt);
            pair.chance = chance_of(pair.correlation, s.steps) * slow * (slow - 1.0);
            /* dp / dT = p / T, so T = p dT / dp; what lies below count 0 is T less the mean count. The slope is the ratio of
             * the deviations, for both have errors of a count. */
            const double slope = sqrt(s.pp / s.tt);
            pair.zero_counts = s.p / s.frames / slope - s.t / s.frames;
            if (pair.correlation > 0.0 && pair.chance <= CHANCE_MAX && pair.zero_counts >= ZERO_LEAST &&
                pair.zero_counts <= ZERO_MOST)
                keep(out, &pair);
        }
}
