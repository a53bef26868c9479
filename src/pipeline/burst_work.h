/* The work on one burst: every radio of the catalog, every frame layout, every descriptor; the best candidates win. */
#ifndef WH_BURST_WORK_H
#define WH_BURST_WORK_H

#include "catalog.h"
#include "match.h"
#include "soft_merge.h"
#include "wheelhark/reading.h"

#include <complex.h>
#include <stdbool.h>
#include <stddef.h>

#define WH_WINNERS_MAX     64
#define WH_SOFT_FRAMES_MAX 12

/* A burst at baseband, and what came of it. */
typedef struct wh_burst_job {
    /* in */
    wh_burst burst;         /* number is given later, in order of time */
    float complex *samples; /* [count], owned */
    size_t count;
    double rate_hz; /* of `samples` */
    double noise_density;
    double half_width_hz, band_centre_hz; /* see wh_baseband */
    double centre_hz;                     /* of the baseband: radio frequency, or offset when that is unknown */
    bool centre_known;
    bool steady;        /* the detector gave it up for its length */
    bool left_out;      /* one of too many at once: nothing is to be done */
    double first_s;     /* time of samples[0] from the start of the recording */
    double time_base_s; /* offset_s of the stretch's first sample ... */
    bool has_time;
    int64_t time_base_us; /* ... and its UTC time */
    bool explain;
    double report_minimum; /* confidence below which nothing is reported */
    /* out */
    bool out_of_memory;
    size_t winner_count;
    wh_candidate winners[WH_WINNERS_MAX];
    size_t soft_count; /* frames found but not accepted, in order of time, none where a winner is */
    wh_soft_frame soft[WH_SOFT_FRAMES_MAX];
    bool soft_wanted[WH_SOFT_FRAMES_MAX];
    size_t attempt_count;
    wh_attempt *attempts; /* owned; only with explain */
} wh_burst_job;

wh_burst_job *wh_burst_job_create(size_t sample_capacity); /* NULL when memory is out */
void wh_burst_job_destroy(wh_burst_job **job);

/* Scratch for one thread. */
typedef struct wh_burst_worker wh_burst_worker;
wh_burst_worker *wh_burst_worker_create(const wh_catalog *catalog);
void wh_burst_worker_destroy(wh_burst_worker **worker);
/* Fill the job's outcome. Depends on nothing but the job and the catalog. */
void wh_burst_worker_run(wh_burst_worker *worker, wh_burst_job *job);

/* How far (Hz) a carrier lies beyond the descriptor's tolerance; 0 inside it, or when the recording's centre is not known. */
double wh_carrier_excess(const wh_burst_job *job, const wh_descriptor *descriptor, double carrier_hz);

#endif
