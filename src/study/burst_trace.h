/* What a picture of a burst shows, as numbers: level and frequency over time, and the chips that were decided. */
#ifndef WH_BURST_TRACE_H
#define WH_BURST_TRACE_H

#include "demod.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define WH_TRACE_CHIPS_MAX 4096

typedef struct wh_burst_trace {
    size_t count;     /* samples of the baseband */
    float *level;     /* [count] magnitude, smoothed over an eighth of a chip or so; owned */
    float *frequency; /* [count] instantaneous frequency in Hz from 0 Hz of the baseband, likewise; owned */
    bool keyed;       /* chips were found */
    bool on_off;      /* on-off keying: the level tells the chips, else the frequency */
    double start;     /* of chip 0, in samples of the baseband; may be negative */
    double chip;      /* length of a chip in samples */
    size_t chip_count;
    uint8_t chips[WH_TRACE_CHIPS_MAX]; /* decided, 0 or 1 */
    double carrier_hz, deviation_hz, on_level;
} wh_burst_trace;

/* `radio` NULL: found from the burst itself. False when memory is out. Free with wh_burst_trace_free in any case. */
bool wh_burst_trace_make(const wh_baseband *baseband, const wh_radio *radio, wh_burst_trace *trace);
void wh_burst_trace_free(wh_burst_trace *trace);
/* What tells the chips, at a place between samples: level, or frequency. Outside of the burst the nearest sample's. */
double wh_burst_trace_at(const wh_burst_trace *trace, double sample);

#endif
