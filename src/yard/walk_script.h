/* A simulated walk round parked units: where the technician stands when, what he wakes, which sensor sends when, and how
 * strongly the receiver hears it. For demonstrations and bench checks; see walk_air.h for the levels. */
#ifndef WH_WALK_SCRIPT_H
#define WH_WALK_SCRIPT_H

#include "walk_air.h"
#include "wheelhark/sweep.h"

/* One simulated sensor and how it behaves. */
typedef struct wh_walk_actor {
    char id[WH_SENSOR_SIZE];
    wh_walk_sensor sensor;
    unsigned unit;        /* of the world */
    wh_position position; /* axle 0: passing traffic, somewhere else at each transmission */
    double interval_s;    /* sends by itself about this often; 0: parked, silent until woken */
    double answers;       /* probability that it answers when woken, 0..1 */
} wh_walk_actor;

typedef struct wh_walk_habits {
    double stand_s, walk_s; /* mean time at a wheel, and to the next one */
    double wakes;           /* probability that he wakes the wheel's sensor (or kicks the tire) there */
    double logs_wakes;      /* ... and that the sweep is told so */
    double second_try;      /* probability that he tries again when there was no answer */
    double wakes_mate;      /* probability that the other wheel of the dual pair is woken with it */
    double wakes_near;      /* ... that any other wheel within 1.6 m is */
    double goes_on;         /* probability that a sensor once woken sends every 15 s for a minute */
    double hears_from_dbfs; /* weaker transmissions are not decoded */
    double misses;          /* share of strong ones that are not decoded all the same */
    int64_t begin_us;       /* of the walk: wh_event.at_us of its first event */
} wh_walk_habits;

/* 12 s, 5 s, 0.9, 1.0, 0.7, 0.3, 0.03, 0.2, -55 dBFS, 0.05, 0. */
void wh_walk_habits_usual(wh_walk_habits *habits);

/* A sensor at a wheel, silent until woken, answering nine times in ten. */
void wh_walk_actor_at_wheel(wh_walk_actor *actor, const wh_walk_world *world, const char *id, unsigned unit,
                            wh_position position, unsigned number, wh_rng *rng);
/* A passing vehicle's, sending once in `interval_s`. */
void wh_walk_actor_passing(wh_walk_actor *actor, const wh_walk_world *world, const char *id, double interval_s,
                           unsigned number, wh_rng *rng);

/* The events of a walk round `units` (indexes into the world) in order of time, ids from 1: LISTEN, STAND, WOKEN, HEARD,
 * LEAVE, END. Of `heard` the sensor, level, SNR, confidence, carrier and copies are set; pressure and temperature are absent.
 * Free *events with free(). WH_ERR_LIMIT beyond a million events, WH_ERR_MEMORY. */
wh_status wh_walk_script(const wh_walk_world *world, const wh_walk_actor *actors, size_t actor_count,
                         const wh_walk_habits *habits, const unsigned *units, size_t unit_count, uint64_t seed,
                         wh_event **events, size_t *event_count);

#endif
