/* The stages of the signal path, one at a time. */
#ifndef BENCH_STAGES_H
#define BENCH_STAGES_H

#include "bench_air.h"

#include <stdbool.h>

/* What one run of a stage took. */
typedef struct bench_time {
    double cpu_s, wall_s;
    double samples; /* of the recording that it worked through; for stages on bursts: their samples */
    double bursts;  /* 0 for stages that work on everything */
} bench_time;

typedef struct bench_bench bench_bench;

/* `descriptors` must outlive it. NULL when memory is out. */
bench_bench *bench_create(const wh_descriptor_set *descriptors, double seconds);
void bench_destroy(bench_bench **bench);

/* Each false when memory is out. */
bool bench_fft(bench_bench *bench,
               bench_time *time); /* the yardstick: FFTW alone, 512 points, no overlap, 16 at a time */
bool bench_conversion(bench_bench *bench, bench_time *time);
bool bench_spectra(bench_bench *bench, bench_time *time);
bool bench_detector(bench_bench *bench, bench_time *time);
bool bench_isolation(bench_bench *bench, bench_time *time);
bool bench_demodulation(bench_bench *bench, bench_time *time); /* every radio of the descriptors */
bool bench_burst_work(bench_bench *bench, bench_time *time);   /* demodulation, frame search and matching */
/* Everything. traffic: 0 none, 1 sparse (2 bursts a second), 2 dense (20). */
bool bench_pipeline(bench_bench *bench, unsigned traffic, unsigned threads, bench_time *time);

#endif
