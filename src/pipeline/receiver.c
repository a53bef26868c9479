#include "wheelhark/receiver.h"

#include "burst_tap.h"
#include "catalog.h"
#include "detect.h"
#include "history.h"
#include "iq_wide.h"
#include "isolate.h"
#include "outbox.h"
#include "steady_line.h"
#include "storm.h"
#include "workers.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define CHUNK           32768 /* samples kept and detected at a time: many slots, and still in the processor's cache */
#define LINE_MOST_S     0.016 /* a line is measured over this much: to 0.1 Hz when it is 30 dB over the noise in 60 Hz */
#define LINE_LEAST_S    0.004
#define LINE_REACH_HZ   3e3  /* a bin and a half of the detector */
#define LONGEST_LEAST_S 0.35 /* an emission may hold several copies without a pause between them ... */
#define LONGEST_FRAMES  4.0  /* ... so this many of the longest frame, */
#define LONGEST_MOST_S  1.5  /* as far as the memory for the history allows */

struct wh_receiver {
    wh_receiver_config config;
    wh_catalog *catalog;
    wh_workers *workers;
    wh_outbox *outbox;
    wh_receiver_stats stats;
    wh_burst_tap tap; /* take NULL: none */
    /* the stretch being received */
    bool open;
    wh_stream stream;
    wh_detector *detector;
    wh_isolator *isolator;
    wh_history history;
    wh_storm storm;
    float *slice; /* [2 x WH_ISOLATOR_STEP] */
    bool out_of_memory;
};

void wh_receiver_config_defaults(wh_receiver_config *config)
{
    *config = (wh_receiver_config){.site = {WH_STANDARD_ATMOSPHERE_KPA}, .report_minimum = 0.5};
}

wh_status wh_receiver_create(const wh_receiver_config *config, const wh_descriptor_set *descriptors,
                             const wh_receiver_sink *sink, wh_receiver **out, wh_error *error)
{
    wh_error_clear(error);
    if (!(config->site.kpa >= 50.0 && config->site.kpa <= 110.0))
        return wh_fail(error, WH_ERR_ARGUMENT, "give the site's absolute air pressure between 50 and 110 kPa",
                       "site pressure %.1f kPa is not an air pressure on Earth's surface", config->site.kpa);
    if (!(config->report_minimum >= 0.0 && config->report_minimum <= 1.0))
        return wh_fail(error, WH_ERR_ARGUMENT, "give a confidence between 0 and 1", "confidence %g is no probability",
                       config->report_minimum);
    wh_receiver *receiver = calloc(1, sizeof *receiver);
    if (receiver) {
        receiver->config = *config;
        receiver->catalog = wh_catalog_create(descriptors);
        receiver->workers = receiver->catalog ? wh_workers_create(receiver->catalog, config->threads) : NULL;
        receiver->outbox = wh_outbox_create(config, sink, &receiver->stats);
        receiver->slice = malloc(2 * WH_ISOLATOR_STEP * sizeof(float));
    }
    if (!receiver || !receiver->workers || !receiver->outbox || !receiver->slice) {
        wh_receiver_destroy(&receiver);
        return wh_fail(error, WH_ERR_MEMORY, "close other programs", "not enough memory for the receiver");
    }
    *out = receiver;
    return WH_OK;
}

static void close_stretch(wh_receiver *receiver)
{
    wh_detector_destroy(&receiver->detector);
    wh_isolator_destroy(&receiver->isolator);
    wh_history_free(&receiver->history);
    receiver->open = false;
}

void wh_receiver_destroy(wh_receiver **receiver)
{
    if (!receiver || !*receiver)
        return;
    close_stretch(*receiver);
    wh_workers_destroy(&(*receiver)->workers);
    wh_outbox_destroy(&(*receiver)->outbox);
    wh_catalog_destroy(&(*receiver)->catalog);
    free((*receiver)->slice);
    free(*receiver);
    *receiver = NULL;
}

/* Take finished jobs: all with `wait`, else those that are done. */
static void collect(wh_receiver *receiver, bool wait)
{
    for (;;) {
        wh_burst_job *job = wh_workers_get(receiver->workers, wait);
        if (!job)
            return;
        receiver->out_of_memory |= job->out_of_memory || !wh_outbox_take(receiver->outbox, job);
        wh_burst_job_destroy(&job);
    }
}

void wh_receiver_set_tap(wh_receiver *receiver, const wh_burst_tap *tap)
{
    receiver->tap = tap ? *tap : (wh_burst_tap){0};
}

static void describe_burst(const wh_receiver *receiver, const wh_outline *outline, wh_burst *burst)
{
    const wh_stream *stream = &receiver->stream;
    *burst = (wh_burst){
        .offset_s = stream->start_s + (double)outline->start / stream->sample_rate_hz,
        .has_time = stream->has_time,
        .at_utc_us = stream->start_utc_us + (int64_t)llround((double)outline->start / stream->sample_rate_hz * 1e6),
        .duration_s = (double)(outline->end - outline->start) / stream->sample_rate_hz,
        .carrier_hz = stream->centre_hz + outline->centre_hz,
        .width_hz = outline->width_hz,
        .snr_db = outline->snr_db,
        .level_dbfs = 10.0 * log10(fmax(outline->power, 1e-14)),
    };
    snprintf(burst->source, sizeof burst->source, "%s", stream->name);
}

/* Steady carriers are measured on what came before the burst, where the burst cannot be mistaken for them. */
static size_t samples_before(const wh_receiver *receiver, const wh_outline *outline)
{
    const double rate = receiver->stream.sample_rate_hz;
    const uint64_t most = (uint64_t)(LINE_MOST_S * rate), least = (uint64_t)(LINE_LEAST_S * rate);
    const uint64_t there = outline->start < most ? outline->start : most;
    return outline->line_count > 0 && there >= least ? (size_t)there : 0;
}

static void remove_lines(wh_burst_job *job, const wh_outline *outline, double shift_hz, size_t before)
{
    for (unsigned i = 0; i < outline->line_count; i++) {
        const double hz = outline->line_hz[i] - shift_hz;
        if (fabs(hz) >= 0.5 * job->rate_hz)
            continue;
        /* Strongest first, each taken from the whole before the next is measured. */
        const wh_steady_line line = wh_steady_line_measure(job->samples, before, job->rate_hz, hz,
                                                           outline->line_hz[i] == 0.0 ? 0.0 : LINE_REACH_HZ);
        wh_steady_line_remove(&line, job->rate_hz, 0, job->samples, job->count);
    }
    job->count -= before;
    memmove(job->samples, job->samples + before, job->count * sizeof *job->samples);
}

/* Cut the outline out of the history, shift it to 0 Hz and thin it out. */
static wh_burst_job *isolate(wh_receiver *receiver, const wh_outline *outline)
{
    wh_isolator *isolator = receiver->isolator;
    const unsigned factor = wh_isolator_factor(isolator);
    const size_t margin = wh_isolator_margin(isolator);
    const size_t before = samples_before(receiver, outline) / factor * factor;
    const size_t wanted = (size_t)(outline->end - outline->start) / factor * factor + before;
    wh_burst_job *job = wh_burst_job_create(wanted / factor + 1);
    if (!job)
        return NULL;
    describe_burst(receiver, outline, &job->burst);
    const double rate = receiver->stream.sample_rate_hz;
    job->rate_hz = rate / (double)factor;
    job->noise_density = outline->noise_density;
    job->half_width_hz = 0.5 * outline->width_hz;
    /* Without decimation nothing is gained by centring, and a shift would wrap one tone of a wide pair round the band's edge. */
    const double shift_hz = factor > 1 ? outline->centre_hz : 0.0;
    job->band_centre_hz = outline->centre_hz - shift_hz;
    job->centre_hz = receiver->stream.centre_hz + shift_hz;
    job->centre_known = receiver->stream.centre_hz > 0.0;
    job->steady = outline->cut;
    job->first_s = job->burst.offset_s;
    job->time_base_s = receiver->stream.start_s;
    job->has_time = receiver->stream.has_time;
    job->time_base_us = receiver->stream.start_utc_us;
    job->report_minimum = receiver->config.report_minimum;
    job->explain = receiver->config.explain;
    wh_isolator_begin(isolator, shift_hz);
    const size_t all = wanted + 2 * margin, step_most = WH_ISOLATOR_STEP / factor * factor;
    for (size_t done = 0; done < all;) {
        const size_t step = all - done < step_most ? all - done : step_most;
        wh_history_read(&receiver->history, (int64_t)outline->start - (int64_t)(before + margin) + (int64_t)done, step,
                        receiver->slice);
        job->count +=
            wh_isolator_feed(isolator, (const float complex *)receiver->slice, step, job->samples + job->count);
        done += step;
    }
    if (before > 0)
        remove_lines(job, outline, shift_hz, before / factor);
    return job;
}

/* A job that only tells that there was a burst. */
static wh_burst_job *leave_out(wh_receiver *receiver, const wh_outline *outline)
{
    wh_burst_job *job = wh_burst_job_create(1);
    if (!job)
        return NULL;
    describe_burst(receiver, outline, &job->burst);
    job->left_out = true;
    job->first_s = job->burst.offset_s;
    return job;
}

static void take_outline(void *context, const wh_outline *outline)
{
    wh_receiver *receiver = context;
    const double rate = receiver->stream.sample_rate_hz;
    const bool admitted = wh_storm_admits(&receiver->storm, (double)outline->end / rate,
                                          (double)(outline->end - outline->start) / rate, outline->held_db);
    wh_burst_job *job = admitted ? isolate(receiver, outline) : leave_out(receiver, outline);
    if (!job) {
        receiver->out_of_memory = true;
        return;
    }
    if (receiver->tap.take && admitted)
        receiver->tap.take(receiver->tap.context, job, outline);
    if (wh_workers_full(receiver->workers)) {
        wh_burst_job *oldest = wh_workers_get(receiver->workers, true);
        receiver->out_of_memory |= oldest->out_of_memory || !wh_outbox_take(receiver->outbox, oldest);
        wh_burst_job_destroy(&oldest);
    }
    wh_workers_put(receiver->workers, job);
}

static wh_status open_stretch(wh_receiver *receiver, wh_error *error)
{
    const wh_stream *stream = &receiver->stream;
    const wh_detector_config config = {
        .sample_rate_hz = stream->sample_rate_hz,
        .pause_s = fmax(receiver->tap.pause_s, receiver->catalog->pause_s),
        .longest_s = fmin(LONGEST_MOST_S, fmax(fmax(receiver->tap.longest_s, LONGEST_LEAST_S),
                                               LONGEST_FRAMES * receiver->catalog->longest_s)),
    };
    receiver->detector = wh_detector_create(&config, take_outline, receiver);
    receiver->isolator = wh_isolator_create(stream->sample_rate_hz);
    const size_t reach = receiver->detector ? wh_detector_reach(receiver->detector) : 0;
    if (!receiver->detector || !receiver->isolator ||
        !wh_history_init(&receiver->history, stream->format,
                         reach + 2 * CHUNK + 2 * wh_isolator_margin(receiver->isolator) +
                             (size_t)(LINE_MOST_S * stream->sample_rate_hz))) {
        close_stretch(receiver);
        return wh_fail(error, WH_ERR_MEMORY, "close other programs", "not enough memory for a stretch of samples");
    }
    receiver->storm = (wh_storm){0};
    receiver->open = true;
    return WH_OK;
}

wh_status wh_receiver_begin(wh_receiver *receiver, const wh_stream *stream, wh_error *error)
{
    wh_error_clear(error);
    const wh_status finished = wh_receiver_finish(receiver);
    if (finished != WH_OK)
        return wh_fail(error, finished, NULL, "the stretch before could not be finished");
    if (!(stream->sample_rate_hz >= WH_SAMPLE_RATE_MIN_HZ && stream->sample_rate_hz <= WH_SAMPLE_RATE_MAX_HZ))
        return wh_fail(error, WH_ERR_UNSUPPORTED, "resample the recording to a rate between 225 kS/s and 3.2 MS/s",
                       "sample rate %.0f S/s is outside 225000 to 3200000", stream->sample_rate_hz);
    receiver->stream = *stream;
    return open_stretch(receiver, error);
}

static double horizon_s(const wh_receiver *receiver)
{
    const double detector =
        receiver->stream.start_s + (double)wh_detector_horizon(receiver->detector) / receiver->stream.sample_rate_hz;
    return fmin(detector, wh_workers_earliest_s(receiver->workers));
}

/* Tell what can be told; with `wait` once the threads are done. */
static wh_status tell(wh_receiver *receiver, bool wait)
{
    collect(receiver, wait);
    wh_outbox_send(receiver->outbox, horizon_s(receiver));
    return receiver->out_of_memory ? WH_ERR_MEMORY : WH_OK;
}

wh_status wh_receiver_push(wh_receiver *receiver, const void *samples, size_t count)
{
    if (!receiver->open)
        return WH_ERR_ARGUMENT;
    const size_t size = wh_iq_bytes(receiver->stream.format);
    const unsigned char *from = samples;
    while (count > 0) {
        const size_t step = count < CHUNK ? count : CHUNK;
        wh_history_append(&receiver->history, from, step);
        receiver->stats.samples_invalid += wh_iq_count_invalid(receiver->stream.format, from, step);
        receiver->stats.clipped_samples += wh_iq_count_clipped(receiver->stream.format, from, step);
        receiver->stats.samples += step;
        receiver->stats.seconds += (double)step / receiver->stream.sample_rate_hz;
        wh_detector_push_native(receiver->detector, receiver->stream.format, from, step);
        from += step * size;
        count -= step;
    }
    return tell(receiver, false);
}

wh_status wh_receiver_settle(wh_receiver *receiver)
{
    return receiver->open ? tell(receiver, true) : WH_OK;
}

wh_status wh_receiver_finish(wh_receiver *receiver)
{
    if (!receiver->open)
        return WH_OK;
    wh_detector_finish(receiver->detector);
    collect(receiver, true);
    wh_outbox_send(receiver->outbox, INFINITY);
    close_stretch(receiver);
    return receiver->out_of_memory ? WH_ERR_MEMORY : WH_OK;
}

wh_status wh_receiver_gap(wh_receiver *receiver, uint64_t lost)
{
    if (!receiver->open)
        return WH_ERR_ARGUMENT;
    wh_stream next = receiver->stream;
    const double skipped = (double)(receiver->history.end + lost) / next.sample_rate_hz;
    next.start_s += skipped;
    next.start_utc_us += (int64_t)llround(skipped * 1e6);
    receiver->stats.samples_lost += lost;
    return wh_receiver_begin(receiver, &next, NULL);
}

void wh_receiver_get_stats(const wh_receiver *receiver, wh_receiver_stats *stats)
{
    *stats = receiver->stats;
}
