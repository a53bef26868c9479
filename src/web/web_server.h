/* A small HTTP server for pages on this computer: files built into the program, documents that change, a stream that says which
 * did (server-sent events of the HTML standard), and commands that come back. It knows nothing of tires.
 *
 * Everything may be called from any thread but wh_web_server_stop. The server has two threads of its own: libmicrohttpd's, and
 * one that keeps idle streams alive. */
#ifndef WH_WEB_SERVER_H
#define WH_WEB_SERVER_H

#include "text_buffer.h"
#include "wheelhark/log.h"
#include "wheelhark/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define WH_WEB_PATH_SIZE     192
#define WH_WEB_COMMAND_MAX   4096 /* bytes of one POST */
#define WH_WEB_COMMANDS_MAX  64   /* waiting to be taken; more are refused with 503 */
#define WH_WEB_DOCUMENTS_MAX 64
#define WH_WEB_CLIENTS_MAX   32 /* connections at once */
#define WH_WEB_STREAMS_MAX   12 /* of these, streams */
#define WH_WEB_TOKEN_SIZE    33 /* 128 bits in hex and the final NUL */

typedef struct wh_web_server wh_web_server;

/* A file that is part of the program. */
typedef struct wh_web_asset {
    const char *path; /* "/board.js" */
    const char *type; /* "text/javascript; charset=utf-8" */
    const unsigned char *bytes;
    size_t length;
} wh_web_asset;

/* A body made on demand. `bytes` is malloc'ed and becomes the server's. */
typedef struct wh_web_body {
    int status; /* 200, 404, 400 ... */
    const char *type;
    char *bytes;
    size_t length;
    const char *file_name; /* not NULL: offer it as a download of this name */
    bool own_style;        /* a page with its style inside, and without any script */
} wh_web_body;

/* Move a finished text into the answer. False, and the text is gone, when memory ran out or there is nothing in it. */
bool wh_web_body_take(wh_web_body *body, wh_text *text, const char *type);

typedef struct wh_web_query wh_web_query; /* what stands after '?' in a request */
/* A parameter, decoded; NULL when it is not there. Valid during the call of `get`. */
const char *wh_web_query_value(const wh_web_query *query, const char *name);

typedef struct wh_web_config {
    const char *address; /* "127.0.0.1" (default when NULL); any other makes the token necessary for reading, too */
    uint16_t port;       /* 0: any free one */
    const wh_web_asset *assets;
    size_t asset_count;
    /* A GET that is neither asset nor document; called in the server's thread, one at a time. Fills *body; false: no such
     * thing. May be NULL. */
    bool (*get)(void *context, const char *path, const wh_web_query *query, wh_web_body *body);
    void *context;
    wh_log log;
    unsigned alive_ms; /* pause after which an idle stream gets a comment; 0: 10 s */
} wh_web_config;

/* WH_ERR_BUSY: the port is taken; WH_ERR_ARGUMENT: no address of this computer; WH_ERR_PERMISSION; WH_ERR_IO. */
wh_status wh_web_server_start(const wh_web_config *config, wh_web_server **out, wh_error *error);
/* Ends every connection. */
void wh_web_server_stop(wh_web_server **server);

/* "http://127.0.0.1:8080/#token": what to open; the part after # never leaves the browser by itself. Owned by the server. */
const char *wh_web_server_url(const wh_web_server *server);
uint16_t wh_web_server_port(const wh_web_server *server);
const char *wh_web_server_token(const wh_web_server *server);

/* Set what GET `path` gives from now on (bytes are copied) and tell every stream: an event "changed" with the path, whose id is
 * `id`; ids must not decrease. WH_ERR_LIMIT: too many documents. */
wh_status wh_web_publish(wh_web_server *server, const char *path, const char *type, const char *bytes, size_t length,
                         int64_t id);

/* The same without telling anybody: for what changes all the time and is looked at when somebody wants to know. */
wh_status wh_web_publish_quietly(wh_web_server *server, const char *path, const char *type, const char *bytes,
                                 size_t length);

/* Does anybody listen to the stream of changes? */
bool wh_web_watched(wh_web_server *server);

/* What a page asked for: POST /do, in order of arrival. */
typedef struct wh_web_command {
    size_t length;
    char text[WH_WEB_COMMAND_MAX + 1]; /* JSON as sent, NUL-terminated; not looked at yet */
} wh_web_command;
/* The next one; false when there is none. */
bool wh_web_take(wh_web_server *server, wh_web_command *command);
/* A file descriptor that is readable while commands wait, for poll(2). */
int wh_web_command_fd(const wh_web_server *server);

#endif
