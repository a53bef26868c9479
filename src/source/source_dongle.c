#include "source_dongle.h"

#include "device_list.h"
#include "dongle_tuning.h"
#include "name_stream.h"
#include "ring.h"
#include "source_impl.h"

#include <math.h>
#include <pthread.h>
#include <rtl-sdr.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define DEFAULT_BLOCK 16384
#define MAX_BLOCK     ((size_t)1 << 20)

const wh_dongle_limits wh_dongle_limits_default = {.silence_ms = 5000, .stop_ms = 3000};

typedef struct dongle_source {
    wh_source base;
    rtlsdr_dev_t *device;
    wh_dongle_limits limits;
    wh_stream stream;
    wh_error warning; /* to be told once; status WH_OK: nothing */
    /* Shared with the driver's thread */
    wh_ring *ring;
    pthread_t thread;
    pthread_mutex_t lock;
    pthread_cond_t news;
    int64_t first_us;  /* wall clock of the first sample; written before the first bytes enter the ring */
    bool has_first;    /* the thread's own */
    atomic_bool stop;  /* asked to end */
    atomic_bool ended; /* has ended: nothing more comes */
    atomic_int left;   /* how many of thread and owner are through with all this */
    /* The reader's own */
    bool begun;
    int64_t last_ms; /* when the last samples came */
    size_t room;     /* bytes of the block */
    size_t held;     /* 0 or 1: half a sample at the start of the block */
    size_t sent;     /* bytes handed out by the last call */
    bool skip_one;   /* the next byte is the Q of a lost sample */
    uint8_t block[];
} dongle_source;

static void tell(dongle_source *source)
{
    pthread_mutex_lock(&source->lock);
    pthread_cond_signal(&source->news);
    pthread_mutex_unlock(&source->lock);
}

static void receive(unsigned char *bytes, uint32_t count, void *context)
{
    dongle_source *source = context;
    if (atomic_load(&source->stop)) {
        rtlsdr_cancel_async(source->device);
        return;
    }
    if (!source->has_first && count > 0) {
        source->has_first = true;
        source->first_us = wh_source_now_us() - (int64_t)(count / 2 / source->stream.sample_rate_hz * 1e6);
    }
    wh_ring_write(source->ring, bytes, count);
    tell(source);
}

static void release(dongle_source *source)
{
    if (source->device)
        rtlsdr_close(source->device);
    wh_ring_destroy(&source->ring);
    pthread_cond_destroy(&source->news);
    pthread_mutex_destroy(&source->lock);
    free(source);
}

/* Of a thread and an owner that part without waiting for each other, the second one turns off the light. */
static void leave(dongle_source *source)
{
    if (atomic_fetch_add(&source->left, 1) == 1)
        release(source);
}

static void *run(void *context)
{
    dongle_source *source = context;
    const uint32_t bytes = wh_dongle_transfer_bytes(source->stream.sample_rate_hz);
    /* Whatever it returns: it returns only when asked to, or when the dongle is gone. */
    rtlsdr_read_async(source->device, receive, source, 0, bytes);
    atomic_store(&source->ended, true);
    tell(source);
    leave(source);
    return NULL;
}

/* Wait until the ring has something, the thread has ended, or the idle time is over. */
static void wait_for_news(dongle_source *source)
{
    struct timespec until;
    clock_gettime(CLOCK_MONOTONIC, &until);
    until.tv_nsec += WH_IDLE_MS * 1000000L;
    until.tv_sec += until.tv_nsec / 1000000000L;
    until.tv_nsec %= 1000000000L;
    pthread_mutex_lock(&source->lock);
    int timed_out = 0;
    while (!wh_ring_ready(source->ring) && !atomic_load(&source->ended) && timed_out == 0)
        timed_out = pthread_cond_timedwait(&source->news, &source->lock, &until);
    pthread_mutex_unlock(&source->lock);
}

/* The half sample held back is lost with a gap, and what follows must begin with an I again. */
static void tell_gap(dongle_source *source, uint64_t bytes, wh_source_event *event)
{
    bytes += source->held + source->skip_one;
    source->held = 0;
    source->skip_one = bytes % 2 == 1;
    event->kind = WH_SOURCE_GAP;
    event->lost = (bytes + 1) / 2;
}

/* Nothing is in the ring. */
static wh_status nothing_there(dongle_source *source, bool ended, wh_source_event *event, wh_error *error)
{
    if (ended) {
        const uint64_t lost = wh_ring_lost_at_end(source->ring);
        if (lost > 0 && source->begun) {
            tell_gap(source, lost, event);
            return WH_OK;
        }
        return wh_fail(error, WH_ERR_GONE, "plug it in again, best without a hub or a long cable, then start again",
                       "dongle %s: gone (unplugged, or its USB connection failed)", source->stream.name);
    }
    if (wh_source_monotonic_ms() - source->last_ms > source->limits.silence_ms)
        return wh_fail(error, WH_ERR_GONE, "unplug it, plug it into another USB port, then start again",
                       "dongle %s: sends no samples any more", source->stream.name);
    event->kind = WH_SOURCE_IDLE;
    return WH_OK;
}

static wh_status next(wh_source *base, wh_source_event *event, wh_error *error)
{
    dongle_source *source = (dongle_source *)base;
    if (source->begun && source->warning.status != WH_OK) {
        event->kind = WH_SOURCE_NOTICE;
        event->notice = source->warning;
        wh_error_clear(&source->warning);
        return WH_OK;
    }
    wait_for_news(source);
    /* In this order: after `ended` nothing more enters the ring. */
    const bool ended = atomic_load(&source->ended);
    if (!wh_ring_ready(source->ring))
        return nothing_there(source, ended, event, error);
    source->last_ms = wh_source_monotonic_ms();
    if (!source->begun) {
        source->begun = true;
        source->stream.has_time = true;
        source->stream.start_utc_us = source->first_us;
        event->kind = WH_SOURCE_STREAM;
        event->stream = source->stream;
        return WH_OK;
    }
    if (source->sent > 0 && source->held > 0)
        source->block[0] = source->block[source->sent];
    source->sent = 0;
    uint64_t lost;
    size_t got = wh_ring_read(source->ring, source->block + source->held, source->room - source->held, &lost);
    if (lost > 0) {
        tell_gap(source, lost, event);
        return WH_OK;
    }
    if (source->skip_one && got > 0) {
        memmove(source->block, source->block + 1, --got);
        source->skip_one = false;
    }
    const size_t there = source->held + got;
    event->kind = there >= 2 ? WH_SOURCE_SAMPLES : WH_SOURCE_IDLE;
    event->samples = source->block;
    event->count = there / 2;
    source->sent = 2 * event->count;
    source->held = there % 2;
    return WH_OK;
}

/* Ask again and again: the driver forgets a request that comes before its loop has begun. A driver that does not come
 * to an end (a wedged USB port) is left alone with what it uses; hanging would be worse. */
static void destroy(wh_source *base)
{
    dongle_source *source = (dongle_source *)base;
    const struct timespec pause = {.tv_nsec = 5000000};
    const int64_t until = wh_source_monotonic_ms() + source->limits.stop_ms;
    atomic_store(&source->stop, true);
    while (!atomic_load(&source->ended) && wh_source_monotonic_ms() < until) {
        rtlsdr_cancel_async(source->device);
        nanosleep(&pause, NULL);
    }
    if (atomic_load(&source->ended))
        pthread_join(source->thread, NULL);
    else
        pthread_detach(source->thread);
    leave(source);
}

static const wh_source_ops ops = {next, destroy};

static wh_status setting_failed(const dongle_source *source, const char *what, wh_error *error)
{
    return wh_fail(error, WH_ERR_IO, "plug the dongle in again; try another USB port", "dongle %s: setting %s failed",
                   source->stream.name, what);
}

static wh_status set_gain(const dongle_source *source, const wh_source_options *options, wh_error *error)
{
    const bool manual = !isnan(options->gain_db);
    if (rtlsdr_set_tuner_gain_mode(source->device, manual) < 0)
        return setting_failed(source, "the gain mode", error);
    if (!manual)
        return WH_OK;
    int gains[256];
    const int count = rtlsdr_get_tuner_gains(source->device, NULL);
    if (count <= 0 || count > (int)(sizeof gains / sizeof *gains) ||
        rtlsdr_get_tuner_gains(source->device, gains) != count)
        return setting_failed(source, "the gain", error);
    const int gain = wh_dongle_nearest_gain(gains, count, options->gain_db);
    if (rtlsdr_set_tuner_gain(source->device, gain) < 0)
        return setting_failed(source, "the gain", error);
    wh_log_print(&options->log, WH_LOG_NOTE, "dongle %s: gain %.1f dB", source->stream.name, gain / 10.0);
    return WH_OK;
}

static wh_status set_up(dongle_source *source, const wh_source_options *options, uint32_t rate, wh_error *error)
{
    rtlsdr_dev_t *device = source->device;
    if (rtlsdr_set_sample_rate(device, rate) < 0)
        return setting_failed(source, "the sample rate", error);
    const int ppm = isnan(options->ppm) ? 0 : (int)lrint(options->ppm);
    if (ppm != rtlsdr_get_freq_correction(device) && rtlsdr_set_freq_correction(device, ppm) < 0)
        return setting_failed(source, "the frequency correction", error);
    if (rtlsdr_set_center_freq(device, (uint32_t)lrint(source->stream.centre_hz)) < 0)
        return setting_failed(source, "the frequency", error);
    rtlsdr_set_agc_mode(device, 0); /* the digital one only adds noise; not every chip has the switch */
    const wh_status status = set_gain(source, options, error);
    if (status != WH_OK)
        return status;
    if (rtlsdr_reset_buffer(device) < 0)
        return setting_failed(source, "up the transfer", error);
    /* What the dongle really does: its dividers do not hit every number. */
    const uint32_t true_rate = rtlsdr_get_sample_rate(device), true_centre = rtlsdr_get_center_freq(device);
    source->stream.sample_rate_hz = true_rate ? true_rate : rate;
    if (true_centre)
        source->stream.centre_hz = true_centre;
    return WH_OK;
}

static wh_status start(dongle_source *source, wh_error *error)
{
    const size_t second = 2 * (size_t)source->stream.sample_rate_hz;
    source->ring = wh_ring_create(source->limits.ring_bytes ? source->limits.ring_bytes : second);
    if (!source->ring)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory for the queue of samples");
    source->last_ms = wh_source_monotonic_ms();
    if (pthread_create(&source->thread, NULL, run, source) != 0)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "no thread for the dongle could be started");
    return WH_OK;
}

static dongle_source *allocate(const wh_source_options *options, const wh_dongle_limits *limits)
{
    size_t samples = options->block_samples ? options->block_samples : DEFAULT_BLOCK;
    if (samples > MAX_BLOCK)
        samples = MAX_BLOCK;
    dongle_source *source = calloc(1, sizeof *source + 2 * samples);
    if (!source)
        return NULL;
    source->base.ops = &ops;
    source->limits = *limits;
    source->room = 2 * samples;
    pthread_condattr_t attributes;
    pthread_condattr_init(&attributes);
    pthread_condattr_setclock(&attributes, CLOCK_MONOTONIC);
    pthread_cond_init(&source->news, &attributes);
    pthread_condattr_destroy(&attributes);
    pthread_mutex_init(&source->lock, NULL);
    return source;
}

static void describe(dongle_source *source, const wh_source_options *options, const wh_device *found)
{
    source->stream = wh_stream_from_options(options, "");
    source->stream.format = WH_IQ_CU8;
    if (isnan(options->centre_hz))
        source->stream.centre_hz = WH_LIVE_CENTRE_HZ;
    snprintf(source->stream.name, sizeof source->stream.name, "%.120s", found->serial[0] ? found->serial : "dongle");
    if (found->needs_newer_driver)
        wh_fail(&source->warning, WH_ERR_UNSUPPORTED,
                "use another dongle, or a system with a driver library newer than 0.6",
                "dongle %s (%s) is newer than the installed driver library: expect to hear nothing",
                source->stream.name, found->product);
}

/* Open what was found, and see that it is still the same: numbers shift when something is plugged in meanwhile. */
static wh_status open_device(dongle_source *source, const wh_device *found, const wh_system_roots *roots,
                             wh_error *error)
{
    const int code = rtlsdr_open(&source->device, found->index);
    if (code < 0) {
        source->device = NULL;
        return wh_device_open_error(code, roots, found, error);
    }
    char manufacturer[256] = "", product[256] = "", serial[256] = "";
    const bool told = rtlsdr_get_usb_strings(source->device, manufacturer, product, serial) == 0;
    wh_printable(serial);
    if (told && found->serial[0] && strcmp(serial, found->serial) != 0)
        return wh_fail(error, WH_ERR_BUSY, "try again", "dongle %s: the dongles were changed while it was opened",
                       found->serial);
    return WH_OK;
}

wh_status wh_dongle_open(const wh_source_options *options, const wh_dongle_limits *limits, const wh_system_roots *roots,
                         wh_source **out, wh_error *error)
{
    const char *equals = strchr(options->target, '=');
    uint32_t rate;
    wh_device found;
    wh_status status =
        wh_dongle_rate(isnan(options->sample_rate_hz) ? WH_LIVE_RATE_HZ : options->sample_rate_hz, &rate, error);
    if (status == WH_OK && !isnan(options->centre_hz))
        status = wh_source_check_live_centre(options->centre_hz, error);
    if (status == WH_OK)
        status = wh_source_check_tuning(options, error);
    if (status == WH_OK)
        status = wh_device_find(roots, equals ? equals + 1 : NULL, &found, error);
    if (status != WH_OK)
        return status;
    dongle_source *source = allocate(options, limits);
    if (!source)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory for a dongle");
    describe(source, options, &found);
    status = open_device(source, &found, roots, error);
    if (status == WH_OK)
        status = set_up(source, options, rate, error);
    if (status == WH_OK)
        status = start(source, error);
    if (status != WH_OK) {
        release(source);
        return status;
    }
    *out = &source->base;
    return WH_OK;
}

static bool accepts(const wh_source_options *options)
{
    return strcmp(options->target, "dongle") == 0 || strncmp(options->target, "dongle=", 7) == 0;
}

static wh_status open_dongle(const wh_source_options *options, wh_source **out, wh_error *error)
{
    return wh_dongle_open(options, &wh_dongle_limits_default, &wh_system_roots_default, out, error);
}

const wh_source_driver wh_driver_dongle = {
    .name = "dongle",
    .summary = "\"dongle\" or dongle=SERIAL: an RTL-SDR at this computer",
    .live = true,
    .accepts = accepts,
    .open = open_dongle,
};
