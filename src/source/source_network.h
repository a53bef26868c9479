/* Samples over the network; the opening with time limits of the caller's, for tests. */
#ifndef WH_SOURCE_NETWORK_H
#define WH_SOURCE_NETWORK_H

#include "source.h"

typedef struct wh_network_limits {
    int connect_ms; /* until the connection stands */
    int header_ms;  /* until the server has told what it is */
    int silence_ms; /* without any sample: the server counts as gone */
} wh_network_limits;

extern const wh_network_limits wh_network_limits_default;

wh_status wh_network_open(const wh_source_options *options, const wh_network_limits *limits, wh_source **out,
                          wh_error *error);
/* A stream on a connected socket (taken over, also on failure): reads the header, sends the commands. */
wh_status wh_network_open_socket(const wh_source_options *options, const wh_network_limits *limits, int fd,
                                 const char *peer, wh_source **out, wh_error *error);

#endif
