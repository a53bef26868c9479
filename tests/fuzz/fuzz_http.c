/* Any bytes to the HTTP server: it answers or hangs up, soon, and goes on serving. */
#include "fuzz_target.h"
#include "web_server.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <unistd.h>

static void insist(int holds, const char *what)
{
    if (!holds) {
        fprintf(stderr, "broken promise: %s\n", what);
        abort();
    }
}

static bool make(void *context, const char *path, const wh_web_query *query, wh_web_body *body)
{
    (void)context;
    const char *unit = wh_web_query_value(query, "unit");
    if (strcmp(path, "/made") != 0)
        return false;
    body->bytes = strdup(unit ? unit : "none");
    body->length = body->bytes ? strlen(body->bytes) : 0;
    return true;
}

/* One server for all inputs: starting one costs more than a request. It ends with the process. */
static wh_web_server *server(void)
{
    static wh_web_server *one;
    static const wh_web_asset page = {"/index.html", "text/html", (const unsigned char *)"<p>", 3};
    const wh_web_config config = {.assets = &page, .asset_count = 1, .get = make};
    if (!one) {
        insist(wh_web_server_start(&config, &one, NULL) == WH_OK, "the server starts");
        insist(wh_web_publish(one, "/board", "application/json", "{}", 2, 1) == WH_OK, "a document is taken");
    }
    return one;
}

/* "PORT" and "TOKEN" in an input stand for those of this run, so that inputs can get past the first checks. */
static size_t fill_in(const uint8_t *data, size_t size, char *out, size_t capacity)
{
    char port[8];
    size_t length = 0;
    snprintf(port, sizeof port, "%u", wh_web_server_port(server()));
    for (size_t i = 0; i < size && length + 40 < capacity;) {
        const char *word = size - i >= 5 && memcmp(data + i, "TOKEN", 5) == 0  ? wh_web_server_token(server())
                           : size - i >= 4 && memcmp(data + i, "PORT", 4) == 0 ? port
                                                                               : NULL;
        if (!word) {
            out[length++] = (char)data[i++];
            continue;
        }
        length += (size_t)snprintf(out + length, capacity - length, "%s", word);
        i += word == port ? 4 : 5;
    }
    return length;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static char request[65536], answer[4096];
    const size_t length = fill_in(data, size, request, sizeof request);
    const struct timeval patience = {.tv_usec = 200000}; /* a stream of changes goes on: it is left */
    const struct sockaddr_in at = {
        .sin_family = AF_INET, .sin_port = htons(wh_web_server_port(server())), .sin_addr = {htonl(INADDR_LOOPBACK)}};
    const int fd = socket(AF_INET, SOCK_STREAM, 0);
    insist(fd >= 0 && connect(fd, (const struct sockaddr *)&at, sizeof at) == 0, "the server listens");
    setsockopt(fd, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
    for (size_t sent = 0; sent < length;) {
        const ssize_t now = send(fd, request + sent, length - sent, MSG_NOSIGNAL);
        if (now <= 0)
            break; /* it hung up: its right */
        sent += (size_t)now;
    }
    shutdown(fd, SHUT_WR);
    while (recv(fd, answer, sizeof answer, 0) > 0)
        ;
    close(fd);
    wh_web_command command;
    while (wh_web_take(server(), &command))
        insist(command.length <= WH_WEB_COMMAND_MAX && command.text[command.length] == '\0', "a command is bounded");
    return 0;
}
