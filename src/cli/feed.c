#include "feed.h"

#include "descriptor_choice.h"

#include <stdio.h>

int wh_feed_receiver(const wh_run_options *options, const wh_receiver_sink *sink, wh_log log,
                     wh_descriptor_set **descriptors, wh_receiver **receiver)
{
    wh_error error;
    if (wh_choose_descriptors(options->descriptors, options->only, options->only_count, descriptors, &error) != WH_OK) {
        const int status = wh_exit_for(&error);
        const bool none_anywhere = error.status == WH_ERR_NOT_FOUND && !options->descriptors;
        return none_anywhere ? WH_EXIT_CONFIG : status;
    }
    wh_receiver_config config;
    wh_receiver_config_defaults(&config);
    config.threads = options->threads;
    config.site = options->site;
    config.report_minimum = options->minimum;
    config.explain = options->explain;
    config.log = log;
    return wh_receiver_create(&config, *descriptors, sink, receiver, &error) == WH_OK ? 0 : wh_exit_for(&error);
}

typedef struct feed {
    wh_receiver *receiver;
    const wh_feed_hooks *hooks;
    char name[128]; /* of the source */
    wh_error *error;
} feed;

/* The receiver fails for want of memory or by a mistake of ours; either way this input is over. */
static wh_status decoded(feed *f, wh_status status)
{
    return status == WH_OK
               ? WH_OK
               : wh_fail(f->error, status, NULL, "%s: decoding failed: %s", f->name, wh_status_name(status));
}

static wh_status begin(feed *f, const wh_stream *stream)
{
    snprintf(f->name, sizeof f->name, "%s", stream->name);
    f->hooks->stream(f->hooks->context, stream);
    return wh_receiver_begin(f->receiver, stream, f->error);
}

/* *more becomes false when this was the last event. */
static wh_status take(feed *f, const wh_source_event *event, bool *more)
{
    void *context = f->hooks->context;
    switch (event->kind) {
    case WH_SOURCE_STREAM: return begin(f, &event->stream);
    case WH_SOURCE_SAMPLES: {
        const size_t count = f->hooks->samples(context, event->samples, event->count);
        *more = count == event->count;
        const wh_status status = decoded(f, wh_receiver_push(f->receiver, event->samples, count));
        if (f->hooks->taken)
            f->hooks->taken(context, event->samples, count);
        return status;
    }
    case WH_SOURCE_GAP:
        f->hooks->lost(context, event->lost);
        return decoded(f, wh_receiver_gap(f->receiver, event->lost));
    case WH_SOURCE_NOTICE: f->hooks->notice(context, &event->notice); return WH_OK;
    case WH_SOURCE_IDLE: return WH_OK;
    case WH_SOURCE_END: *more = false; return WH_OK;
    }
    return WH_OK;
}

wh_status wh_feed_input(const wh_source_options *options, wh_receiver *receiver, const wh_feed_hooks *hooks,
                        wh_error *error)
{
    feed f = {.receiver = receiver, .hooks = hooks, .error = error};
    wh_source *source = NULL;
    snprintf(f.name, sizeof f.name, "%s", options->target);
    wh_status status = wh_source_open(options, &source, error);
    if (status != WH_OK)
        return status;
    bool more = true;
    while (status == WH_OK && more) {
        wh_source_event event;
        status = wh_source_next(source, &event, error);
        if (status == WH_OK)
            status = take(&f, &event, &more);
        if (status == WH_OK)
            more = hooks->more(hooks->context, source, event.kind == WH_SOURCE_IDLE) && more;
    }
    wh_source_destroy(&source);
    const wh_status last = wh_receiver_finish(receiver);
    return status == WH_OK ? decoded(&f, last) : status;
}
