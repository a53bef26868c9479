#include "sweep_clock.h"

#include <math.h>

#define PAUSE_US 1000000

void wh_sweep_clock_begin(wh_sweep_clock *clock)
{
    *clock = (wh_sweep_clock){.rate_hz = 1.0};
}

void wh_sweep_clock_go_on(wh_sweep_clock *clock, bool dated, int64_t last_us)
{
    *clock = (wh_sweep_clock){
        .dated = dated, .known = true, .start_us = last_us, .base_us = last_us + PAUSE_US, .rate_hz = 1.0};
}

void wh_sweep_clock_input(wh_sweep_clock *clock)
{
    if (clock->running)
        clock->base_us = wh_sweep_clock_now(clock) + PAUSE_US;
}

bool wh_sweep_clock_stretch(wh_sweep_clock *clock, const wh_stream *stream)
{
    const bool dated = clock->known ? clock->dated : stream->has_time;
    if (dated && !stream->has_time)
        return false;
    int64_t start = dated ? stream->start_utc_us : clock->base_us + (int64_t)llround(stream->start_s * 1e6);
    const int64_t now = wh_sweep_clock_now(clock);
    if (clock->known && start < now) {
        /* Live samples are counted by the dongle's crystal: their time may have run ahead of the clock that dates the next
         * stretch, and that clock may have been set back. */
        if (!clock->live)
            return false;
        start = now;
    }
    if (!clock->running)
        clock->first_us = start;
    clock->dated = dated;
    clock->known = clock->running = true;
    clock->start_us = start;
    clock->rate_hz = stream->sample_rate_hz;
    clock->samples = 0;
    return true;
}

void wh_sweep_clock_samples(wh_sweep_clock *clock, uint64_t count)
{
    clock->samples += count;
}

int64_t wh_sweep_clock_now(const wh_sweep_clock *clock)
{
    return clock->start_us + (int64_t)llround((double)clock->samples / clock->rate_hz * 1e6);
}

int64_t wh_sweep_clock_of(const wh_sweep_clock *clock, bool has_time, int64_t at_utc_us, double offset_s)
{
    return clock->dated && has_time ? at_utc_us : clock->base_us + (int64_t)llround(offset_s * 1e6);
}
