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

/* `descriptors` are those of the folder `protocols`, and must outlive it. NULL when memory is out. */
bench_bench *bench_create(const wh_descriptor_set *descriptors, const char *protocols, double seconds);
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
typedef enum bench_traffic {
    BENCH_NONE,
    BENCH_SPARSE,   /* 2 bursts a second */
    BENCH_DENSE,    /* 20 */
    BENCH_YARD,     /* see bench_air_yard; 20 descriptors */
    BENCH_FEW,      /* 4 bursts a second of 10 invented descriptors (bench_fleet), ... */
    BENCH_MANY,     /* ... and the same air with 200 of them */
    BENCH_FEW_WEAK, /* 10 dB instead of 20 */
    BENCH_MANY_WEAK,
    BENCH_STORM, /* 1000 bursts a second */
    BENCH_TRAFFICS
} bench_traffic;

/* Everything. */
bool bench_pipeline(bench_bench *bench, bench_traffic traffic, unsigned threads, bench_time *time);

#endif
