/* One run of `wheelhark sweep`: store, receiver, walk and what is shown of it. */
#ifndef WH_SWEEP_WALK_H
#define WH_SWEEP_WALK_H

#include "feed.h"
#include "store.h"
#include "sweep_bursts.h"
#include "sweep_clock.h"
#include "sweep_keys.h"
#include "sweep_show.h"
#include "sweep_steps.h"

typedef struct wh_sweep_walk {
    const wh_sweep_options *options;
    const wh_sweep_show *show;
    wh_store *store;
    wh_roster *roster;
    wh_sweep *sweep;
    wh_sweep_run *run;
    wh_sweep_insights *insights;
    wh_descriptor_set *descriptors;
    wh_receiver *receiver;
    wh_source_options source;
    wh_sweep_clock clock;
    wh_sweep_steps steps;
    wh_sweep_scene scene;
    size_t shown;                 /* events shown so far */
    char adopted[WH_SENSOR_SIZE]; /* the sensor whose nickname was looked for last */
    wh_stream stream;             /* the stretch that is heard */
    wh_sample_memory *memory;     /* NULL: nobody wants bursts cut out */
    wh_sweep_bursts *bursts;      /* NULL: of recordings nothing is kept twice */
    unsigned bursts_kept;
    char heard_from[WH_NOTE_SIZE]; /* frequency and source */
    bool mark_repair;              /* with the first samples: the repair is done */
    bool failed;                   /* nothing more can be kept: *failure says why, and was not told yet */
    bool quit;                     /* the technician pauses */
    wh_error failure;
    int status; /* the worst so far */
    /* Live */
    void (*attend)(
        struct wh_sweep_walk *walk); /* where the terminal's keys are looked for: others' keys; may be NULL */
    wh_keys keys;
    wh_key asked; /* a key that must be pressed twice was pressed once */
    double asleep_s;
    bool restart; /* open the source again: it slept */
} wh_sweep_walk;

/* Take over `store`, `roster` and `sweep` (events in it: it goes on), whatever comes of it. Returns 0 or an exit status after
 * telling why. */
int wh_sweep_walk_open(wh_sweep_walk *walk, const wh_sweep_options *options, wh_store *store, wh_roster *roster,
                       wh_sweep *sweep);
void wh_sweep_walk_close(wh_sweep_walk *walk);

/* Walk through the recordings with the steps, or live; return an exit status. */
int wh_sweep_walk_files(wh_sweep_walk *walk);
int wh_sweep_walk_live(wh_sweep_walk *walk);

/* What the technician does, at the time of the samples heard last. Failures are noted as by wh_sweep_walk_done, what makes no
 * sense is said. */
void wh_sweep_walk_press(wh_sweep_walk *walk, wh_walk_key key);
void wh_sweep_walk_stand(wh_sweep_walk *walk, const char *unit, wh_position position);
/* A sensor that was heard in this sweep is at the wheel he stands at. */
void wh_sweep_walk_bind(wh_sweep_walk *walk, const char *sensor);
/* The most likely sensor of the wheel he stands at is there. */
void wh_sweep_walk_accept(wh_sweep_walk *walk);

/* Nothing more is to be done: finished, asked to stop, or nothing more can be kept. */
bool wh_sweep_walk_over(const wh_sweep_walk *walk);

/* Pieces for both. */
/* The sweep's time now; while nothing is heard it goes on with the wall clock, but never backwards. */
int64_t wh_sweep_walk_now(const wh_sweep_walk *walk);
/* Feed one input; the hooks call `more` after every event. */
wh_status wh_sweep_walk_input(wh_sweep_walk *walk, bool (*more)(void *context, wh_source *source, bool idle),
                              wh_error *error);
/* Note the outcome of a call of the machine, and show the events it made. */
void wh_sweep_walk_done(wh_sweep_walk *walk, wh_status status, const wh_error *error);
void wh_sweep_walk_say(wh_sweep_walk *walk, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* Where the units' sensors send: from the roster, else from the descriptors of their sensors, else `usual_hz`
 * (NaN: 433.92 MHz). WH_ERR_ARGUMENT when one dongle cannot hear all of them. */
wh_status wh_sweep_band(const wh_roster *roster, const wh_sweep *sweep, const wh_descriptor_set *descriptors,
                        double usual_hz, double sample_rate_hz, double *centre_hz, wh_error *error);

#endif
