/* Simulated yards with the truth known: a unit with planted faults, neighbours, traffic, a walk round it, and how well the
 * attribution does. */
#ifndef WH_TEST_YARD_SIM_H
#define WH_TEST_YARD_SIM_H

#include "attribution.h"
#include "walk_script.h"

#define SIM_BINS 10

typedef struct sim_case {
    unsigned axles;
    bool dual[WH_AXLES_MAX];
    wh_unit_kind kind;
    wh_walk_settings air;
    wh_walk_habits habits;
    unsigned neighbours;       /* units parked beside it, the first one to the right */
    bool neighbours_on_record; /* or their IDs are unknown */
    bool neighbours_swept;     /* the walk goes round them too, after the unit */
    unsigned passing;          /* sensors of passing traffic */
    double sends_itself;       /* share of sensors that send about once a minute without being woken */
    double new_sensor, dead, pair_crossed, crossed; /* probability per seat, seat, dual pair, unit */
    double exchanged;    /* probability per seat that it has a sensor of a neighbour's, and that wheel its own */
    unsigned dead_count; /* additionally this many seats have no sensor that sends */
} sim_case;

/* A trailer of two dual axles beside two others on record, the usual walk, faults as often as the model takes for likely. */
void sim_case_usual(sim_case *sim);

typedef struct sim_score {
    unsigned seats;              /* seats whose sensor was heard at all */
    unsigned right;              /* ... that have the right sensor, sure or not */
    unsigned sure;               /* ... that are SURE */
    unsigned sure_wrong;         /* seats that are SURE of the wrong sensor, heard or not */
    unsigned named, named_right; /* seats that name a sensor */
    unsigned mute;               /* seats whose sensor was not heard */
    unsigned mute_empty;         /* ... that name none */
    unsigned strongest_right; /* of `seats`: right if the sensor heard strongest while standing at the wheel is taken */
    unsigned pair_right;      /* of `seats`: right sensor, or that of the dual mate */
    unsigned bin[SIM_BINS], bin_right[SIM_BINS]; /* of named seats, by odds */
    double bin_odds[SIM_BINS];
    double odds;                   /* sum over named seats */
    unsigned faults, faults_found; /* seats whose sensor was heard and is not the recorded one; named rightly */
    unsigned false_faults;         /* SURE of a sensor other than the recorded one, wrongly */
} sim_score;

/* One simulated yard; adds to *score. The same seed gives the same yard. 0 on success. */
int sim_run(const sim_case *sim, uint64_t seed, sim_score *score);
/* Seeds first .. first + count - 1. */
int sim_run_many(const sim_case *sim, uint64_t first, unsigned count, sim_score *score);
typedef struct sim_timing {
    unsigned every; /* in: attribute after every so many readings */
    unsigned calls;
    size_t sensors;
    double sum_ms, most_ms;
} sim_timing;

/* Attribute again and again during one walk, on this thread's processor clock. */
int sim_time(const sim_case *sim, uint64_t seed, sim_timing *timing);
/* Expected calibration error over the bins. */
double sim_calibration_error(const sim_score *score);

#endif
