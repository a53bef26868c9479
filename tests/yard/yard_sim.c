#include "yard_sim.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define ACTORS_MOST 1200

typedef struct yard {
    const sim_case *sim;
    wh_rng rng;
    wh_unit units[WH_WALK_UNITS_MAX];
    unsigned unit_count;
    wh_roster *roster;
    wh_walk_world world;
    wh_walk_actor actors[ACTORS_MOST];
    size_t actor_count;
    char truth[WH_WHEELS_MAX][WH_SENSOR_SIZE]; /* of unit 0; empty: no sensor that sends */
    unsigned next_id;
} yard;

void sim_case_usual(sim_case *sim)
{
    *sim = (sim_case){.axles = 2,
                      .dual = {true, true},
                      .kind = WH_TRAILER,
                      .neighbours = 2,
                      .neighbours_on_record = true,
                      .passing = 4,
                      .sends_itself = 0.2,
                      .new_sensor = 0.10,
                      .dead = 0.05,
                      .pair_crossed = 0.03,
                      .crossed = 0.10,
                      .exchanged = 0.03};
    wh_walk_settings_usual(&sim->air);
    wh_walk_habits_usual(&sim->habits);
}

static bool chance(yard *y, double probability)
{
    return wh_rng_uniform(&y->rng) < probability;
}

static void new_id(yard *y, char id[WH_SENSOR_SIZE])
{
    /* Multiplied so that IDs have no order that could help. */
    snprintf(id, WH_SENSOR_SIZE, "%08X", (y->next_id++ + 1) * 2654435761u);
}

static int make_units(yard *y)
{
    y->unit_count = 1 + y->sim->neighbours;
    for (unsigned u = 0; u < y->unit_count; u++) {
        char name[WH_UNIT_NAME_SIZE];
        snprintf(name, sizeof name, "U%u", u);
        if (wh_unit_make(&y->units[u], name, y->sim->kind, y->sim->axles, y->sim->dual, NULL) != WH_OK)
            return -1;
        for (unsigned w = 0; w < y->units[u].wheel_count; w++)
            new_id(y, y->units[u].wheels[w].sensor);
        wh_unit recorded = y->units[u];
        for (unsigned w = 0; w < recorded.wheel_count && u > 0 && !y->sim->neighbours_on_record; w++)
            recorded.wheels[w].sensor[0] = '\0';
        if (wh_roster_put(y->roster, &recorded, NULL) != WH_OK)
            return -1;
    }
    return 0;
}

static void cross(yard *y, unsigned a, unsigned b)
{
    char held[WH_SENSOR_SIZE];
    memcpy(held, y->truth[a], sizeof held);
    memcpy(y->truth[a], y->truth[b], sizeof held);
    memcpy(y->truth[b], held, sizeof held);
}

/* Tires go from unit to unit without anybody writing it down. */
static void exchange(yard *y, unsigned wheel)
{
    wh_unit *other = &y->units[1 + wh_rng_below(&y->rng, y->unit_count - 1)];
    char *theirs = other->wheels[wh_rng_below(&y->rng, other->wheel_count)].sensor, held[WH_SENSOR_SIZE];
    memcpy(held, theirs, sizeof held);
    memcpy(theirs, y->truth[wheel], sizeof held);
    memcpy(y->truth[wheel], held, sizeof held);
}

/* What really is at the wheels of unit 0, against the record. */
static void plant_faults(yard *y)
{
    const wh_unit *unit = &y->units[0];
    const unsigned count = unit->wheel_count;
    for (unsigned w = 0; w < count; w++)
        memcpy(y->truth[w], unit->wheels[w].sensor, WH_SENSOR_SIZE);
    for (unsigned a = 0; a < count; a++)
        for (unsigned b = a + 1; b < count; b++) {
            const wh_position p = unit->wheels[a].position, q = unit->wheels[b].position;
            if (p.axle == q.axle && p.side == q.side && chance(y, y->sim->pair_crossed))
                cross(y, a, b);
        }
    if (chance(y, y->sim->crossed)) {
        const unsigned a = (unsigned)wh_rng_below(&y->rng, count);
        cross(y, a, (a + 1 + (unsigned)wh_rng_below(&y->rng, count - 1)) % count);
    }
    for (unsigned w = 0; w < count; w++) {
        if (y->unit_count > 1 && chance(y, y->sim->exchanged))
            exchange(y, w);
        if (chance(y, y->sim->new_sensor))
            new_id(y, y->truth[w]);
        if (chance(y, y->sim->dead))
            y->truth[w][0] = '\0';
    }
    for (unsigned n = 0; n < y->sim->dead_count; n++)
        y->truth[wh_rng_below(&y->rng, count)][0] = '\0';
}

static void add_actors(yard *y)
{
    for (unsigned u = 0; u < y->unit_count; u++) {
        for (unsigned w = 0; w < y->units[u].wheel_count; w++) {
            const char *id = u == 0 ? y->truth[w] : y->units[u].wheels[w].sensor;
            if (*id == '\0' || y->actor_count >= ACTORS_MOST)
                continue;
            wh_walk_actor *actor = &y->actors[y->actor_count];
            wh_walk_actor_at_wheel(actor, &y->world, id, u, y->units[u].wheels[w].position, (unsigned)y->actor_count,
                                   &y->rng);
            if (chance(y, y->sim->sends_itself))
                actor->interval_s = 40.0 + 40.0 * wh_rng_uniform(&y->rng);
            y->actor_count++;
        }
    }
    for (unsigned i = 0; i < y->sim->passing && y->actor_count < ACTORS_MOST; i++) {
        char id[WH_SENSOR_SIZE];
        new_id(y, id);
        wh_walk_actor_passing(&y->actors[y->actor_count], &y->world, id, 90.0, (unsigned)y->actor_count, &y->rng);
        y->actor_count++;
    }
}

static bool was_heard(const wh_event *events, size_t count, const char *sensor)
{
    for (size_t i = 0; i < count; i++)
        if (events[i].kind == WH_EVENT_HEARD && strcmp(events[i].heard.sensor, sensor) == 0)
            return true;
    return false;
}

/* What one would do without a model: the sensor heard strongest while standing at the wheel. */
static const char *strongest_at(const wh_event *events, size_t count, wh_position position)
{
    const char *sensor = "";
    double level = -INFINITY;
    bool here = false;
    for (size_t i = 0; i < count; i++) {
        if (events[i].kind == WH_EVENT_STAND || events[i].kind == WH_EVENT_LEAVE)
            here = events[i].kind == WH_EVENT_STAND && strcmp(events[i].unit, "U0") == 0 &&
                   wh_position_equal(events[i].position, position);
        if (here && events[i].kind == WH_EVENT_HEARD && events[i].heard.level_dbfs > level) {
            level = events[i].heard.level_dbfs;
            sensor = events[i].heard.sensor;
        }
    }
    return sensor;
}

static void count_named(sim_score *score, const wh_seat *seat, bool right)
{
    const int bin = (int)fmin(fmax(seat->odds * SIM_BINS, 0.0), SIM_BINS - 1);
    score->named++;
    score->named_right += right;
    score->bin[bin]++;
    score->bin_right[bin] += right;
    score->bin_odds[bin] += seat->odds;
    score->odds += seat->odds;
}

static bool right_for_mate(const yard *y, unsigned p, const char *sensor)
{
    for (unsigned q = 0; q < y->units[0].wheel_count; q++) {
        const wh_position a = y->units[0].wheels[p].position, b = y->units[0].wheels[q].position;
        if (a.axle == b.axle && a.side == b.side && strcmp(y->truth[q], sensor) == 0)
            return true;
    }
    return false;
}

static void add_score(const yard *y, const wh_attribution *attribution, const wh_event *events, size_t count,
                      sim_score *score)
{
    for (unsigned p = 0; p < attribution->seat_count; p++) {
        const wh_seat *seat = &attribution->seats[p];
        const char *truth = y->truth[p], *recorded = y->units[0].wheels[p].sensor;
        const bool names = seat->sensor[0] != '\0', right = names && strcmp(seat->sensor, truth) == 0;
        const bool heard = *truth && was_heard(events, count, truth);
        if (names)
            count_named(score, seat, right);
        score->sure_wrong += seat->state == WH_SEAT_SURE && !right;
        score->false_faults += seat->state == WH_SEAT_SURE && !right && strcmp(seat->sensor, recorded) != 0;
        if (!heard) {
            score->mute++;
            score->mute_empty += !names;
            continue;
        }
        score->seats++;
        score->right += right;
        score->strongest_right += strcmp(strongest_at(events, count, seat->position), truth) == 0;
        score->pair_right += names && right_for_mate(y, p, seat->sensor);
        score->sure += seat->state == WH_SEAT_SURE;
        if (strcmp(truth, recorded) != 0) {
            score->faults++;
            score->faults_found += right;
        }
    }
}

static int walk_round(yard *y, uint64_t seed, wh_event **events, size_t *count)
{
    const wh_unit *pointers[WH_WALK_UNITS_MAX];
    unsigned round[WH_WALK_UNITS_MAX];
    for (unsigned u = 0; u < y->unit_count; u++) {
        pointers[u] = &y->units[u];
        round[u] = u;
    }
    wh_walk_world_make(&y->world, &y->sim->air, pointers, y->unit_count, seed);
    plant_faults(y);
    add_actors(y);
    return wh_walk_script(&y->world, y->actors, y->actor_count, &y->sim->habits, round,
                          y->sim->neighbours_swept ? y->unit_count : 1, seed + 1, events, count) == WH_OK
               ? 0
               : -1;
}

/* A yard, and the events of the walk round it. */
static yard *make_yard(const sim_case *sim, uint64_t seed, wh_event **events, size_t *count)
{
    yard *y = calloc(1, sizeof *y);
    if (!y)
        return NULL;
    y->sim = sim;
    y->roster = wh_roster_create();
    wh_rng_seed(&y->rng, seed);
    if (y->roster && make_units(y) == 0 && walk_round(y, seed, events, count) == 0)
        return y;
    wh_roster_destroy(&y->roster);
    free(y);
    return NULL;
}

int sim_run(const sim_case *sim, uint64_t seed, sim_score *score)
{
    wh_event *events = NULL;
    size_t count = 0;
    yard *y = make_yard(sim, seed, &events, &count);
    if (!y)
        return -1;
    const wh_sweep sweep = {.events = events, .event_count = count};
    wh_attribution *attribution;
    const wh_status status = wh_attribute(y->roster, &sweep, "U0", 0, &attribution, NULL);
    if (status == WH_OK)
        add_score(y, attribution, events, count, score);
    wh_attribution_free(&attribution);
    free(events);
    wh_roster_destroy(&y->roster);
    free(y);
    return status == WH_OK ? 0 : -1;
}

static double now_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec * 1e-6;
}

int sim_time(const sim_case *sim, uint64_t seed, sim_timing *timing)
{
    wh_event *events = NULL;
    size_t count = 0;
    yard *y = make_yard(sim, seed, &events, &count);
    if (!y)
        return -1;
    wh_status status = WH_OK;
    unsigned readings = 0;
    for (size_t i = 0; i < count && status == WH_OK; i++) {
        if (events[i].kind != WH_EVENT_HEARD || readings++ % timing->every != 0)
            continue;
        const wh_sweep sweep = {.events = events, .event_count = i + 1};
        wh_attribution *attribution;
        const double begin = now_ms();
        status = wh_attribute(y->roster, &sweep, "U0", 0, &attribution, NULL);
        const double took = now_ms() - begin;
        if (status != WH_OK)
            break;
        timing->calls++;
        timing->sum_ms += took;
        timing->most_ms = fmax(timing->most_ms, took);
        timing->sensors = attribution->stranger_count;
        for (unsigned p = 0; p < attribution->seat_count; p++)
            timing->sensors += attribution->seats[p].sensor[0] != '\0';
        wh_attribution_free(&attribution);
    }
    free(events);
    wh_roster_destroy(&y->roster);
    free(y);
    return status == WH_OK ? 0 : -1;
}

int sim_run_many(const sim_case *sim, uint64_t first, unsigned count, sim_score *score)
{
    for (unsigned i = 0; i < count; i++)
        if (sim_run(sim, (first + i) * 1000003u, score) != 0)
            return -1;
    return 0;
}

double sim_calibration_error(const sim_score *score)
{
    double error = 0.0;
    for (int b = 0; b < SIM_BINS; b++)
        error += fabs(score->bin_odds[b] - score->bin_right[b]);
    return score->named ? error / score->named : 0.0;
}
