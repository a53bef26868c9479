/* Which sensor is at which wheel: one assignment of all sensors heard to all positions of a unit, from the levels and times
 * heard while the technician stood at each wheel, what he said himself, and what is on record. */
#ifndef WH_ATTRIBUTION_H
#define WH_ATTRIBUTION_H

#include "wheelhark/roster.h"
#include "wheelhark/sweep.h"

typedef enum wh_seat_state {
    WH_SEAT_NOT_VISITED, /* nobody stood there (yet) */
    WH_SEAT_NOTHING,     /* visited, and nothing heard that belongs there */
    WH_SEAT_UNSURE,      /* something was heard, but the odds do not suffice: stand there again */
    WH_SEAT_SURE,
    WH_SEAT_BOUND, /* the technician said so */
    WH_SEAT_STATE_COUNT
} wh_seat_state;

/* Odds from which a seat is SURE when nobody says otherwise; the fleet's own figure is wh_thresholds.sure_odds. */
#define WH_SURE_ODDS 0.90

/* What is known of one wheel position. */
typedef struct wh_seat {
    wh_position position;
    wh_seat_state state;
    char sensor[WH_SENSOR_SIZE];    /* the most likely one; empty when none */
    double odds;                    /* that it is here, 0..1 */
    char runner_up[WH_SENSOR_SIZE]; /* the next most likely; empty when none */
    double runner_up_odds;
    double empty_odds; /* that no sensor heard belongs here */
    /* Which of the two sensors of this dual pair is the outer and which the inner one is taken from the record: levels and
     * answers alone would not tell (they would with a woken sensor that answers at one wheel and not at the other). */
    bool mates_by_record;
    bool answered;   /* `latest` holds */
    wh_heard latest; /* the last reading of `sensor` in the time looked at */
    int64_t latest_us;
    unsigned readings;       /* of `sensor` in the time looked at */
    bool woken;              /* the technician woke this wheel's sensor in the time looked at */
    double stood_s;          /* how long he stood here, listening */
    double listened_s;       /* how long the unit's sensors could have been heard from anywhere on the walk */
    unsigned unknown_bursts; /* bursts here that no descriptor knows, as strong as a sensor at this wheel would be */
} wh_seat;

/* A sensor heard that belongs to no position of the unit. */
typedef struct wh_stranger {
    char sensor[WH_SENSOR_SIZE];
    double odds;         /* that it is at none of the unit's wheels */
    double best_dbfs;    /* strongest */
    wh_position nearest; /* of the unit's wheels stood at, where it was strongest; axle 0: heard at none of them */
    unsigned readings;
    wh_heard latest;
    int64_t latest_us;
} wh_stranger;

typedef struct wh_attribution {
    char unit[WH_UNIT_NAME_SIZE];
    wh_seat seats[WH_WHEELS_MAX]; /* in the order of wh_unit.wheels */
    unsigned seat_count;
    wh_stranger *strangers; /* strongest first */
    size_t stranger_count;
} wh_attribution;

/* Of `sweep`, look at the events with id > `after_id` (0: all; those not stored yet, of id 0, always count); the earlier ones
 * only tell where he stands and whether the receiver listens. Every sensor heard is in a seat or a stranger; a seat with a BIND
 * in force is BOUND to that sensor, heard or not. The same events give the same result. See DEVELOPERS.md for the model.
 * WH_ERR_NOT_FOUND when the roster has no such unit. Free the result with wh_attribution_free. */
wh_status wh_attribute(const wh_roster *roster, const wh_sweep *sweep, const char *unit, int64_t after_id,
                       wh_attribution **out, wh_error *error);
/* Tell SURE from UNSURE by another limit than WH_SURE_ODDS. */
void wh_attribution_set_sure(wh_attribution *attribution, double sure_odds);
void wh_attribution_free(wh_attribution **attribution);

#endif
