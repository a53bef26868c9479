#define _GNU_SOURCE /* getrandom, eventfd flags */
#include "web_inside.h"

#include <arpa/inet.h>
#include <errno.h>
#include <netinet/in.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/eventfd.h>
#include <sys/random.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

#define LAST_WORDS_MS 500

/* A page on another site cannot guess this, and so cannot make the browser press our keys. */
static bool make_token(char token[WH_WEB_TOKEN_SIZE])
{
    unsigned char bytes[(WH_WEB_TOKEN_SIZE - 1) / 2];
    if (getrandom(bytes, sizeof bytes, 0) != (ssize_t)sizeof bytes)
        return false;
    for (size_t i = 0; i < sizeof bytes; i++)
        snprintf(token + 2 * i, 3, "%02x", bytes[i]);
    return true;
}

typedef struct address {
    struct sockaddr_storage storage;
    socklen_t length;
    bool v6, loopback;
} address;

static bool parse_address(const char *text, uint16_t port, address *out)
{
    struct sockaddr_in *v4 = (struct sockaddr_in *)&out->storage;
    struct sockaddr_in6 *v6 = (struct sockaddr_in6 *)&out->storage;
    memset(out, 0, sizeof *out);
    if (inet_pton(AF_INET, text, &v4->sin_addr) == 1) {
        v4->sin_family = AF_INET;
        v4->sin_port = htons(port);
        out->length = sizeof *v4;
        out->loopback = (ntohl(v4->sin_addr.s_addr) >> 24) == 127;
        return true;
    }
    if (inet_pton(AF_INET6, text, &v6->sin6_addr) == 1) {
        v6->sin6_family = AF_INET6;
        v6->sin6_port = htons(port);
        out->length = sizeof *v6;
        out->v6 = true;
        out->loopback = IN6_IS_ADDR_LOOPBACK(&v6->sin6_addr);
        return true;
    }
    return false;
}

static wh_status socket_failed(const char *text, uint16_t port, wh_error *error)
{
    switch (errno) {
    case EADDRINUSE:
        return wh_fail(error, WH_ERR_BUSY, "choose another port, or leave it out for a free one",
                       "port %u is used by another program", port);
    case EACCES:
        return wh_fail(error, WH_ERR_PERMISSION, "choose a port above 1023", "port %u is not allowed to this user",
                       port);
    case EADDRNOTAVAIL:
        return wh_fail(error, WH_ERR_ARGUMENT, "127.0.0.1 is this computer alone", "%s is no address of this computer",
                       text);
    default: return wh_fail(error, WH_ERR_IO, NULL, "no server on %s port %u: %s", text, port, strerror(errno));
    }
}

/* Our own socket, so that a failure can be told by its cause and a free port is known before the first connection. */
static wh_status open_socket(wh_web_server *server, int *out, wh_error *error)
{
    address at;
    if (!parse_address(server->address, server->config.port, &at))
        return wh_fail(error, WH_ERR_ARGUMENT, "write it in figures, e.g. 127.0.0.1", "'%s' is no address",
                       server->address);
    server->loopback = at.loopback;
    const int yes = 1, fd = socket(at.storage.ss_family, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
    if (fd < 0)
        return socket_failed(server->address, server->config.port, error);
    setsockopt(fd, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes);
    if (bind(fd, (struct sockaddr *)&at.storage, at.length) != 0 || listen(fd, 16) != 0 ||
        getsockname(fd, (struct sockaddr *)&at.storage, &at.length) != 0) {
        const wh_status status = socket_failed(server->address, server->config.port, error);
        close(fd);
        return status;
    }
    server->port =
        ntohs(at.v6 ? ((struct sockaddr_in6 *)&at.storage)->sin6_port : ((struct sockaddr_in *)&at.storage)->sin_port);
    snprintf(server->host, sizeof server->host, at.v6 ? "[%s]" : "%s", server->address);
    snprintf(server->url, sizeof server->url, "http://%s:%u/#%s", server->host, server->port, server->token);
    *out = fd;
    return WH_OK;
}

/* A client that went away while its stream was idle is found out only by writing to it. */
static void *keep_alive(void *context)
{
    wh_web_server *server = context;
    pthread_mutex_lock(&server->lock);
    while (!server->stopping) {
        struct timespec until;
        clock_gettime(CLOCK_MONOTONIC, &until);
        const unsigned pause_ms = server->config.alive_ms ? server->config.alive_ms : 10000;
        until.tv_sec += pause_ms / 1000;
        until.tv_nsec += (long)(pause_ms % 1000) * 1000000;
        until.tv_sec += until.tv_nsec / 1000000000;
        until.tv_nsec %= 1000000000;
        if (pthread_cond_timedwait(&server->wake, &server->lock, &until) == ETIMEDOUT)
            wh_web_wake_streams(server, true);
    }
    pthread_mutex_unlock(&server->lock);
    return NULL;
}

/* libmicrohttpd may use the handle until it is stopped; what it prints itself is not wanted. */
static struct MHD_Daemon *start_daemon(wh_web_server *server, int fd)
{
    return MHD_start_daemon(MHD_USE_EPOLL_INTERNAL_THREAD | MHD_ALLOW_SUSPEND_RESUME, server->port, NULL, NULL,
                            wh_web_answer, server, MHD_OPTION_LISTEN_SOCKET, fd, MHD_OPTION_CONNECTION_LIMIT,
                            (unsigned)WH_WEB_CLIENTS_MAX, MHD_OPTION_CONNECTION_TIMEOUT, 30u,
                            MHD_OPTION_CONNECTION_MEMORY_LIMIT, (size_t)16384, MHD_OPTION_NOTIFY_COMPLETED,
                            wh_web_completed, server, MHD_OPTION_END);
}

static wh_status start(wh_web_server *server, wh_error *error)
{
    pthread_condattr_t monotonic;
    pthread_mutex_init(&server->lock, NULL);
    pthread_condattr_init(&monotonic);
    pthread_condattr_setclock(&monotonic, CLOCK_MONOTONIC);
    pthread_cond_init(&server->wake, &monotonic);
    pthread_condattr_destroy(&monotonic);
    server->command_fd = eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK | EFD_SEMAPHORE);
    if (server->command_fd < 0 || !make_token(server->token))
        return wh_fail(error, WH_ERR_IO, NULL, "no server: %s", strerror(errno));
    int fd = -1;
    const wh_status status = open_socket(server, &fd, error);
    if (status != WH_OK)
        return status;
    server->daemon = start_daemon(server, fd);
    if (!server->daemon) {
        close(fd);
        return wh_fail(error, WH_ERR_IO, NULL, "the HTTP server does not start");
    }
    if (pthread_create(&server->keeper, NULL, keep_alive, server) != 0) {
        MHD_stop_daemon(server->daemon);
        server->daemon = NULL;
        return wh_fail(error, WH_ERR_MEMORY, NULL, "no thread for the HTTP server");
    }
    return WH_OK;
}

static void release(wh_web_server *server)
{
    for (size_t i = 0; i < server->document_count; i++)
        free(server->documents[i].bytes);
    if (server->command_fd >= 0)
        close(server->command_fd);
    pthread_cond_destroy(&server->wake);
    pthread_mutex_destroy(&server->lock);
    free(server);
}

wh_status wh_web_server_start(const wh_web_config *config, wh_web_server **out, wh_error *error)
{
    *out = NULL;
    wh_web_server *server = calloc(1, sizeof *server);
    if (!server)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    server->config = *config;
    snprintf(server->address, sizeof server->address, "%s", config->address ? config->address : "127.0.0.1");
    const wh_status status = start(server, error);
    if (status != WH_OK) {
        release(server);
        return status;
    }
    *out = server;
    return WH_OK;
}

void wh_web_server_stop(wh_web_server **server)
{
    wh_web_server *gone = *server;
    if (!gone)
        return;
    /* A suspended connection would keep the daemon from stopping. */
    pthread_mutex_lock(&gone->lock);
    gone->stopping = true;
    pthread_cond_broadcast(&gone->wake);
    wh_web_wake_streams(gone, false);
    pthread_mutex_unlock(&gone->lock);
    pthread_join(gone->keeper, NULL);
    /* Streams end as they should, so that pages see an end and no error; a client that does not read is not waited for. */
    for (int waited_ms = 0; waited_ms < LAST_WORDS_MS && wh_web_watched(gone); waited_ms += 10) {
        const struct timespec pause = {0, 10 * 1000000L};
        nanosleep(&pause, NULL);
    }
    MHD_stop_daemon(gone->daemon);
    release(gone);
    *server = NULL;
}

const char *wh_web_server_url(const wh_web_server *server)
{
    return server->url;
}

uint16_t wh_web_server_port(const wh_web_server *server)
{
    return server->port;
}

const char *wh_web_server_token(const wh_web_server *server)
{
    return server->token;
}

static wh_web_document *document_for(wh_web_server *server, const char *path)
{
    for (size_t i = 0; i < server->document_count; i++)
        if (strcmp(server->documents[i].path, path) == 0)
            return &server->documents[i];
    if (server->document_count == WH_WEB_DOCUMENTS_MAX || strlen(path) >= WH_WEB_PATH_SIZE)
        return NULL;
    wh_web_document *document = &server->documents[server->document_count++];
    snprintf(document->path, sizeof document->path, "%s", path);
    return document;
}

static wh_status put_document(wh_web_server *server, const char *path, const char *type, const char *bytes,
                              size_t length, int64_t id, bool quiet)
{
    char *copy = malloc(length + 1);
    if (!copy)
        return WH_ERR_MEMORY;
    memcpy(copy, bytes, length);
    pthread_mutex_lock(&server->lock);
    wh_web_document *document = document_for(server, path);
    if (document) {
        char *old = document->bytes;
        document->bytes = copy;
        document->length = length;
        snprintf(document->type, sizeof document->type, "%s", type);
        copy = old;
    }
    if (document && !quiet) {
        document->id = id;
        document->version = ++server->version;
        wh_web_wake_streams(server, false);
    }
    pthread_mutex_unlock(&server->lock);
    free(copy);
    return document ? WH_OK : WH_ERR_LIMIT;
}

wh_status wh_web_publish(wh_web_server *server, const char *path, const char *type, const char *bytes, size_t length,
                         int64_t id)
{
    return put_document(server, path, type, bytes, length, id, false);
}

wh_status wh_web_publish_quietly(wh_web_server *server, const char *path, const char *type, const char *bytes,
                                 size_t length)
{
    return put_document(server, path, type, bytes, length, 0, true);
}

bool wh_web_watched(wh_web_server *server)
{
    bool any = false;
    pthread_mutex_lock(&server->lock);
    for (size_t i = 0; i < WH_WEB_STREAMS_MAX && !any; i++)
        any = server->streams[i].used;
    pthread_mutex_unlock(&server->lock);
    return any;
}

bool wh_web_take(wh_web_server *server, wh_web_command *command)
{
    uint64_t one;
    pthread_mutex_lock(&server->lock);
    const bool any = server->command_count > 0;
    if (any) {
        *command = server->commands[server->command_first];
        server->command_first = (server->command_first + 1) % WH_WEB_COMMANDS_MAX;
        server->command_count--;
        if (read(server->command_fd, &one, sizeof one) != (ssize_t)sizeof one)
            one = 0; /* cannot be: the semaphore counts what waits */
    }
    pthread_mutex_unlock(&server->lock);
    return any;
}

int wh_web_command_fd(const wh_web_server *server)
{
    return server->command_fd;
}
