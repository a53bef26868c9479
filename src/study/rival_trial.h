/* Trials of a descriptor against others, and against what is nobody's frame: transmissions are made, seeded, and counted is what is
 * read in them. */
#ifndef WH_RIVAL_TRIAL_H
#define WH_RIVAL_TRIAL_H

#include "wheelhark/descriptor.h"
#include "wheelhark/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef enum wh_trial_air {
    WH_AIR_FRAMES, /* the sender's own frames: checks and constants right, every second one with all other bits at random */
    WH_AIR_FORGED,    /* right preamble, sync and length; the payload at random, checks and all */
    WH_AIR_KEYED,     /* as long as its frames, at its rate and deviation, every chip at random */
    WH_AIR_NOISE_ONLY /* white noise */
} wh_trial_air;

typedef struct wh_trial {
    const wh_descriptor *sender;      /* whose radio and layout the transmissions have */
    const wh_descriptor_set *hearers; /* who listens */
    wh_trial_air air;
    unsigned transmissions; /* not with noise only */
    double seconds;         /* noise only */
    double snr_db;          /* as wh_reading */
    double near_hz;         /* of the sender's carriers the one nearest to this is used; 0: its first */
    uint64_t seed;
} wh_trial;

#define WH_TRIAL_HEARERS_MAX 2

typedef struct wh_trial_result {
    size_t sent;
    double seconds;
    size_t read[WH_TRIAL_HEARERS_MAX];       /* readings by each hearer, in the order of the set */
    double confidence[WH_TRIAL_HEARERS_MAX]; /* their mean; 0 without readings */
} wh_trial_result;

/* `enough` (may be NULL) is asked now and then; true ends the trial early, and the result says how far it got. At most
 * WH_TRIAL_HEARERS_MAX hearers. */
wh_status wh_trial_run(const wh_trial *trial, bool (*enough)(void), wh_trial_result *result, wh_error *error);

/* Can both be on the air in one place of the band, given their tolerances? *near_hz becomes a carrier of `other` that is nearest to
 * one of `one`. */
bool wh_trial_same_band(const wh_descriptor *one, const wh_descriptor *other, double *near_hz);

#endif
