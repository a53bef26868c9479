#include "source_network.h"

#include "connect.h"
#include "name_stream.h"
#include "network_protocol.h"
#include "source_impl.h"

#include <errno.h>
#include <math.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

/* 16 Ki samples: 16 ms at 1.024 MS/s, well below the time in which a reading should be out. */
#define DEFAULT_BLOCK 16384
#define MAX_BLOCK     ((size_t)1 << 20)

/* A server far away answers within a second; a stream that pauses for 10 s has lost its dongle or its network. */
const wh_network_limits wh_network_limits_default = {.connect_ms = 5000, .header_ms = 5000, .silence_ms = 10000};

typedef struct network_source {
    wh_source base;
    int fd;
    wh_network_limits limits;
    wh_stream stream;
    char peer[128];
    bool begun;
    int64_t last_ms; /* when the last bytes came */
    size_t room;     /* bytes of the block */
    size_t held;     /* 0 or 1: half a sample at the start of the block */
    size_t sent;     /* bytes handed out by the last call */
    uint8_t block[];
} network_source;

static void destroy(wh_source *base)
{
    network_source *source = (network_source *)base;
    close(source->fd);
    free(source);
}

static wh_status gone(const network_source *source, wh_error *error, const char *what)
{
    return wh_fail(error, WH_ERR_GONE, "see that the server still runs and has its dongle, then start again", "%s: %s",
                   source->peer, what);
}

/* Up to `want` bytes; *got 0 when none came within `wait_ms`. */
static wh_status receive(network_source *source, uint8_t *bytes, size_t want, int wait_ms, size_t *got, wh_error *error)
{
    *got = 0;
    struct pollfd wait = {.fd = source->fd, .events = POLLIN};
    const int ready = poll(&wait, 1, wait_ms);
    if (ready == 0 || (ready < 0 && errno == EINTR))
        return WH_OK;
    const ssize_t count = recv(source->fd, bytes, want, 0);
    if (count > 0) {
        *got = (size_t)count;
        source->last_ms = wh_source_monotonic_ms();
        return WH_OK;
    }
    if (count < 0 && (errno == EAGAIN || errno == EWOULDBLOCK || errno == EINTR))
        return WH_OK;
    return gone(source, error, count == 0 ? "the server has closed the stream" : strerror(errno));
}

static wh_status read_header(network_source *source, wh_network_header *header, wh_error *error)
{
    uint8_t bytes[WH_NETWORK_HEADER_BYTES] = {0};
    const int64_t until = wh_source_monotonic_ms() + source->limits.header_ms;
    size_t there = 0;
    while (there < sizeof bytes) {
        const int64_t left = until - wh_source_monotonic_ms();
        if (left <= 0)
            return wh_fail(error, WH_ERR_GONE, "check that an I/Q server of this kind listens at that port",
                           "%s: connected, but silent: no header within %g s", source->peer,
                           source->limits.header_ms / 1000.0);
        size_t got;
        const wh_status status = receive(source, bytes + there, sizeof bytes - there, (int)left, &got, error);
        if (status != WH_OK)
            return status;
        there += got;
        const size_t magic = there < 4 ? there : 4;
        if (memcmp(bytes, "RTL0", magic) != 0)
            break; /* no need to wait for the rest of something else */
    }
    if (!wh_network_header_parse(bytes, header))
        return wh_fail(error, WH_ERR_FORMAT, "check the port: an I/Q server begins with \"RTL0\"",
                       "%s: something else than an I/Q server answers there", source->peer);
    return WH_OK;
}

static wh_status send_settings(const network_source *source, const wh_source_options *options, wh_error *error)
{
    uint8_t bytes[5 * WH_NETWORK_COMMAND_BYTES];
    size_t count = 0;
    const bool manual = !isnan(options->gain_db);
    const struct {
        wh_network_code code;
        double value;
        bool wanted;
    } settings[] = {
        {WH_NETWORK_RATE, source->stream.sample_rate_hz, true}, {WH_NETWORK_PPM, options->ppm, !isnan(options->ppm)},
        {WH_NETWORK_FREQUENCY, source->stream.centre_hz, true}, {WH_NETWORK_GAIN_MODE, manual ? 1 : 0, true},
        {WH_NETWORK_GAIN, options->gain_db * 10.0, manual},
    };
    for (size_t i = 0; i < sizeof settings / sizeof *settings; i++) {
        if (!settings[i].wanted)
            continue;
        wh_network_command(settings[i].code, (uint32_t)(int32_t)lrint(settings[i].value), bytes + count);
        count += WH_NETWORK_COMMAND_BYTES;
    }
    return wh_send_all(source->fd, bytes, count, source->limits.header_ms, source->peer, error);
}

/* The stretch begins when the first bytes have come, so that its start time is right. */
static wh_status begin(network_source *source, wh_source_event *event, wh_error *error)
{
    struct pollfd wait = {.fd = source->fd, .events = POLLIN};
    if (poll(&wait, 1, WH_IDLE_MS) <= 0) {
        event->kind = WH_SOURCE_IDLE;
        if (wh_source_monotonic_ms() - source->last_ms > source->limits.silence_ms)
            return gone(source, error, "connected, but no samples come");
        return WH_OK;
    }
    source->begun = true;
    source->stream.has_time = true;
    source->stream.start_utc_us = wh_source_now_us();
    event->kind = WH_SOURCE_STREAM;
    event->stream = source->stream;
    return WH_OK;
}

static wh_status next(wh_source *base, wh_source_event *event, wh_error *error)
{
    network_source *source = (network_source *)base;
    if (!source->begun)
        return begin(source, event, error);
    if (source->sent > 0 && source->held > 0)
        source->block[0] = source->block[source->sent]; /* the half sample behind the whole ones */
    source->sent = 0;
    size_t got;
    const wh_status status =
        receive(source, source->block + source->held, source->room - source->held, WH_IDLE_MS, &got, error);
    if (status != WH_OK)
        return status;
    const size_t there = source->held + got;
    event->kind = there >= 2 ? WH_SOURCE_SAMPLES : WH_SOURCE_IDLE;
    event->samples = source->block;
    event->count = there / 2;
    source->sent = 2 * event->count;
    source->held = there % 2;
    if (got == 0 && wh_source_monotonic_ms() - source->last_ms > source->limits.silence_ms)
        return gone(source, error, "no samples come any more");
    return WH_OK;
}

static const wh_source_ops ops = {next, destroy};

wh_status wh_network_open_socket(const wh_source_options *options, const wh_network_limits *limits, int fd,
                                 const char *peer, wh_source **out, wh_error *error)
{
    size_t samples = options->block_samples ? options->block_samples : DEFAULT_BLOCK;
    if (samples > MAX_BLOCK)
        samples = MAX_BLOCK;
    network_source *source = calloc(1, sizeof *source + 2 * samples);
    if (!source) {
        close(fd);
        return wh_fail(error, WH_ERR_MEMORY, NULL, "%s: out of memory", peer);
    }
    source->base.ops = &ops;
    source->fd = fd;
    source->limits = *limits;
    source->room = 2 * samples;
    snprintf(source->peer, sizeof source->peer, "%s", peer);
    source->stream = wh_stream_from_options(options, "");
    source->stream.format = WH_IQ_CU8;
    if (isnan(options->sample_rate_hz))
        source->stream.sample_rate_hz = WH_LIVE_RATE_HZ;
    if (isnan(options->centre_hz))
        source->stream.centre_hz = WH_LIVE_CENTRE_HZ;
    snprintf(source->stream.name, sizeof source->stream.name, "%s", peer);
    wh_network_header header;
    wh_status status = read_header(source, &header, error);
    if (status == WH_OK)
        status = send_settings(source, options, error);
    if (status != WH_OK) {
        destroy(&source->base);
        return status;
    }
    wh_log_print(&options->log, WH_LOG_NOTE, "%s: %s, %u gain steps", peer, wh_network_tuner_name(header.tuner),
                 (unsigned)header.gain_count);
    source->last_ms = wh_source_monotonic_ms();
    *out = &source->base;
    return WH_OK;
}

/* Everything that would be sent as a number must be one that the far end can take. */
static wh_status check_options(const wh_source_options *options, const char *peer, wh_error *error)
{
    wh_status status = WH_OK;
    if (!isnan(options->sample_rate_hz))
        status = wh_source_check_rate(options->sample_rate_hz, peer, WH_ERR_ARGUMENT, error);
    if (status == WH_OK && !isnan(options->centre_hz))
        status = wh_source_check_live_centre(options->centre_hz, error);
    if (status == WH_OK)
        status = wh_source_check_tuning(options, error);
    return status;
}

wh_status wh_network_open(const wh_source_options *options, const wh_network_limits *limits, wh_source **out,
                          wh_error *error)
{
    char host[256], port[6], peer[128];
    if (!wh_network_address_split(options->target, host, sizeof host, port))
        return wh_fail(error, WH_ERR_ARGUMENT, "write HOST:PORT, tcp://HOST:PORT or [IPV6]:PORT",
                       "%s: not an address of the network", options->target);
    snprintf(peer, sizeof peer, "%.120s:%s", host, port);
    wh_status status = check_options(options, peer, error);
    int fd = -1;
    if (status == WH_OK)
        status = wh_connect(host, port, limits->connect_ms, &fd, error);
    return status == WH_OK ? wh_network_open_socket(options, limits, fd, peer, out, error) : status;
}

/* A file may have a colon and digits in its name; what exists as a file is one. */
static bool accepts(const wh_source_options *options)
{
    char host[256], port[6];
    if (strncmp(options->target, "tcp://", 6) == 0)
        return true;
    return wh_network_address_split(options->target, host, sizeof host, port) && !wh_path_exists(options->target);
}

static wh_status open_network(const wh_source_options *options, wh_source **out, wh_error *error)
{
    return wh_network_open(options, &wh_network_limits_default, out, error);
}

const wh_source_driver wh_driver_network = {
    .name = "network",
    .summary = "HOST:PORT or tcp://HOST:PORT: a server that sends a dongle's samples over TCP",
    .live = true,
    .accepts = accepts,
    .open = open_network,
};
