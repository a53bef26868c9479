/* What every kind of source is made of. For the files of this folder only. */
#ifndef WH_SOURCE_IMPL_H
#define WH_SOURCE_IMPL_H

#include "source.h"

typedef struct wh_source_ops {
    wh_status (*next)(wh_source *source, wh_source_event *event, wh_error *error);
    void (*destroy)(wh_source *source); /* frees everything, the source itself as well */
} wh_source_ops;

/* First member of each kind's own struct. A driver's open fills `ops`; wh_source_open fills `driver`. */
struct wh_source {
    const wh_source_driver *driver;
    const wh_source_ops *ops;
    uint64_t done;  /* samples delivered */
    uint64_t total; /* samples in all; 0 when unknown */
    bool failed;    /* next has returned an error */
};

extern const wh_source_driver wh_driver_dongle, wh_driver_stdin, wh_driver_network, wh_driver_sigmf, wh_driver_wav,
    wh_driver_bare;

/* What live sources do when the user named no frequency or rate. Most sensors of the world use 433.92 MHz; at
 * 1.024 MS/s every USB port keeps up, and +-400 kHz holds a sensor 110 kHz off with room to spare. */
#define WH_LIVE_CENTRE_HZ 433.92e6
#define WH_LIVE_RATE_HZ   1.024e6
/* A live source that has nothing to deliver reports IDLE after this time. */
#define WH_IDLE_MS 200

/* Is `rate_hz` one the receiver works at? `subject` begins the sentence of the error. `status` is what a wrong rate
 * means for this kind of source: a bad option, or a recording we do not read. */
wh_status wh_source_check_rate(double rate_hz, const char *subject, wh_status status, wh_error *error);
/* Live sources: the tuner's range. */
wh_status wh_source_check_live_centre(double centre_hz, wh_error *error);
/* Live sources: gain (-20..100 dB) and frequency correction (+-1000 ppm), where given. */
wh_status wh_source_check_tuning(const wh_source_options *options, wh_error *error);
/* Wall clock, microseconds since 1970: the start of a live stretch. */
int64_t wh_source_now_us(void);
/* CLOCK_MONOTONIC in milliseconds, for time limits. */
int64_t wh_source_monotonic_ms(void);

#endif
