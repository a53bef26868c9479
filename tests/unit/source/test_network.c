#include "network_protocol.h"
#include "run_source.h"
#include "source_network.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

/* "RTL0", tuner 5 (R820T), 29 gain steps */
static const uint8_t header[12] = {'R', 'T', 'L', '0', 0, 0, 0, 5, 0, 0, 0, 29};

/* Short ones, so that a silent server is found out at once. */
static const wh_network_limits quick = {.connect_ms = 1000, .header_ms = 250, .silence_ms = 450};

typedef struct server {
    int listener;
    char address[40];
    const uint8_t *bytes; /* to send, `piece` at a time */
    size_t count, piece;
    bool stay; /* keep the connection open until the client leaves */
    uint8_t commands[64];
    size_t command_bytes;
    pthread_t thread;
} server;

static void pause_ms(long ms)
{
    const struct timespec time = {.tv_nsec = ms * 1000000L};
    nanosleep(&time, NULL);
}

static void *serve(void *context)
{
    server *self = context;
    const int fd = accept(self->listener, NULL, NULL);
    for (size_t at = 0; at < self->count;) {
        const size_t left = self->count - at, now = left < self->piece ? left : self->piece;
        if (send(fd, self->bytes + at, now, MSG_NOSIGNAL) != (ssize_t)now)
            break;
        at += now;
        pause_ms(self->piece < 12 ? 2 : 0);
    }
    if (!self->stay)
        shutdown(fd, SHUT_WR);
    ssize_t got;
    while ((got = recv(fd, self->commands + self->command_bytes, sizeof self->commands - self->command_bytes, 0)) > 0)
        self->command_bytes += (size_t)got;
    close(fd);
    return NULL;
}

static void server_begin(server *self)
{
    struct sockaddr_in address = {.sin_family = AF_INET, .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    socklen_t length = sizeof address;
    self->listener = socket(AF_INET, SOCK_STREAM, 0);
    assert_int_equal(bind(self->listener, (struct sockaddr *)&address, sizeof address), 0);
    assert_int_equal(listen(self->listener, 1), 0);
    assert_int_equal(getsockname(self->listener, (struct sockaddr *)&address, &length), 0);
    snprintf(self->address, sizeof self->address, "tcp://127.0.0.1:%u", ntohs(address.sin_port));
    assert_int_equal(pthread_create(&self->thread, NULL, serve, self), 0);
}

static void server_end(server *self)
{
    pthread_join(self->thread, NULL);
    close(self->listener);
}

typedef struct heard_run {
    wh_status status; /* that ended it */
    wh_error error;
    wh_stream stream;
    bool begun;
    uint8_t bytes[4000];
    size_t count, idle;
} heard_run;

static void hear(heard_run *out, const wh_source_options *options)
{
    memset(out, 0, sizeof *out);
    wh_source *source = NULL;
    out->status = wh_network_open(options, &quick, &source, &out->error);
    while (out->status == WH_OK) {
        wh_source_event event;
        out->status = wh_source_next(source, &event, &out->error);
        if (out->status != WH_OK)
            break;
        assert_int_not_equal(event.kind, WH_SOURCE_END); /* a live source never ends by itself */
        if (event.kind == WH_SOURCE_STREAM) {
            out->stream = event.stream;
            out->begun = true;
        } else if (event.kind == WH_SOURCE_SAMPLES) {
            assert_true(out->begun);
            memcpy(out->bytes + out->count, event.samples, 2 * event.count);
            out->count += 2 * event.count;
        }
        out->idle += event.kind == WH_SOURCE_IDLE;
    }
    wh_source_destroy(&source);
}

static void test_samples_and_commands(void **state)
{
    (void)state;
    uint8_t bytes[12 + 2001];
    memcpy(bytes, header, 12);
    for (size_t i = 12; i < sizeof bytes; i++)
        bytes[i] = (uint8_t)(i * 31);
    static const size_t pieces[] = {5, 1, 4000}; /* the header in several packets, in one byte each, with the samples */
    for (size_t i = 0; i < 3; i++) {
        server self = {.bytes = bytes, .count = i == 1 ? 40 : sizeof bytes, .piece = pieces[i]};
        server_begin(&self);
        wh_source_options options = options_for(self.address);
        options.sample_rate_hz = 2.4e6;
        options.centre_hz = 315e6;
        options.gain_db = 32.8;
        options.ppm = -27.0;
        options.block_samples = i == 2 ? 7 : 0;
        heard_run heard;
        hear(&heard, &options);
        server_end(&self);
        assert_int_equal(heard.status, WH_ERR_GONE);
        assert_contains(heard.error.what, "closed the stream");
        assert_int_equal(heard.count, i == 1 ? 28 : 2000); /* the half sample at the end is no sample */
        assert_memory_equal(heard.bytes, bytes + 12, heard.count);
        assert_int_equal(heard.stream.format, WH_IQ_CU8);
        assert_true(heard.stream.sample_rate_hz == 2.4e6 && heard.stream.centre_hz == 315e6);
        assert_true(heard.stream.has_time);
        assert_string_equal(heard.stream.name, self.address + 6);
        /* 2400000 = 0x249F00, 315000000 = 0x12C684C0, 328 = 0x148 */
        static const uint8_t commands[25] = {2,    0x00, 0x24, 0x9F, 0x00, 5, 0xFF, 0xFF, 0xFF, 0xE5, 1,    0x12, 0xC6,
                                             0x84, 0xC0, 3,    0,    0,    0, 1,    4,    0,    0,    0x01, 0x48};
        assert_int_equal(self.command_bytes, sizeof commands);
        assert_memory_equal(self.commands, commands, sizeof commands);
    }
}

static void test_automatic_gain_and_defaults(void **state)
{
    (void)state;
    uint8_t bytes[14];
    memcpy(bytes, header, 12);
    server self = {.bytes = bytes, .count = 14, .piece = 14};
    server_begin(&self);
    const wh_source_options options = options_for(self.address);
    heard_run heard;
    hear(&heard, &options);
    server_end(&self);
    /* 1024000 = 0x0FA000, 433920000 = 0x19DD1800 */
    static const uint8_t commands[15] = {2, 0x00, 0x0F, 0xA0, 0x00, 1, 0x19, 0xDD, 0x18, 0x00, 3, 0, 0, 0, 0};
    assert_int_equal(self.command_bytes, sizeof commands);
    assert_memory_equal(self.commands, commands, sizeof commands);
}

static void failing(const uint8_t *bytes, size_t count, bool stay, wh_status status, const char *text)
{
    server self = {.bytes = bytes, .count = count, .piece = count, .stay = stay};
    server_begin(&self);
    const wh_source_options options = options_for(self.address);
    heard_run heard;
    hear(&heard, &options);
    server_end(&self);
    assert_int_equal(heard.status, status);
    assert_contains(heard.error.what, text);
    assert_true(heard.error.fix[0] != '\0');
}

static void test_servers_that_fail(void **state)
{
    (void)state;
    failing(NULL, 0, true, WH_ERR_GONE, "no header within 0.25 s");
    failing(header, 7, true, WH_ERR_GONE, "no header within 0.25 s");
    failing(header, 7, false, WH_ERR_GONE, "closed the stream");
    failing((const uint8_t *)"SSH-", 4, true, WH_ERR_FORMAT, "something else"); /* told before 12 bytes are there */
    failing((const uint8_t *)"HTTP/1.1 400 Bad Request", 24, false, WH_ERR_FORMAT, "something else");
    failing(header, 12, true, WH_ERR_GONE, "no samples come");
}

static void test_silence_in_the_middle(void **state)
{
    (void)state;
    uint8_t bytes[112] = {0};
    memcpy(bytes, header, 12);
    server self = {.bytes = bytes, .count = sizeof bytes, .piece = sizeof bytes, .stay = true};
    server_begin(&self);
    const wh_source_options options = options_for(self.address);
    heard_run heard;
    hear(&heard, &options);
    server_end(&self);
    assert_int_equal(heard.count, 100);
    assert_true(heard.idle >= 1); /* the caller got its chances to stop */
    assert_int_equal(heard.status, WH_ERR_GONE);
    assert_contains(heard.error.what, "no samples come any more");
}

static void refused(const char *target, double rate, double centre, wh_status status, const char *text)
{
    wh_source_options options = options_for(target);
    options.sample_rate_hz = rate;
    options.centre_hz = centre;
    heard_run heard;
    hear(&heard, &options);
    assert_int_equal(heard.status, status);
    assert_contains(heard.error.what, text);
}

static void test_refused_before_anything_is_sent(void **state)
{
    (void)state;
    server self = {.bytes = header, .count = 0, .piece = 1};
    server_begin(&self); /* only to learn a port nobody listens at afterwards */
    char address[40];
    snprintf(address, sizeof address, "%s", self.address);
    refused(address, 1e6, 433.92, WH_ERR_ARGUMENT, "433.92 Hz is outside");
    refused(address, 5e6, 433.92e6, WH_ERR_ARGUMENT, "5000000 samples per second");
    refused("tcp://127.0.0.1:99999", 1e6, 315e6, WH_ERR_ARGUMENT, "not an address");
    refused("tcp://", 1e6, 315e6, WH_ERR_ARGUMENT, "not an address");
    refused(address, 1e6, 315e6, WH_ERR_GONE, ""); /* lets the server end */
    server_end(&self);
    refused(address, 1e6, 315e6, WH_ERR_NOT_FOUND, "no connection");
}

static void test_addresses(void **state)
{
    (void)state;
    static const struct {
        const char *target, *host, *port;
    } good[] = {{"tcp://shed.example:1234", "shed.example", "1234"},
                {"tcp://shed.example", "shed.example", "1234"},
                {"tcp://shed.example/", "shed.example", "1234"},
                {"10.0.0.7:65535", "10.0.0.7", "65535"},
                {"[::1]:7000", "::1", "7000"},
                {"tcp://[fe80::1]", "fe80::1", "1234"}};
    static const char *const bad[] = {"file.cu8", "host:",    "host:0", "host:65536", "host:12x",
                                      ":1234",    "a/b:1234", "[::1]",  "[::1",       "C:\\x"};
    char host[64], port[6];
    for (size_t i = 0; i < sizeof good / sizeof *good; i++) {
        assert_true(wh_network_address_split(good[i].target, host, sizeof host, port));
        assert_string_equal(host, good[i].host);
        assert_string_equal(port, good[i].port);
    }
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        assert_false(wh_network_address_split(bad[i], host, sizeof host, port));
}

static void test_a_file_with_a_colon_is_a_file(void **state)
{
    (void)state;
    write_bytes("walk_07:15", "abcd", 4);
    char here[400];
    assert_non_null(getcwd(here, sizeof here));
    assert_int_equal(chdir(in_folder("")), 0);
    wh_source_options options = options_for("walk_07:15");
    options.has_format = true;
    options.sample_rate_hz = 1e6;
    source_run run;
    run_source(&run, &options);
    assert_int_equal(chdir(here), 0);
    assert_int_equal(run.open_status, WH_OK);
    assert_string_equal(run.kind, "bare");
    run_free(&run);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_samples_and_commands),
        cmocka_unit_test(test_automatic_gain_and_defaults),
        cmocka_unit_test(test_servers_that_fail),
        cmocka_unit_test(test_silence_in_the_middle),
        cmocka_unit_test(test_refused_before_anything_is_sent),
        cmocka_unit_test(test_addresses),
        cmocka_unit_test(test_a_file_with_a_colon_is_a_file),
    };
    folder_begin();
    const int failed = cmocka_run_group_tests(tests, NULL, NULL);
    folder_end();
    return failed;
}
