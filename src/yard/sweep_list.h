/* The list of events of a sweep in memory. */
#ifndef WH_SWEEP_LIST_H
#define WH_SWEEP_LIST_H

#include "wheelhark/sweep.h"

/* A sweep without events round `unit_count` units, in that order. NULL when memory is out. */
wh_sweep *wh_sweep_create(const char *const *units, size_t unit_count);
void wh_sweep_free(wh_sweep **sweep);
/* Add a copy at the end. WH_ERR_MEMORY leaves the sweep as it was. */
wh_status wh_sweep_add(wh_sweep *sweep, const wh_event *event);
/* Is it one of the sweep's units? */
bool wh_sweep_has_unit(const wh_sweep *sweep, const char *unit);
/* Id of the last REPAIRED event of a unit; 0 when there is none. What has a greater id was heard after the repair. */
int64_t wh_sweep_repaired(const wh_sweep *sweep, const char *unit);
/* The STAND event of the wheel the technician stood at, at a time: a reading comes out of the receiver later than it was on the
 * air, so that the order of events does not tell. NULL when he stood nowhere, or nothing could be heard. */
const wh_event *wh_sweep_standing(const wh_sweep *sweep, int64_t at_us);
/* Was it finished? */
bool wh_sweep_ended(const wh_sweep *sweep);

#endif
