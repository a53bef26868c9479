/* Samples from a dongle through librtlsdr; the opening with limits and places of the caller's, for tests. */
#ifndef WH_SOURCE_DONGLE_H
#define WH_SOURCE_DONGLE_H

#include "source.h"
#include "usb_node.h"

typedef struct wh_dongle_limits {
    int silence_ms;    /* without any sample: the dongle counts as gone */
    int stop_ms;       /* for the driver to come to an end */
    size_t ring_bytes; /* between the driver's thread and the caller's; 0: one second of samples */
} wh_dongle_limits;

extern const wh_dongle_limits wh_dongle_limits_default;

wh_status wh_dongle_open(const wh_source_options *options, const wh_dongle_limits *limits, const wh_system_roots *roots,
                         wh_source **out, wh_error *error);

#endif
