/* Bursts kept for study: recordings in, isolated bursts with their place in the recording out. */
#ifndef WH_BURST_STORE_H
#define WH_BURST_STORE_H

#include "burst_shape.h"
#include "demod.h"
#include "wheelhark/iq.h"
#include "wheelhark/status.h"

#include <complex.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define WH_STUDY_RECORDINGS_MAX 256
#define WH_STUDY_BURSTS_MAX     4096
/* Complex samples kept in all: 192 MiB. What comes when it is full is counted, not kept. */
#define WH_STUDY_SAMPLES_MAX (24u << 20)

typedef struct wh_study_recording {
    char name[128];
    double sample_rate_hz, centre_hz; /* centre 0: unknown */
    double seconds;
    uint64_t samples, clipped;
    size_t bursts;
} wh_study_recording;

typedef struct wh_study_burst {
    unsigned recording;
    uint64_t sample;       /* of the recording, where samples[0] stands */
    uint64_t sample_count; /* of the recording, from start to end of the outline */
    double at_s;           /* start from the start of the recording */
    bool has_time;
    int64_t at_utc_us;
    double duration_s, width_hz, snr_db, level_dbfs;
    double
        centre_hz; /* radio frequency (or offset, when the recording does not say its centre) of 0 Hz of the samples */
    double carrier_hz; /* the detector's, in the same terms */
    bool centre_known, cut, skirt, clipped;
    double rate_hz;                                      /* of `samples` */
    double noise_density, half_width_hz, band_centre_hz; /* see wh_baseband */
    float complex *samples;                              /* [count], owned by the store */
    size_t count;
    wh_burst_shape shape;
    int kind; /* index of the kind it was found to be of, -1: none */
} wh_study_burst;

typedef struct wh_burst_store wh_burst_store;

wh_burst_store *wh_burst_store_create(wh_error *error); /* NULL with *error filled */
void wh_burst_store_destroy(wh_burst_store **store);
/* A recording may be several stretches (captures): begin_recording once, then begin for each, push its samples. */
wh_status wh_burst_store_begin_recording(wh_burst_store *store, const char *name, wh_error *error);
wh_status wh_burst_store_begin(wh_burst_store *store, const wh_stream *stream, wh_error *error);
wh_status wh_burst_store_push(wh_burst_store *store, const void *samples, size_t count);
/* End of a recording. */
wh_status wh_burst_store_finish(wh_burst_store *store);

/* In order of recording, then of start. */
size_t wh_burst_store_count(const wh_burst_store *store);
wh_study_burst *wh_burst_store_at(wh_burst_store *store, size_t index);
size_t wh_burst_store_recordings(const wh_burst_store *store);
const wh_study_recording *wh_burst_store_recording(const wh_burst_store *store, size_t index);
/* Of the stretch being taken in. */
wh_iq_format wh_burst_store_format(const wh_burst_store *store);
/* Bursts heard for which there was no room. */
size_t wh_burst_store_left_out(const wh_burst_store *store);
wh_baseband wh_study_baseband(const wh_study_burst *burst);

#endif
