/* Recordings of sensors in a yard, and a receiver run over them with everything it tells written down. */
#ifndef WH_TEST_YARD_SCENE_H
#define WH_TEST_YARD_SCENE_H

#include "synth_frame.h"
#include "synth_scene.h"
#include "wheelhark/receiver.h"

#include "../near.h"

#define READINGS_MAX 64
#define BURSTS_MAX   256

/* What a receiver told: the last ones as they were, and all of it as text, every digit of every number. */
typedef struct heard {
    size_t readings, bursts, attempts;
    wh_reading reading[READINGS_MAX];
    wh_burst burst[BURSTS_MAX];
    char *text;
    size_t length, capacity;
    /* What was told early: not in `text`, for where it falls among the rest depends on blocks and threads. */
    size_t earlies;
    wh_reading early[READINGS_MAX];
    double early_pushed_s[READINGS_MAX]; /* signal time pushed until then */
    double pushed_s;                     /* kept by yard_run; to the end of the block being pushed */
} heard;

wh_receiver_sink heard_sink(heard *h);
void heard_free(heard *h);

/* The shipped descriptors; the caller destroys the set. */
wh_descriptor_set *yard_descriptors(void);
/* The same for a whole group of tests, between its setup and teardown. */
extern wh_descriptor_set *set;
int yard_load(void **state);
int yard_unload(void **state);

/* A recording in memory. */
typedef struct yard {
    wh_scene *scene;
    wh_recording_spec spec;
    unsigned char *samples; /* spec.samples of spec.format */
} yard;

/* 250 kS/s cu8 centred on 433.92 MHz, with noise; times and formats may be changed until yard_record. */
yard yard_create(double seconds);
/* The example of a descriptor; `sensor` NULL: the example's own. `t`, when given, has the figures to take over. */
void yard_send(yard *y, const wh_descriptor *d, const char *sensor, const wh_transmission *figures);
void yard_record(yard *y);
void yard_free(yard *y);
wh_stream yard_stream(const yard *y);
/* Amplitude at which a sensor has `snr_db` in this yard. */
double yard_amplitude(const yard *y, const wh_descriptor *d, double snr_db);

/* Push samples [from, to) in blocks. */
void yard_push(const yard *y, wh_receiver *receiver, size_t from, size_t to, size_t block);
/* A receiver of its own over the whole recording; what it tells early, at which time of the signal, is noted too. */
void yard_run(const yard *y, const wh_descriptor_set *descriptors, unsigned threads, size_t block, heard *h,
              wh_receiver_stats *stats);

#endif
