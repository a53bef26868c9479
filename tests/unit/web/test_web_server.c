#include "http_client.h"
#include "web_server.h"

#include <poll.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

static const wh_web_asset assets[] = {
    {"/index.html", "text/html; charset=utf-8", (const unsigned char *)"<p>page", 7},
};

static bool make(void *context, const char *path, const wh_web_query *query, wh_web_body *body)
{
    (void)context;
    if (strcmp(path, "/made") != 0)
        return false;
    const char *unit = wh_web_query_value(query, "unit");
    body->bytes = malloc(64);
    body->length = (size_t)snprintf(body->bytes, 64, "made for %s", unit ? unit : "nobody");
    return true;
}

static wh_web_server *start(const char *address, unsigned alive_ms)
{
    const wh_web_config config = {
        .address = address, .assets = assets, .asset_count = 1, .get = make, .alive_ms = alive_ms};
    wh_web_server *server;
    wh_error error;
    if (wh_web_server_start(&config, &server, &error) != WH_OK)
        fail_msg("%s", error.what);
    return server;
}

/* A request with the right Host and these further header lines ("Name: value\r\n"...), and a body. */
static int ask(const wh_web_server *server, const char *line, const char *headers, const char *body, char *answer)
{
    static char request[16384];
    snprintf(request, sizeof request, "%s HTTP/1.1\r\nHost: 127.0.0.1:%u\r\nConnection: close\r\n%s\r\n%s", line,
             wh_web_server_port(server), headers, body);
    return http_ask(wh_web_server_port(server), request, answer, 16384);
}

static int post(const wh_web_server *server, const char *token, const char *type, const char *body, char *answer)
{
    char headers[256];
    snprintf(headers, sizeof headers, "X-Wheelhark-Token: %s\r\nContent-Type: %s\r\nContent-Length: %zu\r\n", token,
             type, strlen(body));
    return ask(server, "POST /do", headers, body, answer);
}

static void test_reading(void **state)
{
    (void)state;
    static char answer[16384];
    wh_web_server *server = start(NULL, 0);
    assert_int_equal(ask(server, "GET /", "", "", answer), 200);
    assert_non_null(strstr(answer, "\r\n\r\n<p>page"));
    assert_non_null(strstr(answer, "Content-Security-Policy: default-src 'none'; script-src 'self'"));
    assert_null(strstr(answer, "unsafe"));
    assert_int_equal(ask(server, "GET /board", "", "", answer), 404);
    assert_int_equal(wh_web_publish(server, "/board", "application/json", "{\"a\":1}", 7, 5), WH_OK);
    assert_int_equal(ask(server, "GET /board", "", "", answer), 200);
    assert_non_null(strstr(answer, "\r\n\r\n{\"a\":1}"));
    assert_int_equal(ask(server, "GET /made?unit=K%2D17", "", "", answer), 200);
    assert_non_null(strstr(answer, "made for K-17"));
    assert_int_equal(ask(server, "GET /../etc/passwd", "", "", answer), 404);
    assert_int_equal(ask(server, "PUT /board", "Content-Length: 0\r\n", "", answer), 405);
    wh_web_server_stop(&server);
    assert_null(server);
}

/* What another site's page, or a name that points here (DNS rebinding), would send. */
static void test_strangers_are_refused(void **state)
{
    (void)state;
    static char answer[16384];
    char request[256];
    wh_web_server *server = start(NULL, 0);
    const uint16_t port = wh_web_server_port(server);
    static const char *const hosts[] = {"evil.example", "127.0.0.1.evil.example", "127.0.0.1", "localhost:1", ""};
    for (size_t i = 0; i < sizeof hosts / sizeof *hosts; i++) {
        snprintf(request, sizeof request, "GET / HTTP/1.1\r\nHost: %s\r\nConnection: close\r\n\r\n", hosts[i]);
        assert_int_equal(http_ask(port, request, answer, sizeof answer), 403);
    }
    snprintf(request, sizeof request, "GET / HTTP/1.0\r\n\r\n");
    assert_int_equal(http_ask(port, request, answer, sizeof answer), 403);
    assert_int_equal(ask(server, "GET /", "Origin: http://evil.example\r\n", "", answer), 403);
    assert_int_equal(ask(server, "GET /", "Origin: null\r\n", "", answer), 403);
    assert_int_equal(ask(server, "GET /", "Sec-Fetch-Site: cross-site\r\n", "", answer), 403);
    snprintf(request, sizeof request, "Origin: http://127.0.0.1:%u\r\n", port);
    assert_int_equal(ask(server, "GET /", request, "", answer), 200);
    snprintf(request, sizeof request, "GET / HTTP/1.1\r\nHost: localhost:%u\r\nConnection: close\r\n\r\n", port);
    assert_int_equal(http_ask(port, request, answer, sizeof answer), 200);
    wh_web_server_stop(&server);
}

static void test_commands(void **state)
{
    (void)state;
    static char answer[16384], wrong[WH_WEB_TOKEN_SIZE], large[WH_WEB_COMMAND_MAX + 2];
    wh_web_command command;
    wh_web_server *server = start(NULL, 0);
    const char *token = wh_web_server_token(server);
    struct pollfd waiting = {.fd = wh_web_command_fd(server), .events = POLLIN};
    assert_int_equal(strlen(token), WH_WEB_TOKEN_SIZE - 1);
    assert_false(wh_web_take(server, &command));
    assert_int_equal(post(server, token, "application/json", "{\"do\":\"next\"}", answer), 202);
    assert_int_equal(poll(&waiting, 1, 0), 1);
    assert_true(wh_web_take(server, &command));
    assert_string_equal(command.text, "{\"do\":\"next\"}");
    assert_int_equal(poll(&waiting, 1, 0), 0);

    snprintf(wrong, sizeof wrong, "%s", token);
    wrong[31] = wrong[31] == '0' ? '1' : '0';
    assert_int_equal(post(server, wrong, "application/json", "{}", answer), 403);
    assert_int_equal(post(server, "", "application/json", "{}", answer), 403);
    wrong[31] = '\0';
    assert_int_equal(post(server, wrong, "application/json", "{}", answer), 403);
    assert_int_equal(post(server, token, "text/plain", "{}", answer), 415);
    memset(large, 'x', sizeof large - 1);
    assert_int_equal(post(server, token, "application/json", large, answer), 413);
    large[WH_WEB_COMMAND_MAX] = '\0';
    assert_int_equal(post(server, token, "application/json", large, answer), 202);
    assert_true(wh_web_take(server, &command));
    assert_int_equal(command.length, WH_WEB_COMMAND_MAX);
    assert_false(wh_web_take(server, &command));
    wh_web_server_stop(&server);
}

static void test_waiting_commands_are_bounded(void **state)
{
    (void)state;
    static char answer[16384];
    wh_web_command command;
    wh_web_server *server = start(NULL, 0);
    for (int i = 0; i < WH_WEB_COMMANDS_MAX; i++)
        assert_int_equal(post(server, wh_web_server_token(server), "application/json", "{}", answer), 202);
    assert_int_equal(post(server, wh_web_server_token(server), "application/json", "{}", answer), 503);
    assert_true(wh_web_take(server, &command));
    assert_int_equal(post(server, wh_web_server_token(server), "application/json", "{}", answer), 202);
    wh_web_server_stop(&server);
}

static int open_stream(const wh_web_server *server)
{
    char request[160];
    snprintf(request, sizeof request, "GET /changes HTTP/1.1\r\nHost: 127.0.0.1:%u\r\n\r\n",
             wh_web_server_port(server));
    const int fd = http_connect(wh_web_server_port(server));
    assert_true(fd >= 0 && http_send(fd, request, strlen(request)));
    return fd;
}

static void test_stream_tells_changes(void **state)
{
    (void)state;
    static char text[16384];
    wh_web_server *server = start(NULL, 50);
    wh_web_publish(server, "/board", "application/json", "{}", 2, 41);
    const int fd = open_stream(server);
    /* What was there before comes first: a page that was asleep needs no other way to catch up. */
    http_receive(fd, text, sizeof text, "data: /board");
    assert_non_null(strstr(text, "text/event-stream"));
    assert_non_null(strstr(text, "id: 41\nevent: changed\ndata: /board\n\n"));
    http_receive(fd, text, sizeof text, ":\n\n"); /* idle: kept alive */
    wh_web_publish(server, "/yard", "application/json", "{}", 2, 42);
    http_receive(fd, text, sizeof text, "data: /yard");
    assert_non_null(strstr(text, "id: 42\n"));
    /* Quiet documents are there, but nobody is told. */
    assert_int_equal(wh_web_publish_quietly(server, "/clock", "text/plain", "12", 2), WH_OK);
    assert_int_equal(ask(server, "GET /clock", "", "", text), 200);
    wh_web_publish(server, "/last", "application/json", "{}", 2, 43);
    http_receive(fd, text, sizeof text, "data: /last");
    assert_null(strstr(text, "/clock"));
    close(fd);
    wh_web_server_stop(&server);
}

/* Streams that are open, idle, or whose client vanished do not keep the server from ending, nor from answering. */
static void test_streams_are_bounded_and_cost_nothing(void **state)
{
    (void)state;
    static char text[16384];
    wh_web_server *server = start(NULL, 20);
    int fds[WH_WEB_STREAMS_MAX];
    for (int i = 0; i < WH_WEB_STREAMS_MAX; i++) {
        fds[i] = open_stream(server);
        http_receive(fds[i], text, sizeof text, "retry");
    }
    assert_int_equal(ask(server, "GET /changes", "", "", text), 503);
    assert_int_equal(ask(server, "GET /", "", "", text), 200);
    for (int i = 0; i < WH_WEB_STREAMS_MAX; i += 2)
        close(fds[i]);
    /* The places of those that vanished come free once a comment could not be written. */
    int again = -1;
    for (int tries = 0; tries < 100 && again < 0; tries++) {
        again = open_stream(server);
        http_receive(again, text, sizeof text, "retry");
        if (!strstr(text, "retry")) {
            close(again);
            again = -1;
            poll(NULL, 0, 20);
        }
    }
    assert_true(again >= 0);
    wh_web_server_stop(&server);
    for (int i = 1; i < WH_WEB_STREAMS_MAX; i += 2)
        close(fds[i]);
    close(again);
}

/* On an address that others reach, reading needs the token as well. */
static void test_reading_from_afar_needs_the_token(void **state)
{
    (void)state;
    static char answer[16384];
    char request[256];
    wh_web_server *server = start("0.0.0.0", 0);
    const uint16_t port = wh_web_server_port(server);
    wh_web_publish(server, "/board", "application/json", "{}", 2, 1);
    static const struct {
        const char *path, *token;
        int status;
    } rows[] = {
        {"/", "", 200}, {"/board", "", 403}, {"/made", "", 403}, {"/changes", "", 403}, {"/board?token=1", "", 403}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        snprintf(request, sizeof request, "GET %s HTTP/1.1\r\nHost: 0.0.0.0:%u\r\nConnection: close\r\n\r\n",
                 rows[i].path, port);
        assert_int_equal(http_ask(port, request, answer, sizeof answer), rows[i].status);
    }
    static const struct {
        const char *host;
        int status;
    } hosts[] = {{"127.0.0.1", 200}, {"[::1]", 200}, {"evil.example", 403}, {"[1]", 403}, {"", 403}};
    for (size_t i = 0; i < sizeof hosts / sizeof *hosts; i++) {
        snprintf(request, sizeof request, "GET /board?token=%s HTTP/1.1\r\nHost: %s:%u\r\nConnection: close\r\n\r\n",
                 wh_web_server_token(server), hosts[i].host, port);
        assert_int_equal(http_ask(port, request, answer, sizeof answer), hosts[i].status);
    }
    wh_web_server_stop(&server);
}

static void test_what_cannot_be_served(void **state)
{
    (void)state;
    wh_web_server *server = start(NULL, 0), *second = NULL;
    wh_error error;
    wh_web_config config = {.port = wh_web_server_port(server)};
    assert_int_equal(wh_web_server_start(&config, &second, &error), WH_ERR_BUSY);
    assert_null(second);
    config = (wh_web_config){.address = "board.example"};
    assert_int_equal(wh_web_server_start(&config, &second, &error), WH_ERR_ARGUMENT);
    config = (wh_web_config){.address = "192.0.2.1"}; /* RFC 5737: nobody's */
    assert_int_equal(wh_web_server_start(&config, &second, &error), WH_ERR_ARGUMENT);
    char path[16];
    for (int i = 0; i < WH_WEB_DOCUMENTS_MAX; i++) {
        snprintf(path, sizeof path, "/d%d", i);
        assert_int_equal(wh_web_publish(server, path, "text/plain", "x", 1, i), WH_OK);
    }
    assert_int_equal(wh_web_publish(server, "/more", "text/plain", "x", 1, 99), WH_ERR_LIMIT);
    wh_web_server_stop(&server);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_reading),
        cmocka_unit_test(test_strangers_are_refused),
        cmocka_unit_test(test_commands),
        cmocka_unit_test(test_waiting_commands_are_bounded),
        cmocka_unit_test(test_stream_tells_changes),
        cmocka_unit_test(test_streams_are_bounded_and_cost_nothing),
        cmocka_unit_test(test_reading_from_afar_needs_the_token),
        cmocka_unit_test(test_what_cannot_be_served),
    };
    return cmocka_run_group_tests_name("HTTP server", tests, NULL, NULL);
}
