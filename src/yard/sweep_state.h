/* The inside of sweep_run: the state of a walk as a function of its events. */
#ifndef WH_SWEEP_STATE_H
#define WH_SWEEP_STATE_H

#include "sweep_run.h"

#define WH_STRANGERS_MOST 64

struct wh_sweep_run {
    const wh_roster *roster;
    wh_sweep *sweep;
    wh_sweep_run_hooks hooks;
    wh_walk walk;
    wh_stop *stops;        /* what walk.stops shows */
    double strongest_dbfs; /* heard while standing at a wheel */
    char strangers[WH_STRANGERS_MOST][WH_SENSOR_SIZE];
};

/* Make the stops, in state "before". WH_ERR_NOT_FOUND, WH_ERR_MEMORY. */
wh_status wh_sweep_state_begin(wh_sweep_run *run, wh_error *error);
void wh_sweep_state_apply(wh_sweep_run *run, const wh_event *event);
/* At no wheel: is there one left to go to? */
void wh_sweep_state_look_ahead(wh_sweep_run *run);
/* A sensor that was not kept: counted once. */
void wh_sweep_state_stranger(wh_sweep_run *run, const char *sensor);

bool wh_sweep_state_find(const wh_sweep_run *run, const char *unit, wh_position position, size_t *stop);
/* Where the walk leads from here; false when no wheel is left. */
bool wh_sweep_state_next(const wh_sweep_run *run, size_t *stop);
bool wh_sweep_state_next_unit(const wh_sweep_run *run, size_t *stop);

#endif
