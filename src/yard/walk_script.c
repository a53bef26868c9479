#include "walk_script.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define EVENTS_MAX 1000000u
#define NEAR_M     1.6

/* A transmission or something the technician does. */
typedef struct act {
    double at_s;
    size_t order; /* keeps acts of the same time in order of making */
    wh_event_kind kind;
    const wh_walk_actor *actor; /* of HEARD */
    unsigned unit;
    wh_position position;
} act;

typedef struct stand {
    double begin_s, end_s;
    wh_walk_antenna antenna;
} stand;

typedef struct script {
    const wh_walk_world *world;
    const wh_walk_actor *actors;
    size_t actor_count;
    const wh_walk_habits *habits;
    wh_rng rng;
    act *acts;
    size_t count, capacity;
    stand *stands;
    size_t stand_count, stand_capacity;
    wh_status status;
} script;

void wh_walk_habits_usual(wh_walk_habits *habits)
{
    *habits = (wh_walk_habits){.stand_s = 12.0,
                               .walk_s = 5.0,
                               .wakes = 0.9,
                               .logs_wakes = 1.0,
                               .second_try = 0.7,
                               .wakes_mate = 0.3,
                               .wakes_near = 0.03,
                               .goes_on = 0.2,
                               .hears_from_dbfs = -55.0,
                               .misses = 0.05};
}

void wh_walk_actor_at_wheel(wh_walk_actor *actor, const wh_walk_world *world, const char *id, unsigned unit,
                            wh_position position, unsigned number, wh_rng *rng)
{
    *actor = (wh_walk_actor){.unit = unit, .position = position, .answers = 0.9};
    snprintf(actor->id, sizeof actor->id, "%s", id);
    wh_walk_sensor_at_wheel(&actor->sensor, world, unit, position, number, rng);
}

static wh_point road_point(wh_rng *rng)
{
    const double side = wh_rng_uniform(rng) < 0.5 ? -1.0 : 1.0;
    return (wh_point){-30.0 + 60.0 * wh_rng_uniform(rng), side * (12.0 + 25.0 * wh_rng_uniform(rng)), 0.5};
}

void wh_walk_actor_passing(wh_walk_actor *actor, const wh_walk_world *world, const char *id, double interval_s,
                           unsigned number, wh_rng *rng)
{
    *actor = (wh_walk_actor){.interval_s = interval_s};
    snprintf(actor->id, sizeof actor->id, "%s", id);
    wh_walk_sensor_at_point(&actor->sensor, world, road_point(rng), number, rng);
}

static bool chance(script *s, double probability)
{
    return wh_rng_uniform(&s->rng) < probability;
}

static double about(script *s, double mean)
{
    return mean * (0.6 + 0.8 * wh_rng_uniform(&s->rng));
}

static void *grow(script *s, void *items, size_t *capacity, size_t count, size_t size)
{
    if (count < *capacity)
        return items;
    const size_t wanted = *capacity ? 2 * *capacity : 256;
    void *more = wanted > EVENTS_MAX ? NULL : realloc(items, wanted * size);
    if (!more) {
        s->status = wanted > EVENTS_MAX ? WH_ERR_LIMIT : WH_ERR_MEMORY;
        return items;
    }
    *capacity = wanted;
    return more;
}

static void add(script *s, act what)
{
    s->acts = grow(s, s->acts, &s->capacity, s->count, sizeof *s->acts);
    if (s->status != WH_OK)
        return;
    what.order = s->count;
    s->acts[s->count++] = what;
}

static void add_send(script *s, const wh_walk_actor *actor, double at_s)
{
    add(s, (act){.at_s = at_s, .kind = WH_EVENT_HEARD, .actor = actor});
}

/* How likely the exciter held to a wheel wakes the sensor of another. */
static double spill(const script *s, unsigned unit, wh_position at, const wh_walk_actor *actor)
{
    if (actor->position.axle == 0 || actor->unit != unit)
        return 0.0;
    const wh_position p = actor->position;
    if (wh_position_equal(p, at))
        return 1.0;
    if (p.axle == at.axle && p.side == at.side)
        return s->habits->wakes_mate;
    const wh_geometry *geometry = &s->world->units[unit].geometry;
    const double distance = wh_point_distance(wh_geometry_wheel(geometry, p), wh_geometry_wheel(geometry, at));
    return distance < NEAR_M ? s->habits->wakes_near : 0.0;
}

/* One go with the exciter; whether the wheel's own sensor answered. */
static bool wake(script *s, unsigned unit, wh_position at, double at_s)
{
    bool answered = false;
    for (size_t i = 0; i < s->actor_count; i++) {
        const wh_walk_actor *actor = &s->actors[i];
        const double reached = spill(s, unit, at, actor);
        if (reached <= 0.0 || !chance(s, reached * actor->answers))
            continue;
        answered |= wh_position_equal(actor->position, at);
        const double first_s = at_s + 0.2 + 1.5 * wh_rng_uniform(&s->rng);
        add_send(s, actor, first_s);
        if (chance(s, s->habits->goes_on))
            for (int n = 1; n <= 4; n++)
                add_send(s, actor, first_s + 15.0 * n + wh_rng_uniform(&s->rng));
    }
    return answered;
}

static void wake_and_log(script *s, unsigned unit, wh_position at, double begin_s, double end_s)
{
    if (!chance(s, s->habits->wakes))
        return;
    const bool logs = chance(s, s->habits->logs_wakes);
    const double room = end_s - begin_s;
    for (int go = 0; go < 2; go++) {
        const double at_s = begin_s + room * (go == 0 ? 0.15 : 0.55);
        if (logs)
            add(s, (act){.at_s = at_s, .kind = WH_EVENT_WOKEN, .unit = unit, .position = at});
        if (wake(s, unit, at, at_s) || !chance(s, s->habits->second_try))
            return;
    }
}

static double walk_round(script *s, unsigned unit, double now_s)
{
    const wh_unit *what = s->world->units[unit].unit;
    for (unsigned i = 0; i < what->wheel_count; i++) {
        const wh_position at = what->wheels[i].position;
        now_s += about(s, s->habits->walk_s);
        const double end_s = now_s + about(s, s->habits->stand_s);
        s->stands = grow(s, s->stands, &s->stand_capacity, s->stand_count, sizeof *s->stands);
        if (s->status != WH_OK)
            break;
        stand *place = &s->stands[s->stand_count];
        *place = (stand){.begin_s = now_s, .end_s = end_s};
        wh_walk_stand(&place->antenna, s->world, unit, at, (unsigned)s->stand_count, &s->rng);
        s->stand_count++;
        add(s, (act){.at_s = now_s, .kind = WH_EVENT_STAND, .unit = unit, .position = at});
        wake_and_log(s, unit, at, now_s, end_s);
        add(s, (act){.at_s = end_s, .kind = WH_EVENT_LEAVE, .unit = unit, .position = at});
        now_s = end_s;
    }
    return now_s;
}

static void send_by_themselves(script *s, double end_s)
{
    for (size_t i = 0; i < s->actor_count; i++) {
        const wh_walk_actor *actor = &s->actors[i];
        if (actor->interval_s <= 0.1)
            continue;
        for (double at_s = actor->interval_s * wh_rng_uniform(&s->rng); at_s < end_s && s->status == WH_OK;
             at_s += actor->interval_s * (0.95 + 0.1 * wh_rng_uniform(&s->rng)))
            add_send(s, actor, at_s);
    }
}

static int by_time(const void *a, const void *b)
{
    const act *x = a, *y = b;
    if (x->at_s != y->at_s)
        return x->at_s < y->at_s ? -1 : 1;
    return (x->order > y->order) - (x->order < y->order);
}

/* Where the antenna is at a time: at a stand, or half way to the next one. */
static wh_walk_antenna antenna_at(const script *s, double at_s, size_t *stand_index)
{
    while (*stand_index + 1 < s->stand_count && s->stands[*stand_index + 1].begin_s <= at_s)
        (*stand_index)++;
    const stand *here = &s->stands[*stand_index];
    wh_walk_antenna antenna = here->antenna;
    if (at_s > here->end_s && *stand_index + 1 < s->stand_count) {
        const wh_point next = s->stands[*stand_index + 1].antenna.at;
        antenna.at.x = 0.5 * (antenna.at.x + next.x);
        antenna.at.y = 0.5 * (antenna.at.y + next.y);
    }
    return antenna;
}

/* False when the receiver does not get it. */
static bool hear(script *s, const act *what, size_t *stand_index, wh_heard *heard)
{
    const wh_walk_antenna antenna = antenna_at(s, what->at_s, stand_index);
    wh_walk_sensor sensor = what->actor->sensor;
    if (what->actor->position.axle == 0)
        sensor.at = road_point(&s->rng);
    const double level = wh_walk_level(s->world, &antenna, &sensor, &s->rng);
    if (level < s->habits->hears_from_dbfs || chance(s, s->habits->misses))
        return false;
    *heard = (wh_heard){.battery_low = -1,
                        .confidence = 0.999,
                        .level_dbfs = level,
                        .snr_db = level - s->habits->hears_from_dbfs + 10.0,
                        .carrier_hz = s->world->settings.carrier_hz,
                        .copies = 1};
    snprintf(heard->sensor, sizeof heard->sensor, "%s", what->actor->id);
    return true;
}

static size_t write_events(script *s, wh_event *events, double end_s)
{
    size_t count = 0, stand_index = 0;
    events[count++] = (wh_event){.at_us = s->habits->begin_us, .kind = WH_EVENT_LISTEN};
    for (size_t i = 0; i < s->count && s->acts[i].at_s <= end_s; i++) {
        const act *what = &s->acts[i];
        wh_event *event = &events[count];
        *event = (wh_event){.at_us = s->habits->begin_us + llround(what->at_s * 1e6), .kind = what->kind};
        if (what->kind == WH_EVENT_HEARD) {
            if (!hear(s, what, &stand_index, &event->heard))
                continue;
        } else {
            event->position = what->position;
            memcpy(event->unit, s->world->units[what->unit].unit->name, sizeof event->unit);
        }
        count++;
    }
    events[count++] = (wh_event){.at_us = s->habits->begin_us + llround(end_s * 1e6), .kind = WH_EVENT_END};
    for (size_t i = 0; i < count; i++)
        events[i].id = (int64_t)i + 1;
    return count;
}

wh_status wh_walk_script(const wh_walk_world *world, const wh_walk_actor *actors, size_t actor_count,
                         const wh_walk_habits *habits, const unsigned *units, size_t unit_count, uint64_t seed,
                         wh_event **events, size_t *event_count)
{
    *events = NULL;
    *event_count = 0;
    script s = {.world = world, .actors = actors, .actor_count = actor_count, .habits = habits};
    wh_rng_seed(&s.rng, seed);
    double end_s = 0.0;
    for (size_t i = 0; i < unit_count; i++) {
        if (units[i] >= world->unit_count)
            s.status = WH_ERR_ARGUMENT;
        else
            end_s = walk_round(&s, units[i], end_s);
    }
    end_s += 1.0;
    send_by_themselves(&s, end_s);
    if (s.status == WH_OK && s.stand_count == 0)
        s.status = WH_ERR_ARGUMENT;
    if (s.status == WH_OK) {
        qsort(s.acts, s.count, sizeof *s.acts, by_time);
        *events = calloc(s.count + 2, sizeof **events);
        if (*events)
            *event_count = write_events(&s, *events, end_s);
        else
            s.status = WH_ERR_MEMORY;
    }
    free(s.acts);
    free(s.stands);
    return s.status;
}
