/* A technician's walk round parked units as it would be on the air: what every sensor of a scenario sends when, and how
 * strongly the antenna in his hand takes it up (see walk_air.h). At each wheel of the roster's units in the scenario, in the
 * order of the walk, he wakes the sensor, and once more when it does not answer. */
#ifndef WH_SYNTH_WALK_H
#define WH_SYNTH_WALK_H

#include "synth_scene.h"
#include "walk_air.h"
#include "walk_roles.h"
#include "walk_steps.h"
#include "wheelhark/descriptor.h"

typedef struct wh_synth_walk_spec {
    const wh_roster *roster;
    const wh_descriptor_set *descriptors;
    const wh_walk_role *roles;
    size_t role_count;
    wh_walk_settings air;
    double centre_hz;      /* of the recording */
    double sample_rate_hz; /* likewise: what lies outside is refused */
    uint64_t seed;
} wh_synth_walk_spec;

/* One transmission, as it really was. */
typedef struct wh_walk_truth {
    double offset_s;
    size_t role; /* which of the roles sent */
    double level_dbfs;
} wh_walk_truth;

typedef struct wh_synth_walk_result {
    double duration_s;
    wh_walk_step *steps; /* what he did */
    size_t step_count;
    wh_walk_truth *truth; /* in order of time */
    size_t truth_count;
} wh_synth_walk_result;

/* Add the transmissions to `scene`. Errors name the row of the scenario: an unknown descriptor, a position the unit has not, a
 * value that does not fit, a carrier outside of the band. Free the result in any case. */
wh_status wh_synth_walk(const wh_synth_walk_spec *spec, wh_scene *scene, wh_synth_walk_result *result, wh_error *error);
void wh_synth_walk_free(wh_synth_walk_result *result);

#endif
