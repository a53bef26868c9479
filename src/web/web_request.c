/* Requests: is it allowed to ask, and what does it get? */
#include "web_inside.h"

#include <arpa/inet.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

static const char json_type[] = "application/json", text_type[] = "text/plain; charset=utf-8";

struct wh_web_query {
    struct MHD_Connection *connection;
};

/* The body of a POST while it arrives. */
typedef struct upload {
    wh_web_command command;
    bool too_long;
} upload;

bool wh_web_body_take(wh_web_body *body, wh_text *text, const char *type)
{
    if (text->failed || !text->data) {
        wh_text_free(text);
        return false;
    }
    body->type = type;
    body->bytes = text->data;
    body->length = text->length;
    *text = (wh_text){0};
    return true;
}

const char *wh_web_query_value(const wh_web_query *query, const char *name)
{
    return MHD_lookup_connection_value(query->connection, MHD_GET_ARGUMENT_KIND, name);
}

void wh_web_guard(struct MHD_Response *response, bool own_style)
{
    static const char *const headers[][2] = {
        {"X-Content-Type-Options", "nosniff"},
        {"Referrer-Policy", "no-referrer"},
        {"Cross-Origin-Resource-Policy", "same-origin"},
        {"Cache-Control", "no-store"},
    };
    for (size_t i = 0; i < sizeof headers / sizeof *headers; i++)
        MHD_add_response_header(response, headers[i][0], headers[i][1]);
    MHD_add_response_header(response, "Content-Security-Policy",
                            own_style
                                ? "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; "
                                  "form-action 'none'; frame-ancestors 'none'"
                                : "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
                                  "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'");
}

/* Takes over `response`; `made` (may be NULL) says what is particular about it. */
static enum MHD_Result queue(struct MHD_Connection *connection, unsigned status, const char *type,
                             struct MHD_Response *response, const wh_web_body *made)
{
    char disposition[128];
    wh_web_guard(response, made && made->own_style);
    MHD_add_response_header(response, MHD_HTTP_HEADER_CONTENT_TYPE, type);
    if (made && made->file_name) {
        snprintf(disposition, sizeof disposition, "attachment; filename=\"%.96s\"", made->file_name);
        MHD_add_response_header(response, MHD_HTTP_HEADER_CONTENT_DISPOSITION, disposition);
    }
    const enum MHD_Result result = MHD_queue_response(connection, status, response);
    MHD_destroy_response(response);
    return result;
}

/* Takes over malloc'ed `bytes`. */
static enum MHD_Result reply(struct MHD_Connection *connection, unsigned status, const char *type, char *bytes,
                             size_t length, const wh_web_body *made)
{
    struct MHD_Response *response =
        MHD_create_response_from_buffer(length, bytes, bytes ? MHD_RESPMEM_MUST_FREE : MHD_RESPMEM_PERSISTENT);
    if (response)
        return queue(connection, status, type, response, made);
    free(bytes);
    return MHD_NO;
}

/* `bytes` outlive the server. */
static enum MHD_Result reply_constant(struct MHD_Connection *connection, unsigned status, const char *type,
                                      const void *bytes, size_t length)
{
    struct MHD_Response *response =
        MHD_create_response_from_buffer(length, (void *)(uintptr_t)bytes, MHD_RESPMEM_PERSISTENT);
    return response ? queue(connection, status, type, response, NULL) : MHD_NO;
}

enum MHD_Result wh_web_refuse(struct MHD_Connection *connection, unsigned status, const char *why)
{
    return reply_constant(connection, status, text_type, why, strlen(why));
}

static const char *header(struct MHD_Connection *connection, const char *name)
{
    return MHD_lookup_connection_value(connection, MHD_HEADER_KIND, name);
}

/* "1.2.3.4:80" or "[::1]:80" with our port: an address in figures. */
static bool is_address_of_ours(const wh_web_server *server, const char *host)
{
    char address[64], port[16];
    struct in6_addr bits;
    const char *colon = strrchr(host, ':');
    snprintf(port, sizeof port, "%u", server->port);
    if (!colon || strcmp(colon + 1, port) != 0 || colon - host >= (ptrdiff_t)sizeof address)
        return false;
    const bool v6 = host[0] == '[' && colon[-1] == ']';
    snprintf(address, sizeof address, "%.*s", (int)(colon - host) - (v6 ? 2 : 0), host + (v6 ? 1 : 0));
    return inet_pton(v6 ? AF_INET6 : AF_INET, address, &bits) == 1;
}

/* A name of somebody else's that resolves to this computer today (DNS rebinding) must not do: an address in figures, or
 * localhost, cannot be such a name. A server for this computer alone takes only its own. */
static bool host_is_ours(const wh_web_server *server, const char *host)
{
    const char *const names[] = {server->host, "127.0.0.1", "localhost", "[::1]"};
    char right[96];
    if (!server->loopback)
        return is_address_of_ours(server, host);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        snprintf(right, sizeof right, "%s:%u", names[i], server->port);
        if (strcasecmp(host, right) == 0)
            return true;
    }
    return false;
}

/* As long as it takes, whatever is given. */
static bool token_is_right(const wh_web_server *server, const char *given)
{
    unsigned differ = !given || strlen(given) != WH_WEB_TOKEN_SIZE - 1;
    for (size_t i = 0; i < WH_WEB_TOKEN_SIZE - 1; i++)
        differ |= (unsigned char)server->token[i] ^ (unsigned char)(differ ? 0 : given[i]);
    return differ == 0;
}

static bool may_read(const wh_web_server *server, struct MHD_Connection *connection)
{
    if (server->loopback)
        return true;
    return token_is_right(server, header(connection, "X-Wheelhark-Token")) ||
           token_is_right(server, MHD_lookup_connection_value(connection, MHD_GET_ARGUMENT_KIND, "token"));
}

/* NULL: go on; else why not. */
static const char *objection(const wh_web_server *server, struct MHD_Connection *connection)
{
    const char *host = header(connection, MHD_HTTP_HEADER_HOST), *origin = header(connection, MHD_HTTP_HEADER_ORIGIN);
    const char *site = header(connection, "Sec-Fetch-Site");
    if (!host || !host_is_ours(server, host))
        return "this server answers only under the address it printed\n";
    if (origin && (strncasecmp(origin, "http://", 7) != 0 || strcasecmp(origin + 7, host) != 0))
        return "pages of other sites may not ask here\n";
    if (site && strcmp(site, "cross-site") == 0 && !origin)
        return "pages of other sites may not ask here\n";
    return NULL;
}

static const wh_web_asset *find_asset(const wh_web_server *server, const char *path)
{
    for (size_t i = 0; i < server->config.asset_count; i++)
        if (strcmp(server->config.assets[i].path, path) == 0)
            return &server->config.assets[i];
    return NULL;
}

/* *found tells whether there is such a document. */
static enum MHD_Result reply_document(wh_web_server *server, struct MHD_Connection *connection, const char *path,
                                      bool *found)
{
    char type[64] = "", *copy = NULL;
    size_t length = 0;
    *found = false;
    pthread_mutex_lock(&server->lock);
    for (size_t i = 0; i < server->document_count && !*found; i++) {
        const wh_web_document *document = &server->documents[i];
        if (strcmp(document->path, path) != 0)
            continue;
        *found = true;
        length = document->length;
        copy = malloc(length + 1);
        if (copy)
            memcpy(copy, document->bytes, length);
        memcpy(type, document->type, sizeof type);
    }
    pthread_mutex_unlock(&server->lock);
    if (!*found)
        return MHD_NO;
    return copy ? reply(connection, MHD_HTTP_OK, type, copy, length, NULL) : MHD_NO;
}

static enum MHD_Result reply_made(wh_web_server *server, struct MHD_Connection *connection, const char *path)
{
    const wh_web_query query = {connection};
    wh_web_body body = {.status = MHD_HTTP_OK, .type = text_type};
    if (!server->config.get || !server->config.get(server->config.context, path, &query, &body))
        return wh_web_refuse(connection, MHD_HTTP_NOT_FOUND, "there is nothing here\n");
    return reply(connection, (unsigned)body.status, body.type, body.bytes, body.length, &body);
}

static enum MHD_Result get(wh_web_server *server, struct MHD_Connection *connection, const char *path)
{
    /* The page itself holds no data: it may be fetched by whoever reaches the port. */
    const wh_web_asset *asset = find_asset(server, strcmp(path, "/") == 0 ? "/index.html" : path);
    if (asset)
        return reply_constant(connection, MHD_HTTP_OK, asset->type, asset->bytes, asset->length);
    if (!may_read(server, connection))
        return wh_web_refuse(connection, MHD_HTTP_FORBIDDEN, "open the whole address that the program printed\n");
    if (strcmp(path, "/changes") == 0)
        return wh_web_open_stream(server, connection);
    bool found;
    const enum MHD_Result result = reply_document(server, connection, path, &found);
    return found ? result : reply_made(server, connection, path);
}

/* Put a command where the program finds it. */
static bool keep(wh_web_server *server, const wh_web_command *command)
{
    const uint64_t one = 1;
    pthread_mutex_lock(&server->lock);
    bool kept = server->command_count < WH_WEB_COMMANDS_MAX;
    if (kept) {
        const size_t at = (server->command_first + server->command_count) % WH_WEB_COMMANDS_MAX;
        server->commands[at] = *command;
        kept = write(server->command_fd, &one, sizeof one) == (ssize_t)sizeof one;
        server->command_count += kept;
    }
    pthread_mutex_unlock(&server->lock);
    return kept;
}

static enum MHD_Result begin_post(const wh_web_server *server, struct MHD_Connection *connection, const char *path,
                                  void **state)
{
    const char *type = header(connection, MHD_HTTP_HEADER_CONTENT_TYPE);
    if (strcmp(path, "/do") != 0)
        return wh_web_refuse(connection, MHD_HTTP_NOT_FOUND, "there is nothing here\n");
    if (!token_is_right(server, header(connection, "X-Wheelhark-Token")))
        return wh_web_refuse(connection, MHD_HTTP_FORBIDDEN, "open the whole address that the program printed\n");
    /* A form of another site cannot send this type without being asked first, and would be refused then. */
    if (!type || strncasecmp(type, json_type, sizeof json_type - 1) != 0)
        return wh_web_refuse(connection, MHD_HTTP_UNSUPPORTED_MEDIA_TYPE, "commands are application/json\n");
    *state = calloc(1, sizeof(upload));
    return *state ? MHD_YES : MHD_NO;
}

static enum MHD_Result take_upload(upload *so_far, const char *bytes, size_t *length)
{
    wh_web_command *command = &so_far->command;
    so_far->too_long |= *length > WH_WEB_COMMAND_MAX - command->length;
    if (!so_far->too_long) {
        memcpy(command->text + command->length, bytes, *length);
        command->length += *length;
    }
    *length = 0;
    return MHD_YES;
}

static enum MHD_Result end_post(wh_web_server *server, struct MHD_Connection *connection, const upload *whole)
{
    if (whole->too_long)
        return wh_web_refuse(connection, MHD_HTTP_CONTENT_TOO_LARGE, "the command is too long\n");
    if (memchr(whole->command.text, '\0', whole->command.length))
        return wh_web_refuse(connection, MHD_HTTP_BAD_REQUEST, "a command holds no zero bytes\n");
    if (!keep(server, &whole->command))
        return wh_web_refuse(connection, MHD_HTTP_SERVICE_UNAVAILABLE, "too many commands wait: try again\n");
    return reply_constant(connection, MHD_HTTP_ACCEPTED, text_type, "", 0);
}

enum MHD_Result wh_web_answer(void *context, struct MHD_Connection *connection, const char *url, const char *method,
                              const char *version, const char *upload_bytes, size_t *upload_size, void **state)
{
    (void)version;
    wh_web_server *server = context;
    if (*state) {
        upload *so_far = *state;
        return *upload_size > 0 ? take_upload(so_far, upload_bytes, upload_size) : end_post(server, connection, so_far);
    }
    const char *why_not = objection(server, connection);
    if (why_not)
        return wh_web_refuse(connection, MHD_HTTP_FORBIDDEN, why_not);
    if (strcmp(method, MHD_HTTP_METHOD_POST) == 0)
        return begin_post(server, connection, url, state);
    if (strcmp(method, MHD_HTTP_METHOD_GET) == 0 || strcmp(method, MHD_HTTP_METHOD_HEAD) == 0)
        return get(server, connection, url);
    return wh_web_refuse(connection, MHD_HTTP_METHOD_NOT_ALLOWED, "GET and POST are what there is\n");
}

void wh_web_completed(void *context, struct MHD_Connection *connection, void **state,
                      enum MHD_RequestTerminationCode code)
{
    (void)context;
    (void)connection;
    (void)code;
    free(*state);
    *state = NULL;
}
