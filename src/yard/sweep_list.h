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
/* Was it finished? */
bool wh_sweep_ended(const wh_sweep *sweep);

#endif
