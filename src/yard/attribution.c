#include "attribution.h"

#include "level_model.h"
#include "match_odds.h"
#include "seat_weights.h"
#include "walk_log.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Pairs this much less likely (natural logarithm) than an empty seat are not looked at; and of the others only so many per
 * seat one by one, the rest together count as "no sensor heard". */
#define UNLIKELY   12.0
#define PAIRS_MOST 24
/* A technician who says where a sensor is, is right a thousand times as often as not. */
#define BIND_ODDS 1000.0
/* Levels and answers tell dual mates apart when they speak this strongly against a crossing. */
#define MATES_TOLD_ODDS 9.0
/* A burst counts as from this wheel down to this much below the mean level of a sensor heard at its own wheel: half of the
 * spread of 20 dB over wheel angles. */
#define STRONG_DB (-10.0) /* against the level at 1 m, which is about where the antenna is held */
/* A sensor that is not the most probable matching's is named for a seat from these odds on. */
#define NAMED_ODDS 0.25
#define NOBODY     SIZE_MAX

typedef struct work {
    const wh_unit *unit;
    wh_walk_log log;
    wh_level_model model;
    wh_seat_weights weights;
    wh_match match;
    size_t at_seat[WH_WHEELS_MAX]; /* witness at a seat, by the most probable matching or by BIND; NOBODY */
    size_t bound[WH_WHEELS_MAX];   /* witness bound to a seat; NOBODY: none, or never heard */
    unsigned char *taken;          /* by witness: at a seat */
    double *somewhere;             /* by witness: odds that it is at any seat */
    wh_attribution *out;
} work;

static double weight_of(const work *w, size_t witness, unsigned seat)
{
    return w->weights.all[witness * w->weights.seat_count + seat];
}

static int descending(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x < y) - (x > y);
}

static bool is_candidate(const work *w, size_t witness, unsigned seat)
{
    return w->taken[witness] == 0 && weight_of(w, witness, seat) > w->weights.log_empty[seat] - UNLIKELY;
}

/* The pairs of one seat; `room` holds a number for each witness. */
static wh_status add_pairs(work *w, unsigned seat, double *room)
{
    const size_t witnesses = w->log.witness_count;
    size_t count = 0;
    for (size_t i = 0; i < witnesses; i++)
        if (is_candidate(w, i, seat))
            room[count++] = weight_of(w, i, seat);
    double least = -INFINITY, others = exp(w->weights.log_empty[seat]);
    if (count > PAIRS_MOST) {
        qsort(room, count, sizeof *room, descending);
        least = room[PAIRS_MOST - 1];
    }
    wh_match *match = &w->match;
    wh_match_edge *edges = realloc(match->edges, (match->edge_count + PAIRS_MOST) * sizeof *edges);
    if (!edges)
        return WH_ERR_MEMORY;
    match->edges = edges;
    for (size_t i = 0, used = 0; i < witnesses; i++) {
        if (!is_candidate(w, i, seat))
            continue;
        const double weight = weight_of(w, i, seat);
        if (weight >= least && used < PAIRS_MOST) {
            match->edges[match->edge_count++] = (wh_match_edge){seat, (unsigned)i, weight, 0.0};
            used++;
        } else {
            others += exp(weight);
        }
    }
    match->log_empty[seat] = log(others);
    return WH_OK;
}

static void find_bound(work *w)
{
    for (unsigned p = 0; p < w->unit->wheel_count; p++) {
        const wh_event *bind = w->log.seats[p].bind;
        w->bound[p] = NOBODY;
        for (size_t i = 0; bind && i < w->log.witness_count; i++)
            if (strcmp(w->log.witnesses[i].sensor, bind->heard.sensor) == 0)
                w->bound[p] = i;
        if (w->bound[p] != NOBODY)
            w->taken[w->bound[p]] = 1;
    }
}

static wh_status match_them(work *w)
{
    double *room = malloc((w->log.witness_count + 1) * sizeof *room);
    if (!room)
        return WH_ERR_MEMORY;
    wh_status status = WH_OK;
    w->match.seat_count = w->unit->wheel_count;
    w->match.sensor_count = (unsigned)w->log.witness_count;
    for (unsigned p = 0; p < w->unit->wheel_count && status == WH_OK; p++)
        if (!w->log.seats[p].bind)
            status = add_pairs(w, p, room);
    free(room);
    if (status == WH_OK)
        status = wh_match_odds(&w->match);
    if (status != WH_OK)
        return status;
    for (unsigned p = 0; p < w->unit->wheel_count; p++) {
        const size_t edge = w->match.best[p];
        w->at_seat[p] = w->bound[p] != NOBODY   ? w->bound[p]
                        : edge == WH_MATCH_NONE ? NOBODY
                                                : w->match.edges[edge].sensor;
        if (w->at_seat[p] != NOBODY)
            w->taken[w->at_seat[p]] = 1;
    }
    for (size_t i = 0; i < w->match.edge_count; i++)
        w->somewhere[w->match.edges[i].sensor] += w->match.edges[i].odds;
    return WH_OK;
}

/* The odds of what the technician said: his word against what levels, answers and the record say of this sensor. */
static double bound_odds(const work *w, unsigned seat)
{
    const size_t witness = w->bound[seat];
    if (witness == NOBODY)
        return BIND_ODDS / (BIND_ODDS + 1.0);
    double others = 1.0;
    for (unsigned p = 0; p < w->unit->wheel_count; p++)
        if (p != seat)
            others += exp(fmin(weight_of(w, witness, p), 600.0));
    const double here = BIND_ODDS * exp(fmin(weight_of(w, witness, seat), 600.0));
    return here / (here + others);
}

static void show_witness(const work *w, wh_seat *seat, size_t witness)
{
    const wh_witness *known = &w->log.witnesses[witness];
    snprintf(seat->sensor, sizeof seat->sensor, "%s", known->sensor);
    seat->answered = true;
    seat->latest = known->latest->heard;
    seat->latest_us = known->latest->at_us;
    seat->readings = known->readings;
}

/* The likeliest of a seat's pairs that is not `except`, and, if asked for, that is at no other seat. */
static const wh_match_edge *likeliest(const work *w, unsigned seat, size_t except, bool unplaced)
{
    const wh_match_edge *best = NULL;
    for (size_t i = 0; i < w->match.edge_count; i++) {
        const wh_match_edge *edge = &w->match.edges[i];
        if (edge->seat == seat && edge->sensor != except && !(unplaced && w->taken[edge->sensor]) &&
            (!best || edge->odds > best->odds))
            best = edge;
    }
    return best && best->odds > 0.0 ? best : NULL;
}

static void fill_open_seat(const work *w, wh_seat *seat, unsigned p)
{
    seat->empty_odds = w->match.empty_odds[p];
    const wh_match_edge *chosen = w->match.best[p] == WH_MATCH_NONE ? NULL : &w->match.edges[w->match.best[p]];
    /* When "nothing" is the likeliest single answer but far from sure, the seat still names who it might be. */
    if (!chosen) {
        chosen = likeliest(w, p, NOBODY, true);
        if (chosen && chosen->odds < NAMED_ODDS)
            chosen = NULL;
    }
    if (chosen) {
        show_witness(w, seat, chosen->sensor);
        seat->odds = chosen->odds;
    }
    const wh_match_edge *second = likeliest(w, p, chosen ? chosen->sensor : NOBODY, false);
    if (second) {
        snprintf(seat->runner_up, sizeof seat->runner_up, "%s", w->log.witnesses[second->sensor].sensor);
        seat->runner_up_odds = second->odds;
    }
}

/* Whether what was heard alone would not tell that this seat's and its mate's sensors are not the other way round. */
static bool mates_not_told(const work *w, unsigned p)
{
    for (unsigned q = 0; q < w->unit->wheel_count; q++) {
        const wh_position a = w->unit->wheels[p].position, b = w->unit->wheels[q].position;
        if (q == p || a.axle != b.axle || a.side != b.side)
            continue;
        double straight = 0.0, crossed = 0.0;
        if (w->at_seat[p] != NOBODY) {
            straight += w->weights.heard[w->at_seat[p] * w->weights.seat_count + p];
            crossed += w->weights.heard[w->at_seat[p] * w->weights.seat_count + q];
        }
        if (w->at_seat[q] != NOBODY) {
            straight += w->weights.heard[w->at_seat[q] * w->weights.seat_count + q];
            crossed += w->weights.heard[w->at_seat[q] * w->weights.seat_count + p];
        }
        return straight - crossed < log(MATES_TOLD_ODDS) && !w->log.seats[p].bind && !w->log.seats[q].bind;
    }
    return false;
}

static unsigned count_unknown(const work *w, unsigned p)
{
    /* Without a single reading there is no level to compare with: then with the strongest of the bursts themselves. */
    double reference = w->model.reference_dbfs;
    if (w->log.level_count == 0)
        for (size_t i = 0; i < w->log.unknown_count; i++)
            reference = i == 0 ? w->log.unknowns[i].level_dbfs : fmax(reference, w->log.unknowns[i].level_dbfs);
    unsigned count = 0;
    for (size_t i = 0; i < w->log.unknown_count; i++)
        count += w->log.unknowns[i].seat == (int)p && w->log.unknowns[i].level_dbfs >= reference + STRONG_DB;
    return count;
}

static wh_seat_state state_of(const wh_seat *seat, double sure_odds)
{
    if (seat->sensor[0] == '\0')
        return WH_SEAT_NOTHING;
    return seat->odds >= sure_odds ? WH_SEAT_SURE : WH_SEAT_UNSURE;
}

static void fill_seat(const work *w, unsigned p)
{
    const wh_log_seat *known = &w->log.seats[p];
    wh_seat *seat = &w->out->seats[p];
    *seat = (wh_seat){.position = w->unit->wheels[p].position,
                      .woken = known->woken,
                      .stood_s = known->stood_s,
                      .listened_s = w->log.listened_s,
                      .unknown_bursts = count_unknown(w, p)};
    if (known->bind) {
        snprintf(seat->sensor, sizeof seat->sensor, "%s", known->bind->heard.sensor);
        if (w->bound[p] != NOBODY)
            show_witness(w, seat, w->bound[p]);
        seat->odds = bound_odds(w, p);
        seat->state = WH_SEAT_BOUND;
        return;
    }
    fill_open_seat(w, seat, p);
    seat->mates_by_record = seat->sensor[0] != '\0' && mates_not_told(w, p);
    seat->state = known->visited ? state_of(seat, WH_SURE_ODDS) : WH_SEAT_NOT_VISITED;
}

static int strongest_first(const void *a, const void *b)
{
    const wh_stranger *x = a, *y = b;
    if (x->best_dbfs != y->best_dbfs)
        return x->best_dbfs > y->best_dbfs ? -1 : 1;
    return strcmp(x->sensor, y->sensor);
}

static wh_status fill_strangers(work *w)
{
    wh_attribution *out = w->out;
    size_t count = 0;
    for (size_t i = 0; i < w->log.witness_count; i++)
        count += w->taken[i] == 0;
    out->strangers = calloc(count + 1, sizeof *out->strangers);
    if (!out->strangers)
        return WH_ERR_MEMORY;
    for (size_t i = 0; i < w->log.witness_count; i++) {
        const wh_witness *known = &w->log.witnesses[i];
        if (w->taken[i])
            continue;
        wh_stranger *stranger = &out->strangers[out->stranger_count++];
        *stranger = (wh_stranger){.odds = fmax(1.0 - w->somewhere[i], 0.0),
                                  .best_dbfs = known->best_dbfs,
                                  .nearest = known->nearest,
                                  .readings = known->readings,
                                  .latest = known->latest->heard,
                                  .latest_us = known->latest->at_us};
        snprintf(stranger->sensor, sizeof stranger->sensor, "%s", known->sensor);
    }
    qsort(out->strangers, out->stranger_count, sizeof *out->strangers, strongest_first);
    return WH_OK;
}

static wh_status work_out(work *w, const wh_roster *roster, const wh_sweep *sweep, int64_t after_id)
{
    wh_status status = wh_walk_log_make(&w->log, w->unit, sweep, after_id);
    if (status == WH_OK)
        status = wh_level_model_make(&w->model, &w->log);
    if (status == WH_OK)
        status = wh_seat_weights_make(&w->weights, roster, &w->log, &w->model);
    if (status != WH_OK)
        return status;
    w->taken = calloc(w->log.witness_count + 1, sizeof *w->taken);
    w->somewhere = calloc(w->log.witness_count + 1, sizeof *w->somewhere);
    if (!w->taken || !w->somewhere)
        return WH_ERR_MEMORY;
    find_bound(w);
    status = match_them(w);
    if (status != WH_OK)
        return status;
    memcpy(w->out->unit, w->unit->name, sizeof w->out->unit);
    w->out->seat_count = w->unit->wheel_count;
    for (unsigned p = 0; p < w->unit->wheel_count; p++)
        fill_seat(w, p);
    return fill_strangers(w);
}

wh_status wh_attribute(const wh_roster *roster, const wh_sweep *sweep, const char *unit, int64_t after_id,
                       wh_attribution **out, wh_error *error)
{
    *out = NULL;
    work w = {.unit = wh_roster_find(roster, unit)};
    if (!w.unit)
        return wh_fail(error, WH_ERR_NOT_FOUND, "check its number, or add it to the roster",
                       "no unit '%s' in the roster", unit);
    w.out = calloc(1, sizeof *w.out);
    wh_status status = w.out ? work_out(&w, roster, sweep, after_id) : WH_ERR_MEMORY;
    if (status == WH_OK)
        *out = w.out;
    else
        wh_attribution_free(&w.out);
    free(w.match.edges);
    free(w.taken);
    free(w.somewhere);
    wh_seat_weights_free(&w.weights);
    wh_level_model_free(&w.model);
    wh_walk_log_free(&w.log);
    if (status != WH_OK)
        return wh_fail(error, status, NULL, "which sensor is at which wheel of '%s' could not be worked out: %s", unit,
                       wh_status_name(status));
    return WH_OK;
}

void wh_attribution_set_sure(wh_attribution *attribution, double sure_odds)
{
    for (unsigned p = 0; p < attribution->seat_count; p++) {
        wh_seat *seat = &attribution->seats[p];
        if (seat->state == WH_SEAT_SURE || seat->state == WH_SEAT_UNSURE)
            seat->state = state_of(seat, sure_odds);
    }
}

void wh_attribution_free(wh_attribution **attribution)
{
    if (!*attribution)
        return;
    free((*attribution)->strangers);
    free(*attribution);
    *attribution = NULL;
}
