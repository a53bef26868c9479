#include "source.h"

#include "source_impl.h"

#include <math.h>
#include <string.h>
#include <time.h>

/* The order matters: words and addresses first, then files by their name, and any other file last. */
const wh_source_driver *const wh_source_drivers[] = {
    &wh_driver_dongle, &wh_driver_stdin, &wh_driver_network, &wh_driver_sigmf, &wh_driver_wav, &wh_driver_bare, NULL,
};

void wh_source_options_defaults(wh_source_options *options)
{
    *options = (wh_source_options){
        .sample_rate_hz = (double)NAN, .centre_hz = (double)NAN, .gain_db = (double)NAN, .ppm = (double)NAN};
}

wh_status wh_source_open(const wh_source_options *options, wh_source **out, wh_error *error)
{
    *out = NULL;
    wh_error_clear(error);
    if (!options->target || options->target[0] == '\0')
        return wh_fail(error, WH_ERR_ARGUMENT, "name a file, \"-\", HOST:PORT or \"dongle\"",
                       "no source of samples was named");
    for (const wh_source_driver *const *driver = wh_source_drivers; *driver; driver++) {
        if (!(*driver)->accepts(options))
            continue;
        const wh_status status = (*driver)->open(options, out, error);
        if (status == WH_OK)
            (*out)->driver = *driver;
        return status;
    }
    /* Not reached while the last driver takes any name. */
    return wh_fail(error, WH_ERR_UNSUPPORTED, NULL, "%s: no way to read this", options->target);
}

wh_status wh_source_next(wh_source *source, wh_source_event *event, wh_error *error)
{
    memset(event, 0, sizeof *event);
    wh_error_clear(error);
    if (source->failed)
        return wh_fail(error, WH_ERR_ARGUMENT, NULL, "the source has failed before and cannot go on");
    const wh_status status = source->ops->next(source, event, error);
    if (status != WH_OK)
        source->failed = true;
    else if (event->kind == WH_SOURCE_SAMPLES)
        source->done += event->count;
    return status;
}

const wh_source_driver *wh_source_kind(const wh_source *source)
{
    return source->driver;
}

void wh_source_progress(const wh_source *source, uint64_t *done, uint64_t *total)
{
    *done = source->done;
    *total = source->total;
}

void wh_source_destroy(wh_source **source)
{
    if (!source || !*source)
        return;
    (*source)->ops->destroy(*source);
    *source = NULL;
}

wh_status wh_source_check_rate(double rate_hz, const char *subject, wh_status status, wh_error *error)
{
    if (rate_hz >= WH_SAMPLE_RATE_MIN_HZ && rate_hz <= WH_SAMPLE_RATE_MAX_HZ)
        return WH_OK;
    const char *fix = status == WH_ERR_ARGUMENT ? "give the rate at which the samples were taken, e.g. 250k or 2.4M"
                                                : "resample the recording, e.g. to 1 MS/s";
    return wh_fail(error, status, fix, "%s: %.15g samples per second; rates from 225 kS/s to 3.2 MS/s can be read",
                   subject, rate_hz);
}

wh_status wh_source_check_live_centre(double centre_hz, wh_error *error)
{
    /* 24 to 1766 MHz: what the common tuner of these dongles reaches. */
    if (centre_hz >= 24e6 && centre_hz <= 1766e6)
        return WH_OK;
    return wh_fail(error, WH_ERR_ARGUMENT, "give the frequency with its prefix, e.g. 433.92M or 315M",
                   "%.15g Hz is outside what a dongle can tune to (24 to 1766 MHz)", centre_hz);
}

wh_status wh_source_check_tuning(const wh_source_options *options, wh_error *error)
{
    if (!isnan(options->gain_db) && !(options->gain_db >= -20.0 && options->gain_db <= 100.0))
        return wh_fail(error, WH_ERR_ARGUMENT, "give a gain such as 30, in dB, or none for automatic gain",
                       "a gain of %.15g dB makes no sense", options->gain_db);
    if (!isnan(options->ppm) && !(fabs(options->ppm) <= 1000.0))
        return wh_fail(error, WH_ERR_ARGUMENT, "give a correction such as 30, in parts per million",
                       "a correction of %.15g ppm makes no sense", options->ppm);
    return WH_OK;
}

int64_t wh_source_now_us(void)
{
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    return (int64_t)now.tv_sec * 1000000 + now.tv_nsec / 1000;
}

int64_t wh_source_monotonic_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}
