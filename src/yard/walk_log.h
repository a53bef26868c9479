/* A sweep's events taken together: who was heard how strongly where, and who answered when a wheel's sensor was woken. */
#ifndef WH_WALK_LOG_H
#define WH_WALK_LOG_H

#include "wheelhark/roster.h"
#include "wheelhark/sweep.h"

#define WH_LOG_PLACES_MAX 255 /* standing places told apart; what is heard at further ones counts as heard nowhere */
#define WH_LOG_NOWHERE    (-1)

/* Where people stand: one place for both wheels of a dual pair, since the inner one is reached from the same spot. */
typedef struct wh_log_place {
    char unit[WH_UNIT_NAME_SIZE];
    bool own;             /* at the unit asked for */
    wh_position position; /* of the outer or only wheel */
} wh_log_place;

/* Readings of one sensor at one place. */
typedef struct wh_log_level {
    unsigned place;
    unsigned readings;
    double sum_dbfs, most_dbfs;
    double confidence; /* best */
    size_t next;       /* of the same sensor, SIZE_MAX: the last */
} wh_log_level;

/* Some time in which one wheel's sensor had cause to send: woken, or somebody busy at its wheel. */
typedef struct wh_log_trial {
    int seat;       /* of the unit asked for; WH_LOG_NOWHERE: of another unit, at `place` */
    unsigned place; /* where the technician stood */
    bool woken;     /* he said so; else he only stood there */
    int64_t begin_us, end_us;
} wh_log_trial;

/* A sensor heard during a trial. */
typedef struct wh_log_answer {
    size_t witness, trial;
    bool sent_before; /* heard within the 70 s before as well */
    size_t before;    /* the witness's answer before this one, SIZE_MAX: none */
} wh_log_answer;

/* One sensor heard. */
typedef struct wh_witness {
    const char *sensor;     /* in the sweep's event */
    const wh_event *latest; /* reading */
    unsigned readings;
    unsigned sendings;   /* readings closer than 3 s are one */
    double exists;       /* probability that at least one reading is right */
    double best_dbfs;    /* strongest anywhere */
    wh_position nearest; /* where it was strongest of the places of the unit asked for; axle 0: at none */
    double nearest_dbfs;
    size_t first_level; /* SIZE_MAX: none */
    size_t last_answer; /* SIZE_MAX: none */
    int64_t last_us;
} wh_witness;

/* What happened at one wheel of the unit asked for. */
typedef struct wh_log_seat {
    bool visited, woken;
    double stood_s;
    const wh_event *bind; /* in force; NULL: none */
} wh_log_seat;

typedef struct wh_log_unknown {
    int seat;
    double level_dbfs;
} wh_log_unknown;

typedef struct wh_walk_log {
    const wh_unit *unit;
    wh_log_seat seats[WH_WHEELS_MAX];
    double listened_s; /* at the unit, walking from wheel to wheel included */
    wh_log_place *places;
    size_t place_count;
    wh_witness *witnesses; /* in the order of their first reading */
    size_t witness_count;
    wh_log_level *levels;
    size_t level_count;
    wh_log_trial *trials; /* in order of their begin in the list of events */
    size_t trial_count;
    wh_log_answer *answers;
    size_t answer_count;
    wh_log_unknown *unknowns; /* bursts no descriptor knows, heard at a wheel of the unit */
    size_t unknown_count;
} wh_walk_log;

/* Of the events with id > after_id (or not stored yet: id 0); the earlier ones only tell where he stands and whether the
 * receiver listens. Borrows sweep and unit. WH_ERR_MEMORY; wh_walk_log_free in any case. */
wh_status wh_walk_log_make(wh_walk_log *log, const wh_unit *unit, const wh_sweep *sweep, int64_t after_id);
void wh_walk_log_free(wh_walk_log *log);

/* The index of a wheel in wh_unit.wheels; WH_LOG_NOWHERE when the unit has none there. */
int wh_walk_log_seat_at(const wh_unit *unit, wh_position position);

#endif
