/* Samples from a source into a receiver: what every command that listens or decodes has at its heart. */
#ifndef WH_FEED_H
#define WH_FEED_H

#include "run_options.h"
#include "source.h"
#include "wheelhark/receiver.h"

/* A receiver with the descriptors that `options` choose. The caller destroys both; the receiver first. Returns 0, or an
 * exit status after telling why not. */
int wh_feed_receiver(const wh_run_options *options, const wh_receiver_sink *sink, wh_log log,
                     wh_descriptor_set **descriptors, wh_receiver **receiver);

/* What the feed tells on its way. All but `context` and `taken` must be there. */
typedef struct wh_feed_hooks {
    void *context;
    /* A stretch begins; the receiver begins it when this returns. */
    void (*stream)(void *context, const wh_stream *stream);
    /* Samples are at hand: how many of them to take; fewer than there are ends the input after them. */
    size_t (*samples)(void *context, const void *samples, size_t count);
    /* A live source lost samples. */
    void (*lost)(void *context, uint64_t count);
    /* Something the user must know; samples go on. */
    void (*notice)(void *context, const wh_error *notice);
    /* After every event; `idle`: nothing came. False: enough. */
    bool (*more)(void *context, wh_source *source, bool idle);
    /* Samples that the receiver has taken in; may be NULL. */
    void (*taken)(void *context, const void *samples, size_t count);
} wh_feed_hooks;

/* Feed one input to its end, until it fails (*error says why; it was not told yet), or until it is enough. What the receiver
 * still holds comes out before this returns. */
wh_status wh_feed_input(const wh_source_options *options, wh_receiver *receiver, const wh_feed_hooks *hooks,
                        wh_error *error);

#endif
