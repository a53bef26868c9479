/* The server's inside, shared by its files. */
#ifndef WH_WEB_INSIDE_H
#define WH_WEB_INSIDE_H

#include "web_server.h"

#include <microhttpd.h>
#include <pthread.h>

typedef struct wh_web_document {
    char path[WH_WEB_PATH_SIZE];
    char type[64];
    char *bytes;
    size_t length;
    int64_t id;       /* of the last publication */
    uint64_t version; /* counts publications of the whole server; 0: only quiet ones so far */
} wh_web_document;

/* One page that listens. It owes the client every document published after `seen`. */
typedef struct wh_web_stream {
    bool used, suspended, alive_due;
    struct MHD_Connection *connection;
    wh_web_server *server;
    uint64_t seen;
    bool greeted;
} wh_web_stream;

struct wh_web_server {
    wh_web_config config;
    struct MHD_Daemon *daemon;
    char address[64], host[80], url[160], token[WH_WEB_TOKEN_SIZE];
    uint16_t port;
    bool loopback;
    pthread_mutex_t lock; /* for everything below */
    pthread_cond_t wake;
    pthread_t keeper;
    bool stopping;
    wh_web_document documents[WH_WEB_DOCUMENTS_MAX];
    size_t document_count;
    uint64_t version;
    wh_web_stream streams[WH_WEB_STREAMS_MAX];
    wh_web_command commands[WH_WEB_COMMANDS_MAX];
    size_t command_first, command_count;
    int command_fd; /* eventfd: number of commands that came, as a semaphore */
};

/* web_request.c: what libmicrohttpd calls. */
enum MHD_Result wh_web_answer(void *context, struct MHD_Connection *connection, const char *url, const char *method,
                              const char *version, const char *upload, size_t *upload_size, void **state);
void wh_web_completed(void *context, struct MHD_Connection *connection, void **state,
                      enum MHD_RequestTerminationCode code);
enum MHD_Result wh_web_refuse(struct MHD_Connection *connection, unsigned status, const char *why);
/* The headers that keep a page from doing anything but showing what is ours; `own_style`: see wh_web_body. */
void wh_web_guard(struct MHD_Response *response, bool own_style);

/* web_stream.c */
enum MHD_Result wh_web_open_stream(wh_web_server *server, struct MHD_Connection *connection);
/* With the lock held: let every idle stream go on. */
void wh_web_wake_streams(wh_web_server *server, bool alive);

#endif
