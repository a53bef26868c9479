/* Options of commands that listen: which dongle or network stream, and how it is set. */
#ifndef WH_LIVE_OPTIONS_H
#define WH_LIVE_OPTIONS_H

#include "run_options.h"

typedef struct wh_live_options {
    const char *dongle, *network;
    const char *usual_dongle; /* where neither is named; NULL: the only one there is */
    char target[300];
} wh_live_options;

/* Their rows of an option table; ids are `first` to `first` + WH_LIVE_OPTION_COUNT - 1. */
enum { WH_LIVE_DONGLE, WH_LIVE_NETWORK, WH_LIVE_FREQUENCY, WH_LIVE_GAIN, WH_LIVE_PPM, WH_LIVE_OPTION_COUNT };
#define WH_LIVE_OPTION_ROWS(first, where_to_listen)                                                                    \
    {(first) + WH_LIVE_DONGLE, 0, "dongle", "SERIAL",                                                                  \
     "Use the RTL-SDR dongle with this serial. Default: the only one there is."},                                      \
        {(first) + WH_LIVE_NETWORK, 0, "network", "HOST:PORT",                                                         \
         "Use samples that a program on another machine sends from its dongle."},                                      \
        {(first) + WH_LIVE_FREQUENCY, 'f', "frequency", "FREQUENCY", where_to_listen},                                 \
        {WH_OPT_SAMPLE_RATE, 0, "sample-rate", "RATE", "Default 1.024 MS/s."},                                         \
        {(first) + WH_LIVE_GAIN, 'g', "gain", "GAIN", "In dB; default: automatic."},                                   \
    {                                                                                                                  \
        (first) + WH_LIVE_PPM, 0, "ppm", "PPM",                                                                        \
            "Correction of the dongle's frequency in parts per million. Default 0."                                    \
    }

/* Before the first option: what the user set once and for all, which must outlive `live`. */
void wh_live_options_settings(wh_live_options *live, wh_source_options *source, const wh_settings *settings);
/* Take one of them (`option`: the id less `first`). Returns 0, an exit status when its value is wrong (told), or -1 when it is
 * none of them. */
int wh_live_options_take(wh_live_options *live, wh_source_options *source, wh_args *args, int option,
                         const char *value);
/* After the last option: fill in source->target, and 1.024 MS/s and 433.92 MHz where nothing else was said. `live` must
 * outlive `source`. 0 or an exit status. */
int wh_live_options_choose(wh_live_options *live, wh_source_options *source, wh_args *args);

#endif
