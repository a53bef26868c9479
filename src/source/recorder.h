/* Samples into a SigMF recording as they come in: everything, or what lies around bursts, with some time before each (the samples of
 * which were kept until it was known that a burst follows). The receiver looks first, then the recorder takes the same samples. */
#ifndef WH_RECORDER_H
#define WH_RECORDER_H

#include "wheelhark/iq.h"
#include "wheelhark/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* A burst is told this long after its start at the latest: the detector waits for its end, at most 1.5 s, and needs another
 * third of a second for the noise floor. Samples are held back so long. */
#define WH_RECORDER_HOLD_S 2.5
/* The receiver of a recording needs a quarter of a second to learn the noise before the burst. */
#define WH_RECORDER_BEFORE_LEAST_S 0.3
#define WH_RECORDER_BEFORE_MOST_S  2.0
#define WH_RECORDER_BEFORE_S       0.5
#define WH_RECORDER_AFTER_S        0.25
/* Bursts, and as many stretches: with more the metadata would not be read any more. */
#define WH_RECORDER_BURSTS_MAX 20000

typedef struct wh_recorder_options {
    const char *base; /* BASE.sigmf-data and BASE.sigmf-meta are made; existing ones are never overwritten */
    bool everything;
    double before_s, after_s;
    const char *generator;   /* "wheelhark listen" */
    const char *description; /* may be NULL */
    bool live;               /* then: how the dongle is set */
    bool has_gain;           /* else automatic */
    double gain_db, ppm;
} wh_recorder_options;

typedef struct wh_recorder_burst {
    uint64_t start, end;    /* samples [start, end) since the first stretch began, lost ones counted */
    double low_hz, high_hz; /* edges: radio frequencies, or offsets when the centre is not known */
    double snr_db;
    bool cut; /* longer than any frame */
} wh_recorder_burst;

typedef struct wh_recorder wh_recorder;

/* Makes the files. WH_ERR_IO, WH_ERR_PERMISSION, WH_ERR_MEMORY. */
wh_status wh_recorder_create(const wh_recorder_options *options, wh_recorder **out, wh_error *error);
/* A stretch begins with the next samples. Rate and format must be those of the first. */
wh_status wh_recorder_begin(wh_recorder *recorder, const wh_stream *stream, wh_error *error);
/* So many samples were lost before the next ones. */
void wh_recorder_lost(wh_recorder *recorder, uint64_t count);
/* A burst; its samples may come before or after this call. */
void wh_recorder_burst_heard(wh_recorder *recorder, const wh_recorder_burst *burst);
/* After the receiver has had the same samples. A failure (no space left) ends the recording: call wh_recorder_finish. */
wh_status wh_recorder_push(wh_recorder *recorder, const void *samples, size_t count, wh_error *error);
/* Everything held back is written or dropped, and the metadata completed with the hash. Also after a failure: what was
 * written until then is then a whole recording. */
wh_status wh_recorder_finish(wh_recorder *recorder, wh_error *error);

typedef struct wh_recorder_stats {
    uint64_t written, seen, lost; /* samples */
    size_t bursts, left_out;      /* annotated; beyond WH_RECORDER_BURSTS_MAX */
} wh_recorder_stats;
void wh_recorder_get_stats(const wh_recorder *recorder, wh_recorder_stats *stats);
void wh_recorder_destroy(wh_recorder **recorder);

#endif
