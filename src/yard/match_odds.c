#include "match_odds.h"

#include "assignment.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* Pairs whose slack exceeds a limit are in no matching heavier than e^-limit of the best: they are dealt with roughly (see
 * add_rough_ones). The first limit is tried first; when too much has to be left out, the next. */
static const double slack_limits[] = {14.0, 8.0, 6.0, 5.0, 4.0, 3.5, 3.0, 2.5, 2.0};
#define LIMITS (sizeof slack_limits / sizeof *slack_limits)
/* Not worth a second thought: e^-20 is 2e-9. */
#define SLACK_NEVER 20.0
#define UNSEEN_MOST 1e-3
/* More seats open at once are not even tried but with the last limit: most of the time too much would be left out. */
#define OPEN_MOST   12
#define STATES_MOST 400u
#define HASH_SIZE   16384u /* a power of two above the states one step can make before the lightest are left out */
#define MADE_MOST   (HASH_SIZE / 2)
/* Ways lighter than this are left out at once; the best matching's weighs 1 at every step. */
#define LIGHTEST 1e-7

/* Matchings of the sensors dealt with so far that agree in which open seats are taken. */
typedef struct state {
    uint64_t taken;
    double weight; /* of all ways to get here; 1: the best matching's */
    double onward; /* of all ways from here to the end */
} state;

/* One way from a state to one of the next step. */
typedef struct move {
    uint32_t from, to;
    size_t edge; /* WH_MATCH_NONE: the sensor is at no seat */
    double factor;
} move;

typedef struct step {
    size_t first_state, state_count;
    size_t first_move, move_count; /* moves that led here */
} step;

typedef struct sums {
    wh_match *match;
    double filled[WH_MATCH_SEATS_MAX], empty[WH_MATCH_SEATS_MAX]; /* a seat's factor at its end */
    double rough[WH_MATCH_SEATS_MAX];                             /* what is added to `empty` for its rough pairs */
    double least_exact;                                           /* factor */
    double *factor;                                               /* by edge; 0: out of the question */
    double *free_of;                                              /* by sensor: factor when it is at no seat */
    size_t *sensors;                                              /* those with edges left, in order of dealing */
    size_t sensor_count;
    size_t *edge_begin; /* by sensor, sensor_count + 1 */
    uint64_t *ends;     /* by place in `sensors`: seats nobody competes for afterwards */
    step *steps;
    state *states;
    size_t states_used, states_room;
    move *moves;
    size_t moves_used, moves_room;
    uint32_t hash[HASH_SIZE]; /* state index within the step + 1 */
    double left_out;          /* weight left out in this step */
} sums;

static int by_sensor(const void *a, const void *b)
{
    const wh_match_edge *x = a, *y = b;
    if (x->sensor != y->sensor)
        return x->sensor < y->sensor ? -1 : 1;
    return (x->seat > y->seat) - (x->seat < y->seat);
}

static void *make_room(void *items, size_t *room, size_t wanted, size_t size)
{
    if (wanted <= *room)
        return items;
    const size_t bigger = wanted * 2;
    void *more = realloc(items, bigger * size);
    if (more)
        *room = bigger;
    return more;
}

/* The best matching, and every factor relative to it: see wh_assign for why the slacks add up to the difference. */
static wh_status solve_best(sums *s)
{
    wh_match *match = s->match;
    const size_t rows = match->seat_count, columns = match->sensor_count + rows;
    double *cost = malloc(rows * columns * sizeof *cost);
    double *prices = malloc((rows + columns) * sizeof *prices);
    size_t *chosen = malloc(rows * sizeof *chosen);
    wh_status status = cost && prices && chosen ? WH_OK : WH_ERR_MEMORY;
    if (status == WH_OK) {
        for (size_t i = 0; i < rows * columns; i++)
            cost[i] = INFINITY;
        for (size_t i = 0; i < match->edge_count; i++)
            cost[match->edges[i].seat * columns + match->edges[i].sensor] = -match->edges[i].log_weight;
        for (size_t p = 0; p < rows; p++)
            cost[p * columns + match->sensor_count + p] = -match->log_empty[p];
        status = wh_assign(cost, rows, columns, chosen, prices, prices + rows);
    }
    if (status == WH_OK) {
        const double *row_price = prices, *column_price = prices + rows;
        for (size_t i = 0; i < match->edge_count; i++) {
            const wh_match_edge *edge = &match->edges[i];
            const double slack = -edge->log_weight - row_price[edge->seat] - column_price[edge->sensor];
            s->factor[i] = slack > SLACK_NEVER ? 0.0 : exp(slack > 0.0 ? -slack : 0.0);
            if (chosen[edge->seat] == edge->sensor)
                match->best[edge->seat] = i;
        }
        for (size_t p = 0; p < rows; p++) {
            const double price = column_price[match->sensor_count + p];
            s->filled[p] = exp(price);
            s->empty[p] = exp(match->log_empty[p] + row_price[p] + price);
        }
        for (size_t i = 0; i < match->sensor_count; i++)
            s->free_of[i] = exp(column_price[i]);
    }
    free(cost);
    free(prices);
    free(chosen);
    return status;
}

static bool is_exact(const sums *s, size_t edge)
{
    return s->factor[edge] >= s->least_exact;
}

/* Sensors with an exact edge, ordered by where they most likely are: then seats next to each other end soon one after the other,
 * and few stay open. */
typedef struct ranked {
    double key;
    size_t sensor;
} ranked;

static int by_key(const void *a, const void *b)
{
    const ranked *x = a, *y = b;
    if (x->key != y->key)
        return x->key < y->key ? -1 : 1;
    return (x->sensor > y->sensor) - (x->sensor < y->sensor);
}

static wh_status put_in_order(sums *s)
{
    const wh_match *match = s->match;
    ranked *order = malloc((match->sensor_count + 1) * sizeof *order);
    if (!order)
        return WH_ERR_MEMORY;
    s->sensor_count = 0;
    for (size_t i = 0; i < match->sensor_count; i++) {
        double best = 0.0, key = 0.0;
        for (size_t e = s->edge_begin[i]; e < s->edge_begin[i + 1]; e++) {
            if (is_exact(s, e) && s->factor[e] > best) {
                best = s->factor[e];
                key = match->edges[e].seat;
            }
        }
        if (best > 0.0)
            order[s->sensor_count++] = (ranked){key, i};
    }
    qsort(order, s->sensor_count, sizeof *order, by_key);
    for (size_t i = 0; i < s->sensor_count; i++)
        s->sensors[i] = order[i].sensor;
    free(order);
    uint64_t later = 0;
    for (size_t i = s->sensor_count; i-- > 0;) {
        uint64_t mine = 0;
        for (size_t e = s->edge_begin[s->sensors[i]]; e < s->edge_begin[s->sensors[i] + 1]; e++)
            if (is_exact(s, e))
                mine |= UINT64_C(1) << match->edges[e].seat;
        s->ends[i] = mine & ~later;
        later |= mine;
    }
    return WH_OK;
}

/* The most seats that are open at once in this order. */
static int most_open(const sums *s)
{
    int open = 0, most = 0;
    uint64_t begun = 0;
    for (size_t i = 0; i < s->sensor_count; i++) {
        for (size_t e = s->edge_begin[s->sensors[i]]; e < s->edge_begin[s->sensors[i] + 1]; e++) {
            const uint64_t seat = UINT64_C(1) << s->match->edges[e].seat;
            if (is_exact(s, e) && !(begun & seat)) {
                begun |= seat;
                open++;
            }
        }
        most = open > most ? open : most;
        open -= __builtin_popcountll(s->ends[i]);
    }
    return most;
}

/* The state of the step being made, found or made; NULL when memory is out. */
static state *state_for(sums *s, const step *now, uint64_t taken, uint32_t *index)
{
    size_t slot = (size_t)((taken * 0x9e3779b97f4a7c15u) >> 50) & (HASH_SIZE - 1);
    for (; s->hash[slot]; slot = (slot + 1) & (HASH_SIZE - 1)) {
        state *known = &s->states[now->first_state + s->hash[slot] - 1];
        if (known->taken == taken) {
            *index = s->hash[slot] - 1;
            return known;
        }
    }
    state *states = make_room(s->states, &s->states_room, s->states_used + 1, sizeof *s->states);
    if (!states)
        return NULL;
    s->states = states;
    *index = (uint32_t)(s->states_used - now->first_state);
    s->hash[slot] = *index + 1;
    state *made = &s->states[s->states_used++];
    *made = (state){.taken = taken};
    return made;
}

/* One way on: take the seat of `edge` (or none), and close the seats that end here. */
static wh_status move_on(sums *s, step *now, const state *from, uint32_t from_index, size_t edge, double factor,
                         uint64_t ends)
{
    uint64_t taken = from->taken;
    const double weight = from->weight;
    if (edge != WH_MATCH_NONE)
        taken |= UINT64_C(1) << s->match->edges[edge].seat;
    for (uint64_t left = ends; left; left &= left - 1) {
        const unsigned seat = (unsigned)__builtin_ctzll(left);
        factor *= taken >> seat & 1 ? s->filled[seat] : s->empty[seat] + s->rough[seat];
    }
    taken &= ~ends;
    uint32_t index = 0;
    state *to = state_for(s, now, taken, &index);
    move *moves = make_room(s->moves, &s->moves_room, s->moves_used + 1, sizeof *s->moves);
    if (!to || !moves)
        return WH_ERR_MEMORY;
    s->moves = moves;
    to->weight += weight * factor;
    s->moves[s->moves_used++] = (move){from_index, index, edge, factor};
    now->move_count++;
    return WH_OK;
}

#define WEIGHT_BINS 64

/* 0: as heavy as the best matching, then one for each halving. */
static unsigned weight_bin(double weight)
{
    const int halvings = weight > 0.0 ? -ilogb(weight) : WEIGHT_BINS;
    return halvings <= 0 ? 0 : halvings < WEIGHT_BINS ? (unsigned)halvings : WEIGHT_BINS - 1;
}

/* Leave the lightest states of a step out: their weight becomes 0. Of about equal ones the first stay. */
static void thin_out(sums *s, const step *now)
{
    state *states = s->states + now->first_state;
    double all = s->left_out;
    size_t count[WEIGHT_BINS] = {0};
    for (size_t i = 0; i < now->state_count; i++) {
        all += states[i].weight;
        count[weight_bin(states[i].weight)]++;
    }
    unsigned last = 0;
    size_t room = STATES_MOST;
    while (last + 1 < WEIGHT_BINS && count[last] <= room)
        room -= count[last++];
    for (size_t i = 0; i < now->state_count; i++) {
        const unsigned bin = weight_bin(states[i].weight);
        if (bin < last || (bin == last && room > 0 && room--))
            continue;
        s->left_out += states[i].weight;
        states[i].weight = 0.0;
    }
    s->match->unseen = 1.0 - (1.0 - s->match->unseen) * (1.0 - s->left_out / all);
}

static wh_status make_step(sums *s, size_t i)
{
    const step *before = &s->steps[i];
    step *now = &s->steps[i + 1];
    *now = (step){.first_state = s->states_used, .first_move = s->moves_used};
    memset(s->hash, 0, sizeof s->hash);
    s->left_out = 0.0;
    const size_t sensor = s->sensors[i];
    wh_status status = WH_OK;
    for (size_t k = 0; k < before->state_count && status == WH_OK; k++) {
        const state from = s->states[before->first_state + k];
        if (from.weight == 0.0)
            continue;
        status = move_on(s, now, &from, (uint32_t)k, WH_MATCH_NONE, s->free_of[sensor], s->ends[i]);
        for (size_t e = s->edge_begin[sensor]; e < s->edge_begin[sensor + 1] && status == WH_OK; e++) {
            if (!is_exact(s, e) || from.taken >> s->match->edges[e].seat & 1)
                continue;
            if (from.weight * s->factor[e] < LIGHTEST || s->states_used - now->first_state >= MADE_MOST)
                s->left_out += from.weight * s->factor[e];
            else
                status = move_on(s, now, &from, (uint32_t)k, e, s->factor[e], s->ends[i]);
        }
    }
    now->state_count = s->states_used - now->first_state;
    if (status == WH_OK)
        thin_out(s, now);
    return status;
}

/* Back from the end: what each way contributes. */
static void collect(sums *s)
{
    wh_match *match = s->match;
    const step *last = &s->steps[s->sensor_count];
    double total = 0.0;
    for (size_t k = 0; k < last->state_count; k++) {
        s->states[last->first_state + k].onward = 1.0;
        total += s->states[last->first_state + k].weight;
    }
    const double scale = (1.0 - match->unseen) / total;
    for (size_t i = s->sensor_count; i > 0; i--) {
        const step *now = &s->steps[i];
        state *to = s->states + now->first_state, *from = s->states + s->steps[i - 1].first_state;
        for (size_t m = 0; m < now->move_count; m++) {
            const move *way = &s->moves[now->first_move + m];
            if (to[way->to].weight == 0.0)
                continue;
            const double onward = way->factor * to[way->to].onward;
            from[way->from].onward += onward;
            if (way->edge != WH_MATCH_NONE)
                match->edges[way->edge].odds += from[way->from].weight * onward * scale;
        }
    }
}

/* Exact pairs only; stops early when much has to be left out, unless `at_any_cost`. */
static wh_status add_up(sums *s, bool at_any_cost)
{
    for (size_t i = 0; i < s->match->edge_count; i++)
        s->match->edges[i].odds = 0.0;
    s->match->unseen = 0.0;
    s->moves_used = 0;
    s->states[0] = (state){.weight = 1.0};
    s->states_used = 1;
    s->steps[0] = (step){.state_count = 1};
    wh_status status = WH_OK;
    for (size_t i = 0; i < s->sensor_count && status == WH_OK; i++) {
        status = make_step(s, i);
        if (s->match->unseen > UNSEEN_MOST && !at_any_cost)
            return status;
    }
    if (status == WH_OK)
        collect(s);
    return status;
}

static double at_no_seat(const sums *s, size_t sensor)
{
    double odds = 1.0;
    for (size_t e = s->edge_begin[sensor]; e < s->edge_begin[sensor + 1]; e++)
        odds -= s->match->edges[e].odds;
    return odds > 0.0 ? odds : 0.0;
}

/* A rough pair's sensor goes to its seat while the others are as they would be without it: in place of "at no seat", of which
 * the odds are known from the exact pairs, and "empty", of which the weight grows by this. That two seats could take the same
 * sensor this way is of second order in what is small; going round again with the odds so found changes nothing to speak of. */
static double rough_weight(const sums *s, size_t edge)
{
    const wh_match_edge *pair = &s->match->edges[edge];
    if (is_exact(s, edge) || s->factor[edge] == 0.0 || s->free_of[pair->sensor] <= 0.0)
        return 0.0;
    return s->filled[pair->seat] * s->factor[edge] * at_no_seat(s, pair->sensor) / s->free_of[pair->sensor];
}

/* The odds of rough pairs are their shares of what was added up as "empty". */
static void share_out_empty(sums *s, const double *weight)
{
    wh_match *match = s->match;
    double empty_odds[WH_MATCH_SEATS_MAX];
    for (size_t p = 0; p < match->seat_count; p++)
        empty_odds[p] = 1.0 - match->unseen;
    for (size_t i = 0; i < match->edge_count; i++)
        empty_odds[match->edges[i].seat] -= match->edges[i].odds;
    for (size_t i = 0; i < match->edge_count; i++) {
        wh_match_edge *edge = &match->edges[i];
        if (weight[i] > 0.0)
            edge->odds = fmax(empty_odds[edge->seat], 0.0) * weight[i] / (s->empty[edge->seat] + s->rough[edge->seat]);
    }
}

static wh_status add_rough_ones(sums *s, bool at_any_cost)
{
    wh_match *match = s->match;
    double *weight = calloc(match->edge_count + 1, sizeof *weight);
    if (!weight)
        return WH_ERR_MEMORY;
    double sum = 0.0;
    for (size_t i = 0; i < match->edge_count; i++) {
        weight[i] = rough_weight(s, i);
        s->rough[match->edges[i].seat] += weight[i];
        sum += weight[i];
    }
    wh_status status = sum > 0.0 ? add_up(s, at_any_cost) : WH_OK;
    if (status == WH_OK && sum > 0.0 && (at_any_cost || match->unseen <= UNSEEN_MOST))
        share_out_empty(s, weight);
    free(weight);
    return status;
}

static wh_status add_up_as_exactly_as_possible(sums *s)
{
    s->states = make_room(NULL, &s->states_room, 1024, sizeof *s->states);
    if (!s->states)
        return WH_ERR_MEMORY;
    wh_status status = WH_OK;
    for (size_t i = 0; i < LIMITS && status == WH_OK; i++) {
        const bool last = i + 1 == LIMITS;
        s->least_exact = exp(-slack_limits[i]);
        status = put_in_order(s);
        if (status != WH_OK || (!last && most_open(s) > OPEN_MOST))
            continue;
        status = add_up(s, last);
        if (status == WH_OK && (last || s->match->unseen <= UNSEEN_MOST))
            status = add_rough_ones(s, last);
        if (s->match->unseen <= UNSEEN_MOST)
            break;
        memset(s->rough, 0, sizeof s->rough);
    }
    return status;
}

static void prepare(wh_match *match)
{
    if (match->edge_count > 0)
        qsort(match->edges, match->edge_count, sizeof *match->edges, by_sensor);
    for (size_t p = 0; p < match->seat_count; p++)
        match->best[p] = WH_MATCH_NONE;
}

static void find_edges(sums *s)
{
    const wh_match *match = s->match;
    size_t e = 0;
    for (size_t i = 0; i <= match->sensor_count; i++) {
        while (e < match->edge_count && match->edges[e].sensor < i)
            e++;
        s->edge_begin[i] = e;
    }
}

wh_status wh_match_odds(wh_match *match)
{
    if (match->seat_count > WH_MATCH_SEATS_MAX)
        return WH_ERR_ARGUMENT;
    for (size_t i = 0; i < match->edge_count; i++)
        if (match->edges[i].seat >= match->seat_count || match->edges[i].sensor >= match->sensor_count ||
            !isfinite(match->edges[i].log_weight))
            return WH_ERR_ARGUMENT;
    prepare(match);
    sums *s = calloc(1, sizeof *s);
    if (!s)
        return WH_ERR_MEMORY;
    const size_t sensors = match->sensor_count;
    s->match = match;
    s->factor = calloc(match->edge_count + 1, sizeof *s->factor);
    s->free_of = calloc(sensors + 1, sizeof *s->free_of);
    s->sensors = calloc(sensors + 1, sizeof *s->sensors);
    s->edge_begin = calloc(sensors + 1, sizeof *s->edge_begin);
    s->ends = calloc(sensors + 1, sizeof *s->ends);
    s->steps = calloc(sensors + 1, sizeof *s->steps);
    wh_status status =
        s->factor && s->free_of && s->sensors && s->edge_begin && s->ends && s->steps ? WH_OK : WH_ERR_MEMORY;
    if (status == WH_OK) {
        find_edges(s);
        status = solve_best(s);
    }
    if (status == WH_OK)
        status = add_up_as_exactly_as_possible(s);
    for (size_t p = 0; p < match->seat_count; p++)
        match->empty_odds[p] = 1.0 - match->unseen;
    for (size_t i = 0; i < match->edge_count && status == WH_OK; i++)
        match->empty_odds[match->edges[i].seat] -= match->edges[i].odds;
    for (size_t p = 0; p < match->seat_count; p++)
        match->empty_odds[p] = fmax(match->empty_odds[p], 0.0);
    free(s->factor);
    free(s->free_of);
    free(s->sensors);
    free(s->edge_begin);
    free(s->ends);
    free(s->steps);
    free(s->states);
    free(s->moves);
    free(s);
    return status;
}
