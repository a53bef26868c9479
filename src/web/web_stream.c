/* Server-sent events (HTML standard): a stream tells a page which documents changed; the page fetches them. Changes that come
 * faster than a client reads melt into one, so a slow client costs nothing and misses nothing that still matters. */
#include "web_inside.h"

#include <inttypes.h>
#include <stdio.h>

/* The oldest publication the client was not told of yet. */
static const wh_web_document *next_change(const wh_web_server *server, uint64_t seen)
{
    const wh_web_document *next = NULL;
    for (size_t i = 0; i < server->document_count; i++) {
        const wh_web_document *document = &server->documents[i];
        if (document->version > seen && (!next || document->version < next->version))
            next = document;
    }
    return next;
}

static ssize_t write_next(wh_web_stream *stream, char *out, size_t capacity)
{
    const wh_web_document *change;
    if (!stream->greeted) {
        stream->greeted = true;
        return snprintf(out, capacity, "retry: 1000\n\n");
    }
    if ((change = next_change(stream->server, stream->seen)) != NULL) {
        stream->seen = change->version;
        return snprintf(out, capacity, "id: %" PRId64 "\nevent: changed\ndata: %s\n\n", change->id, change->path);
    }
    if (stream->alive_due) {
        stream->alive_due = false;
        return snprintf(out, capacity, ":\n\n");
    }
    /* Nothing to say: out of the loop until something changes. Returning 0 without this would spin. */
    stream->suspended = true;
    MHD_suspend_connection(stream->connection);
    return 0;
}

static ssize_t read_stream(void *context, uint64_t position, char *out, size_t capacity)
{
    (void)position;
    wh_web_stream *stream = context;
    wh_web_server *server = stream->server;
    if (capacity < WH_WEB_PATH_SIZE + 64)
        return 0;
    pthread_mutex_lock(&server->lock);
    const ssize_t length = server->stopping ? MHD_CONTENT_READER_END_OF_STREAM : write_next(stream, out, capacity);
    pthread_mutex_unlock(&server->lock);
    return length;
}

static void release_stream(void *context)
{
    wh_web_stream *stream = context;
    wh_web_server *server = stream->server;
    pthread_mutex_lock(&server->lock);
    *stream = (wh_web_stream){0};
    pthread_mutex_unlock(&server->lock);
}

void wh_web_wake_streams(wh_web_server *server, bool alive)
{
    for (size_t i = 0; i < WH_WEB_STREAMS_MAX; i++) {
        wh_web_stream *stream = &server->streams[i];
        if (!stream->used || !stream->suspended)
            continue;
        stream->suspended = false;
        stream->alive_due = alive;
        MHD_resume_connection(stream->connection);
    }
}

static wh_web_stream *claim_stream(wh_web_server *server, struct MHD_Connection *connection)
{
    wh_web_stream *free_one = NULL;
    pthread_mutex_lock(&server->lock);
    for (size_t i = 0; i < WH_WEB_STREAMS_MAX && !free_one && !server->stopping; i++) {
        if (!server->streams[i].used)
            free_one = &server->streams[i];
    }
    if (free_one)
        *free_one = (wh_web_stream){.used = true, .connection = connection, .server = server};
    pthread_mutex_unlock(&server->lock);
    return free_one;
}

enum MHD_Result wh_web_open_stream(wh_web_server *server, struct MHD_Connection *connection)
{
    wh_web_stream *stream = claim_stream(server, connection);
    if (!stream)
        return wh_web_refuse(connection, MHD_HTTP_SERVICE_UNAVAILABLE, "too many pages are open\n");
    struct MHD_Response *response =
        MHD_create_response_from_callback(MHD_SIZE_UNKNOWN, 1024, read_stream, stream, release_stream);
    if (!response) {
        release_stream(stream);
        return MHD_NO;
    }
    wh_web_guard(response, false);
    MHD_add_response_header(response, MHD_HTTP_HEADER_CONTENT_TYPE, "text/event-stream");
    const enum MHD_Result result = MHD_queue_response(connection, MHD_HTTP_OK, response);
    MHD_destroy_response(response);
    return result;
}
