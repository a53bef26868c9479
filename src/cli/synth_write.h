/* What the two ways to make a recording, from single sensors and from a walk, have in common. */
#ifndef WH_SYNTH_WRITE_H
#define WH_SYNTH_WRITE_H

#include "synth_options.h"
#include "synth_scene.h"

/* Write the scene as options->out, with the noise and faults asked for, and say so; `duration_s` is its length unless another
 * one was asked for. */
wh_status wh_synth_write(const wh_scene *scene, const wh_synth_options *options, double duration_s, wh_error *error);

/* A walk: recording, steps and truth. Returns an exit status. */
int wh_synth_walk_run(wh_synth_options *options);

#endif
