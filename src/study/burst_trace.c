#include "burst_trace.h"

#include "burst_shape.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The longest emission of the burst is the one shown. */
static void take_chips(void *context, const wh_chips *chips)
{
    wh_burst_trace *trace = context;
    const size_t count = chips->last - chips->first;
    if (count <= trace->chip_count || count < 8)
        return;
    trace->chip_count = count < WH_TRACE_CHIPS_MAX ? count : WH_TRACE_CHIPS_MAX;
    trace->keyed = true;
    trace->on_off = chips->keyed;
    trace->chip = chips->chip_s;
    trace->start = chips->start_s + (double)chips->first * chips->chip_s;
    trace->carrier_hz = chips->carrier_hz;
    trace->deviation_hz = chips->deviation_hz;
    trace->on_level = chips->amplitude;
    for (size_t k = 0; k < trace->chip_count; k++)
        trace->chips[k] = chips->llr[chips->first + k] > 0.0f;
}

/* Half a chip of samples on either side would blur neighbours; an eighth keeps the edges and quiets the noise. */
static size_t smoothing(const wh_burst_trace *trace)
{
    const double width = trace->keyed ? trace->chip / 8.0 : 4.0;
    return width < 1.0 ? 1 : (size_t)width;
}

static void fill(const wh_baseband *baseband, wh_burst_trace *trace)
{
    const size_t half = smoothing(trace);
    const float complex *z = baseband->samples;
    for (size_t n = 0; n < trace->count; n++) {
        const size_t from = n > half ? n - half : 0, to = n + half < trace->count ? n + half : trace->count - 1;
        double power = 0.0;
        float complex turn = 0.0f;
        for (size_t i = from; i <= to; i++) {
            power += crealf(z[i]) * crealf(z[i]) + cimagf(z[i]) * cimagf(z[i]);
            if (i > from)
                turn += z[i] * conjf(z[i - 1]);
        }
        trace->level[n] = (float)sqrt(power / (double)(to - from + 1));
        trace->frequency[n] = (float)(cargf(turn) / (2.0 * acos(-1.0)) * baseband->rate_hz);
    }
}

static bool find_radio(const wh_baseband *baseband, wh_radio *radio, bool *found)
{
    wh_burst_shape shape = {0};
    wh_shape_finder *finder = wh_shape_finder_create();
    const bool good = finder && wh_shape_find(finder, baseband, &shape);
    wh_shape_finder_destroy(&finder);
    *found = good && shape.found;
    if (*found)
        *radio = (wh_radio){.modulation = shape.modulation,
                            .chip_rate_hz = 1.0 / shape.grid.chip,
                            .rate_tolerance = 0.01,
                            .deviation_hz = shape.deviation_hz,
                            .deviation_tolerance = 0.25};
    return good;
}

bool wh_burst_trace_make(const wh_baseband *baseband, const wh_radio *radio, wh_burst_trace *trace)
{
    wh_radio own;
    bool found = radio != NULL;
    *trace = (wh_burst_trace){.count = baseband->count};
    trace->level = calloc(baseband->count, sizeof *trace->level);
    trace->frequency = calloc(baseband->count, sizeof *trace->frequency);
    wh_demod *demod = wh_demod_create();
    bool good = trace->level && trace->frequency && demod && (radio || find_radio(baseband, &own, &found));
    if (good && found && wh_demod_load(demod, baseband) == WH_DEMOD_OK) {
        const wh_demod_limits limits = {.shortest_chips = 8, .zero_run = 16};
        good = wh_demod_run(demod, radio ? radio : &own, &limits, take_chips, trace) != WH_DEMOD_NO_MEMORY;
        trace->chip *= baseband->rate_hz;
        trace->start *= baseband->rate_hz;
    }
    if (good)
        fill(baseband, trace);
    wh_demod_destroy(&demod);
    return good;
}

void wh_burst_trace_free(wh_burst_trace *trace)
{
    free(trace->level);
    free(trace->frequency);
    *trace = (wh_burst_trace){0};
}

double wh_burst_trace_at(const wh_burst_trace *trace, double sample)
{
    const float *values = trace->on_off ? trace->level : trace->frequency;
    const double last = (double)trace->count - 1.0, at = fmin(fmax(sample, 0.0), last);
    const size_t i = (size_t)at, next = i + 1 < trace->count ? i + 1 : i;
    const double part = at - (double)i;
    return (1.0 - part) * values[i] + part * values[next];
}
