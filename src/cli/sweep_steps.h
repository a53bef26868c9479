/* The steps of a walk from a file, taken as the samples go by. */
#ifndef WH_SWEEP_STEPS_H
#define WH_SWEEP_STEPS_H

#include "sweep_run.h"
#include "walk_steps.h"

typedef struct wh_sweep_steps {
    const char *file;
    wh_walk_step *steps;
    size_t count, next;
} wh_sweep_steps;

/* Read the file; complaints with row and column go to stderr. Returns 0 or an exit status. Free steps->steps with free(). */
int wh_sweep_steps_load(const char *file, wh_sweep_steps *steps);
/* Take all steps up to a time; `first_us` is the start of the first recording. */
wh_status wh_sweep_steps_until(wh_sweep_steps *steps, wh_sweep_run *run, const wh_sweep *sweep, int64_t first_us,
                               int64_t until_us, wh_error *error);

#endif
