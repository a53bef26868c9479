#include "quiet_feed.h"

#include "feed.h"

#include <string.h>

typedef struct quiet {
    int worst;
    bool live;
} quiet;

static void no_stream(void *context, const wh_stream *stream)
{
    (void)context;
    (void)stream;
}

static size_t all_samples(void *context, const void *samples, size_t count)
{
    (void)samples;
    const quiet *q = context;
    return q->live ? 0 : count;
}

static void none_lost(void *context, uint64_t count)
{
    (void)context;
    (void)count;
}

static void on_notice(void *context, const wh_error *notice)
{
    quiet *q = context;
    const int status = wh_exit_for(notice);
    if (notice->status == WH_ERR_DATA)
        q->worst = status;
}

static bool more(void *context, wh_source *source, bool idle)
{
    quiet *q = context;
    (void)idle;
    q->live = wh_source_kind(source)->live;
    return !q->live && !wh_stop_asked();
}

int wh_feed_quietly(const wh_source_options *options, wh_receiver *receiver)
{
    quiet q = {0};
    const wh_feed_hooks hooks = {&q, no_stream, all_samples, none_lost, on_notice, more, NULL};
    wh_error error;
    wh_status status = wh_feed_input(options, receiver, &hooks, &error);
    if (status == WH_OK && q.live)
        status = wh_fail(&error, WH_ERR_UNSUPPORTED, "record it first: wheelhark listen --record NAME",
                         "%s: only recordings can be used here", options->target);
    if (status == WH_OK)
        return q.worst;
    const int told = wh_exit_for(&error);
    return told > q.worst ? told : q.worst;
}
