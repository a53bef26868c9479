/* The receiver: samples in, readings out. One receiver is used from one thread at a time; it may
 * use threads of its own. Same samples in, in blocks of any size and with any number of threads:
 * same callbacks with the same content in the same order. */
#ifndef WHEELHARK_RECEIVER_H
#define WHEELHARK_RECEIVER_H

#include "wheelhark/descriptor.h"
#include "wheelhark/iq.h"
#include "wheelhark/log.h"
#include "wheelhark/reading.h"

typedef struct wh_receiver wh_receiver;

typedef struct wh_receiver_config {
    unsigned threads;      /* worker threads for bursts; 0 (default): all work in the caller's thread */
    wh_absolute site;      /* the site's atmosphere, 50..110 kPa; default 101.325 */
    double report_minimum; /* readings below this confidence are counted, not reported; 0..1, default 0.5 */
    bool explain;          /* call `attempt` for every descriptor and burst */
    wh_log log;            /* default: discard */
    void *reserved[8];     /* NULL */
} wh_receiver_config;
void wh_receiver_config_defaults(wh_receiver_config *config);

/* Every callback may be NULL. They are called from within push and finish, in the caller's thread. */
typedef struct wh_receiver_sink {
    void *context;
    void (*reading)(void *context, const wh_reading *reading);
    void (*burst)(void *context, const wh_burst *burst);       /* every burst, decoded or not */
    void (*attempt)(void *context, const wh_attempt *attempt); /* with config.explain */
    /* For people who wait: an activation's first copy that reaches report_minimum, as soon as it is decoded, within 150 ms of its end.
     * `reading` comes with the last word when no further copy can, which takes as long as the descriptor's longest pause; what
     * `early` told may then be surer, begin earlier, or, when another transmission explains the same air better, not be confirmed at
     * all. Once per activation; in the same order with the same content whatever the blocks and threads, but where among the other
     * callbacks is not promised. */
    void (*early)(void *context, const wh_reading *reading);
} wh_receiver_sink;

typedef struct wh_receiver_stats {
    uint64_t samples;         /* pushed */
    uint64_t samples_lost;    /* told by wh_receiver_gap */
    uint64_t samples_invalid; /* NaN or infinite, taken as 0 */
    double seconds;           /* signal time */
    uint64_t bursts;          /* outlines found */
    uint64_t bursts_decoded;
    uint64_t skirts; /* outlines that were only the spread of a stronger burst's keying; not counted as bursts */
    uint64_t readings;
    uint64_t readings_weak;            /* below report_minimum */
    uint64_t reasons[WH_REASON_COUNT]; /* bursts by final reason */
    uint64_t clipped_samples;          /* at full scale (integer formats) */
} wh_receiver_stats;

/* `descriptors` must outlive the receiver and not change. On success *out is the caller's to destroy. */
wh_status wh_receiver_create(const wh_receiver_config *config, const wh_descriptor_set *descriptors,
                             const wh_receiver_sink *sink, wh_receiver **out, wh_error *error);
/* Begin a stretch. An earlier one is finished first (bursts still open at its end are decoded). */
wh_status wh_receiver_begin(wh_receiver *receiver, const wh_stream *stream, wh_error *error);
/* `count` complex samples in the stretch's format; the memory is free again after the call. */
wh_status wh_receiver_push(wh_receiver *receiver, const void *samples, size_t count);
/* `lost` samples of the stretch never arrived (live sources). Bursts across the gap are cut there. */
wh_status wh_receiver_gap(wh_receiver *receiver, uint64_t lost);
/* Wait for the threads: whatever can be told of the samples pushed so far has been told when this returns, however many threads there
 * are and however quick. For those who hold the samples back and look meanwhile. */
wh_status wh_receiver_settle(wh_receiver *receiver);
/* End of input: everything still held comes out. begin() may follow. */
wh_status wh_receiver_finish(wh_receiver *receiver);
void wh_receiver_get_stats(const wh_receiver *receiver, wh_receiver_stats *stats);
void wh_receiver_destroy(wh_receiver **receiver);

#endif
