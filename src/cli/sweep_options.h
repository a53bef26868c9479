/* What `wheelhark sweep` was asked to do. */
#ifndef WH_SWEEP_OPTIONS_H
#define WH_SWEEP_OPTIONS_H

#include "burst_shelf.h"
#include "live_options.h"
#include "sweep_insight.h"

#define WH_SWEEP_RECORDINGS_MAX 256
#define WH_SWEEP_UNITS_MAX      200

typedef struct wh_sweep_options {
    wh_settings settings;
    wh_run_options run;
    wh_live_options live;
    wh_thresholds thresholds;
    wh_insight_options insight; /* `thresholds` points to the one above */
    const char *store, *who, *steps;
    const char *recordings[WH_SWEEP_RECORDINGS_MAX];
    size_t recording_count; /* 0: live */
    const char *units[WH_SWEEP_UNITS_MAX];
    size_t unit_count;
    bool go_on, anew; /* an unfinished sweep: take it up, or not, without asking */
    bool verify;      /* the repair is done: sweep the unit again */
    bool own_band;    /* listen where the units' sensors send, not where --frequency says */
    bool list;        /* show the sweeps, do nothing */
    bool keep_strangers;
    bool plain;            /* lines, no board */
    bool board;            /* pages in a browser */
    const char *address;   /* to serve on; NULL: this computer alone */
    double port;           /* 0: any free one */
    double pace;           /* of recordings on pages: seconds of signal a second; 0: as fast as it goes */
    bool paused;           /* the recordings wait until a page plays them */
    wh_burst_shelf *shelf; /* where pages look at bursts; NULL: nobody does */
    bool helped;           /* help was shown: there is nothing to do */
} wh_sweep_options;

extern const wh_option wh_sweep_option_table[];

/* 0, or an exit status after a complaint. `without_unit`: no unit need be named. */
int wh_sweep_options_read(wh_args *args, wh_sweep_options *options, bool without_unit);

#endif
