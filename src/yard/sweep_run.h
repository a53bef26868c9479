/* The walk as a machine: what the technician presses and what the receiver hears go in, events come out. The events are the
 * only truth: the machine's state is worked out from them, so that a walk goes on after the program was killed, and the
 * terminal and a web page see the same. No files, no clock: the caller says what time it is, in the time of the samples.
 *
 * A walk leads round all wheels of the sweep's units in the order of wh_unit.wheels. What was passed over comes next, then
 * the wheels that are not settled yet, once more; then the round is done. */
#ifndef WH_SWEEP_RUN_H
#define WH_SWEEP_RUN_H

#include "sweep_list.h"
#include "wheelhark/reading.h"

typedef enum wh_walk_key {
    WH_WALK_NEXT,      /* on to the next wheel; when the round is done: finish the sweep */
    WH_WALK_BACK,      /* to the wheel before */
    WH_WALK_NEXT_UNIT, /* to the first wheel of the next unit that nobody stood at */
    WH_WALK_WOKEN,     /* the sensor at this wheel was woken */
    WH_WALK_UNDO,      /* take back what was said about this wheel (the binding) */
    WH_WALK_REPAIRED,  /* the repair of this unit is done: its wheels are to be heard again */
    WH_WALK_LEAVE,     /* stand at no wheel */
    WH_WALK_END,       /* finish the sweep, whatever is still open */
    WH_WALK_KEY_COUNT
} wh_walk_key;

typedef enum wh_walk_phase {
    WH_WALK_BEFORE, /* at no wheel, and there are wheels to go to */
    WH_WALK_AT,     /* at a wheel */
    WH_WALK_DONE,   /* at no wheel, and none is left to go to */
    WH_WALK_ENDED
} wh_walk_phase;

/* One wheel of the walk. */
typedef struct wh_stop {
    char unit[WH_UNIT_NAME_SIZE];
    wh_position position;
    unsigned visits;   /* since the unit's last repair mark */
    bool woken, bound; /* likewise */
} wh_stop;

typedef struct wh_walk {
    wh_walk_phase phase;
    size_t at; /* of the stops: where he stands in WH_WALK_AT, stood last else */
    const wh_stop *stops;
    size_t stop_count;
    bool listening;
    int64_t since_us;      /* standing at this wheel since */
    unsigned heard_here;   /* readings kept since then, repeats included */
    unsigned unknown_here; /* bursts of unknown kinds since then */
    unsigned strangers;    /* other people's sensors heard and not kept: different ones, counted up to 64 */
} wh_walk;

typedef struct wh_sweep_run wh_sweep_run;

/* What the machine asks of its surroundings; all may be NULL. */
typedef struct wh_sweep_run_hooks {
    void *context;
    /* Keep an event for good and give its id; called before anything else knows of it. NULL: ids are counted up. */
    wh_status (*keep)(void *context, const wh_sweep *sweep, wh_event *event, wh_error *error);
    /* Is it known what is at this wheel, so that nobody needs to stand there again? NULL: always. */
    bool (*settled)(void *context, const wh_sweep *sweep, const char *unit, wh_position position);
    bool keep_strangers; /* keep readings of everybody's sensors */
} wh_sweep_run_hooks;

/* `roster` and `sweep` must outlive the machine; it adds to sweep->events and nobody else may. Events already there are
 * taken in. WH_ERR_NOT_FOUND when a unit of the sweep is not in the roster. */
wh_status wh_sweep_run_create(const wh_roster *roster, wh_sweep *sweep, const wh_sweep_run_hooks *hooks,
                              wh_sweep_run **out, wh_error *error);
void wh_sweep_run_destroy(wh_sweep_run **run);
/* Valid until the next call. */
const wh_walk *wh_sweep_run_walk(const wh_sweep_run *run);

/* Each of the calls below makes the events that follow, at_us being the time in the sweep's clock. They fail as `keep` does,
 * or with WH_ERR_MEMORY, and then nothing has changed. A key that makes no sense now makes no event and is WH_OK. */
wh_status wh_sweep_run_key(wh_sweep_run *run, wh_walk_key key, int64_t at_us, wh_error *error);
/* Go to a wheel by name. WH_ERR_NOT_FOUND when it is none of the walk's. */
wh_status wh_sweep_run_stand(wh_sweep_run *run, const char *unit, wh_position position, int64_t at_us, wh_error *error);
/* This sensor is at the wheel he stands at. WH_ERR_ARGUMENT when he stands at none. */
wh_status wh_sweep_run_bind(wh_sweep_run *run, const wh_heard *heard, int64_t at_us, wh_error *error);
/* The repair of a unit by name. */
wh_status wh_sweep_run_repaired(wh_sweep_run *run, const char *unit, int64_t at_us, wh_error *error);
/* The receiver hears, from `source`; or no longer does, and why. After a gap he stands where he stood. A second gap, or a
 * LISTEN while listening, makes no event. */
wh_status wh_sweep_run_listen(wh_sweep_run *run, const char *source, int64_t at_us, wh_error *error);
wh_status wh_sweep_run_gap(wh_sweep_run *run, const char *why, int64_t at_us, wh_error *error);
/* What was heard. *kept (may be NULL) says whether it became an event: see wh_sweep_keeps. */
wh_status wh_sweep_run_reading(wh_sweep_run *run, const wh_reading *reading, int64_t at_us, bool *kept,
                               wh_error *error);
wh_status wh_sweep_run_burst(wh_sweep_run *run, const wh_burst *burst, int64_t at_us, bool *kept, wh_error *error);

#endif
