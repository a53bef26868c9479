/* What comes after a walk. */
#ifndef WH_SWEEP_END_H
#define WH_SWEEP_END_H

#include "sweep_walk.h"

/* Forget what other people's sensors said: all that is neither on the roster nor, by what the walk has shown, at one of our
 * wheels or possibly there. Nothing when everything is to be kept. A failure is told, no more: it is tried again after the next
 * sweep. */
void wh_sweep_tidy(wh_sweep_walk *walk);
/* What was found, as `wheelhark findings` shows it, unit by unit. Returns the exit status. */
int wh_sweep_summary(const wh_sweep_options *options);
/* The sweeps in the store. Returns the exit status. */
int wh_sweep_list_show(const wh_sweep_options *options);

#endif
