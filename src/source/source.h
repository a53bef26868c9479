/* Where samples come from. Sources are pulled: one event at a time. */
#ifndef WH_SOURCE_H
#define WH_SOURCE_H

#include "wheelhark/iq.h"
#include "wheelhark/log.h"
#include "wheelhark/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct wh_source wh_source;

/* What the user asked for. Numbers that are NaN were not given. */
typedef struct wh_source_options {
    const char *target; /* path, "-" for stdin, "HOST:PORT" or "tcp://HOST:PORT" for a network stream,
                              "dongle" or "dongle=SERIAL" for an RTL-SDR */
    bool has_format;    /* for bare samples whose name does not tell */
    wh_iq_format format;
    double sample_rate_hz; /* bare samples: needed; live: wanted (NaN: 1.024 MS/s). What a file says comes first */
    double centre_hz;      /* where the file does not say; live: wanted (NaN: 433.92 MHz) */
    double gain_db;        /* live; NaN = automatic */
    double ppm;            /* live; frequency correction; NaN = 0 */
    size_t block_samples;  /* most samples per event; 0 = the source's choice. Must not change results */
    wh_log log;
} wh_source_options;
void wh_source_options_defaults(wh_source_options *options);

typedef enum wh_source_event_kind {
    WH_SOURCE_STREAM,  /* a new stretch begins: see `stream`. Always comes before the first samples */
    WH_SOURCE_SAMPLES, /* `samples`, `count`, in the stretch's format; valid until the next call */
    WH_SOURCE_GAP,     /* live only: `lost` samples never arrived at this place */
    WH_SOURCE_NOTICE,  /* `notice`: something the user must know; samples go on. Damage found in a file
                          (truncated, odd length, wrong hash) comes as status WH_ERR_DATA, and what was
                          readable before it is still delivered */
    WH_SOURCE_IDLE,    /* live sources and pipes: nothing within about 200 ms; lets the caller look at its stop flag */
    WH_SOURCE_END
} wh_source_event_kind;

typedef struct wh_source_event {
    wh_source_event_kind kind;
    wh_stream stream;
    const void *samples;
    size_t count;
    uint64_t lost;
    wh_error notice;
} wh_source_event;

/* A kind of source. The table wh_source_drivers lists them; `accepts` is asked in its order. */
typedef struct wh_source_driver {
    const char *name;    /* "sigmf", "wav", "bare", "stdin", "network", "dongle" */
    const char *summary; /* one line for --help */
    bool live;           /* may drop; never ends by itself */
    bool (*accepts)(const wh_source_options *options);
    wh_status (*open)(const wh_source_options *options, wh_source **out, wh_error *error);
} wh_source_driver;

extern const wh_source_driver *const wh_source_drivers[]; /* NULL-terminated */

/* Open `options->target` with the first driver that accepts it. */
wh_status wh_source_open(const wh_source_options *options, wh_source **out, wh_error *error);
/* Next event. A failure ends the source; it may still be destroyed. */
wh_status wh_source_next(wh_source *source, wh_source_event *event, wh_error *error);
const wh_source_driver *wh_source_kind(const wh_source *source);
/* Files: samples in all and delivered so far, for a progress bar; total is 0 when unknown. */
void wh_source_progress(const wh_source *source, uint64_t *done, uint64_t *total);
void wh_source_destroy(wh_source **source);

#endif
