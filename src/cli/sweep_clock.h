/* The time of a sweep: that of the samples. UTC where the source knows the date; else microseconds from the start of the first
 * recording, further recordings following after a pause of a second. */
#ifndef WH_SWEEP_CLOCK_H
#define WH_SWEEP_CLOCK_H

#include "wheelhark/iq.h"

typedef struct wh_sweep_clock {
    bool dated;       /* of the sweep: decided by its first stretch */
    bool known;       /* is `dated` decided, and has the sweep a time to go on from? */
    bool running;     /* a stretch has begun in this run */
    bool live;        /* the date of a stretch is that of this computer's clock */
    int64_t first_us; /* of the first sample of this run */
    int64_t base_us;  /* undated: start of the recording */
    int64_t start_us; /* of the stretch */
    double rate_hz;
    uint64_t samples; /* of the stretch so far */
} wh_sweep_clock;

/* A clock for a new sweep; or for one that goes on after `last_us`. */
void wh_sweep_clock_begin(wh_sweep_clock *clock);
void wh_sweep_clock_go_on(wh_sweep_clock *clock, bool dated, int64_t last_us);
/* Another recording begins, at the end of what there was. */
void wh_sweep_clock_input(wh_sweep_clock *clock);
/* A stretch begins. Its time is never before what the clock has shown already: live it is moved; of recordings one with an
 * earlier date, or without a date in a dated sweep, is refused (false; nothing changes then). */
bool wh_sweep_clock_stretch(wh_sweep_clock *clock, const wh_stream *stream);
void wh_sweep_clock_samples(wh_sweep_clock *clock, uint64_t count);
/* The time now: after the last sample. */
int64_t wh_sweep_clock_now(const wh_sweep_clock *clock);
/* The time of something heard. */
int64_t wh_sweep_clock_of(const wh_sweep_clock *clock, bool has_time, int64_t at_utc_us, double offset_s);

#endif
