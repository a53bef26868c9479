/* Detect: where in time and frequency somebody sends. Short-time spectra, a noise floor per bin that follows the band,
 * and thresholds at a constant false-alarm rate over several durations and widths at once. */
#ifndef WH_DETECT_H
#define WH_DETECT_H

#include "wheelhark/iq.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct wh_detector wh_detector;

typedef struct wh_detector_config {
    double sample_rate_hz;
    double pause_s;   /* an emission may pause this long (zeros of on-off keying) and still be one burst; 0..0.02 */
    double longest_s; /* beyond this an emission is cut: no frame is that long, it is a carrier; > 0 */
    double false_alarms_per_s; /* of white noise, over the whole band; default 1/60 when 0 */
} wh_detector_config;

#define WH_LINES_MAX 6

/* An emission's place in time and frequency. Samples count from the start of the stretch. */
typedef struct wh_outline {
    uint64_t start,
        end; /* samples [start, end): generous by about two slots at either side, a weak emission by up to 17 */
    double centre_hz; /* middle of the occupied band, relative to the centre of the spectrum */
    double width_hz;  /* occupied band */
    double snr_db;    /* power over noise within the occupied band while on */
    double
        held_db; /* the same of the weakest of the three slots on end in which it was strongest: of pulses hardly anything */
    double noise_density; /* noise power per Hz (full scale 1.0) near the burst */
    double power;         /* signal power, full scale 1.0 */
    unsigned line_count;  /* steady carriers near the emission (within 250 kHz), which were there before it: */
    double line_hz
        [WH_LINES_MAX]; /* the strongest ones' bins, relative to the centre of the spectrum; 0 is the tuner's spike */
    bool cut;           /* longer than longest_s: a steady carrier, or a very long train */
} wh_outline;

/* Called for each outline, in order of its end; for equal ends in order of frequency. */
typedef void (*wh_outline_fn)(void *context, const wh_outline *outline);

/* NULL when memory is out. */
wh_detector *wh_detector_create(const wh_detector_config *config, wh_outline_fn found, void *context);
void wh_detector_destroy(wh_detector **detector);
/* Interleaved I, Q floats, full scale 1.0. Any block size gives the same outlines. */
void wh_detector_push(wh_detector *detector, const float *iq, size_t count);
/* The same with samples as they come, one format per stretch: conversion is part of the first transform. */
void wh_detector_push_native(wh_detector *detector, wh_iq_format format, const void *samples, size_t count);
/* End of the stretch: everything open is closed and told. The detector is then as new. */
void wh_detector_finish(wh_detector *detector);

/* Samples that must still be kept by whoever cuts bursts out: nothing before this one will be asked for any more. */
uint64_t wh_detector_horizon(const wh_detector *detector);
/* Longest distance in samples between the newest pushed sample and the horizon. */
size_t wh_detector_reach(const wh_detector *detector);
/* Emissions dropped because too many were open at once. */
uint64_t wh_detector_dropped(const wh_detector *detector);

#endif
