/* Study: from recordings of unknown bursts to tables of aligned frames, one per kind of burst. Nothing is told beforehand. */
#ifndef WH_STUDY_H
#define WH_STUDY_H

#include "burst_store.h"
#include "frame_table.h"

#include <stddef.h>

#define WH_STUDY_KINDS_MAX 32

typedef struct wh_study wh_study;

/* Why a burst is of no kind. */
typedef enum wh_stray {
    WH_STRAY_NONE,     /* it is of one */
    WH_STRAY_SKIRT,    /* the spread of a stronger burst beside it */
    WH_STRAY_STEADY,   /* longer than any frame: a carrier */
    WH_STRAY_NO_SHAPE, /* no keying to be made out: too weak, too short, or none */
    WH_STRAY_ALONE,    /* keyed, but nothing else like it was heard */
    WH_STRAY_NO_FRAME, /* its radio is that of a kind, but no frame of the kind is in it */
    WH_STRAY_COUNT
} wh_stray;

/* *out is the caller's to destroy. */
wh_status wh_study_create(wh_study **out, wh_error *error);
void wh_study_destroy(wh_study **study);
/* Recordings go into the store: begin_recording, begin, push, finish. */
wh_burst_store *wh_study_store(wh_study *study);
/* After the last recording: find the kinds. May be called again after further recordings. */
wh_status wh_study_run(wh_study *study, wh_error *error);

/* Kinds, those of the largest groups of like bursts first. Valid until the next run. */
size_t wh_study_kind_count(const wh_study *study);
const wh_frame_table *wh_study_kind(const wh_study *study, size_t index);
wh_stray wh_study_stray(const wh_study *study, size_t burst);

/* Kinds that were made out, but not far enough for a table (row_count 0): what is missing, in plain words; "" when nothing is. */
const char *wh_study_missing(const wh_study *study, size_t kind);

#endif
