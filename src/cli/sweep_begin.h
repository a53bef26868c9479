/* A walk from its options to its summary. */
#ifndef WH_SWEEP_BEGIN_H
#define WH_SWEEP_BEGIN_H

#include "sweep_walk.h"

/* Open store, roster and sweep as the options say. Returns 0, or an exit status after telling why not. `options` must outlive
 * the walk, which ends with wh_sweep_finish. */
int wh_sweep_begin(const wh_sweep_options *options, wh_sweep_walk *walk);
/* Close the walk, tell how to go on or what was found; returns the worse of `status` and what was found. */
int wh_sweep_finish(const wh_sweep_options *options, wh_sweep_walk *walk, int status);
/* Both, with the walk between, in the terminal or from recordings. */
int wh_sweep_once(const wh_sweep_options *options);

#endif
