#include "run_source.h"

#include <fcntl.h>
#include <math.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

/* 1000 bytes that repeat with no period a block could have. */
static void fill(uint8_t *bytes, size_t count)
{
    for (size_t i = 0; i < count; i++)
        bytes[i] = (uint8_t)(i * i / 7 + i);
}

static void test_samples_come_unchanged_in_blocks_of_any_size(void **state)
{
    (void)state;
    uint8_t bytes[1000];
    fill(bytes, sizeof bytes);
    write_bytes("a.cu8", bytes, sizeof bytes);
    static const size_t sizes[] = {0, 1, 7, 500, 501, 100000};
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        wh_source_options options = options_for(in_folder("a.cu8"));
        options.sample_rate_hz = 250e3;
        options.centre_hz = 433.92e6;
        options.block_samples = sizes[i];
        source_run run;
        run_source(&run, &options);
        assert_int_equal(run.open_status, WH_OK);
        assert_int_equal(run.end_status, WH_OK);
        assert_string_equal(run.kind, "bare");
        assert_int_equal(run.total, 500);
        assert_int_equal(run.notice_count, 0);
        assert_int_equal(run.byte_count, sizeof bytes);
        assert_memory_equal(run.bytes, bytes, sizeof bytes);
        assert_int_equal(run.stream_count, 1);
        assert_int_equal(run.streams[0].format, WH_IQ_CU8);
        assert_true(run.streams[0].sample_rate_hz == 250e3 && run.streams[0].centre_hz == 433.92e6);
        assert_true(run.streams[0].start_s == 0.0 && !run.streams[0].has_time);
        assert_string_equal(run.streams[0].name, "a.cu8");
        if (sizes[i] > 0)
            assert_true(run.largest_block <= sizes[i]);
        run_free(&run);
    }
}

static void test_format_from_the_name_or_stated(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        int stated; /* -1: not */
        wh_iq_format format;
        size_t samples; /* of 16 bytes */
    } cases[] = {{"f.cu8", -1, WH_IQ_CU8, 8},          {"f.ci8", -1, WH_IQ_CI8, 8},
                 {"f.ci16", -1, WH_IQ_CI16, 4},        {"f.CF32", -1, WH_IQ_CF32, 2},
                 {"f.iq", WH_IQ_CF32, WH_IQ_CF32, 2},  {"f.cs16", WH_IQ_CI16, WH_IQ_CI16, 4},
                 {"f.cu8", WH_IQ_CI16, WH_IQ_CI16, 4}, {"f.cfile", WH_IQ_CF32, WH_IQ_CF32, 2}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        write_bytes(cases[i].name, "0123456789abcdef", 16);
        wh_source_options options = options_for(in_folder(cases[i].name));
        options.sample_rate_hz = 1e6;
        options.has_format = cases[i].stated >= 0;
        options.format = options.has_format ? (wh_iq_format)cases[i].stated : WH_IQ_CU8;
        source_run run;
        run_source(&run, &options);
        assert_int_equal(run.open_status, WH_OK);
        assert_int_equal(run.streams[0].format, cases[i].format);
        assert_int_equal(run.stream_samples[0], cases[i].samples);
        run_free(&run);
    }
}

static void refused(const char *name, bool has_format, double rate, wh_status status, const char *text)
{
    wh_source_options options = options_for(in_folder(name));
    options.has_format = has_format;
    options.sample_rate_hz = rate;
    source_run run;
    run_source(&run, &options);
    assert_int_equal(run.open_status, status);
    assert_contains(run.error.what, text);
    assert_true(run.error.fix[0] != '\0');
}

static void test_what_is_not_told_is_asked_for(void **state)
{
    (void)state;
    write_bytes("a.iq", "0123", 4);
    write_bytes("b.cu8", "0123", 4);
    refused("a.iq", false, 1e6, WH_ERR_ARGUMENT, "does not tell the sample format");
    refused("b.cu8", false, (double)NAN, WH_ERR_ARGUMENT, "do not tell their sample rate");
    refused("b.cu8", false, 224999.0, WH_ERR_ARGUMENT, "224999 samples per second");
    refused("b.cu8", false, 3200001.0, WH_ERR_ARGUMENT, "3200001 samples per second");
    refused("missing.cu8", false, 1e6, WH_ERR_NOT_FOUND, "no such file");
    refused(".", true, 1e6, WH_ERR_FORMAT, "is a folder");
    wh_source_options nothing = options_for("");
    source_run run;
    run_source(&run, &nothing);
    assert_int_equal(run.open_status, WH_ERR_ARGUMENT);
}

static void test_odd_length_is_told_after_the_samples(void **state)
{
    (void)state;
    write_bytes("odd.ci16", "0123456789", 10);
    wh_source_options options = options_for(in_folder("odd.ci16"));
    options.sample_rate_hz = 1e6;
    options.block_samples = 1;
    source_run run;
    run_source(&run, &options);
    assert_int_equal(run.end_status, WH_OK);
    assert_int_equal(run.byte_count, 8);
    assert_int_equal(run.notice_count, 1);
    assert_true(has_notice(&run, WH_ERR_DATA, "the last sample has 2 of its 4 bytes"));
    run_free(&run);
}

static void test_empty_file_is_told(void **state)
{
    (void)state;
    write_bytes("empty.cu8", "", 0);
    wh_source_options options = options_for(in_folder("empty.cu8"));
    options.sample_rate_hz = 1e6;
    source_run run;
    run_source(&run, &options);
    assert_int_equal(run.end_status, WH_OK);
    assert_int_equal(run.byte_count, 0);
    assert_true(has_notice(&run, WH_ERR_DATA, "holds no samples"));
}

static void test_nan_passes_through(void **state)
{
    (void)state;
    float values[8] = {0.5f, NAN, INFINITY, -1.0f, -INFINITY, 0.0f, NAN, NAN};
    write_bytes("nan.cf32", values, sizeof values);
    wh_source_options options = options_for(in_folder("nan.cf32"));
    options.sample_rate_hz = 1e6;
    source_run run;
    run_source(&run, &options);
    assert_int_equal(run.notice_count, 0);
    assert_memory_equal(run.bytes, values, sizeof values);
    run_free(&run);
}

typedef struct pipe_feeder {
    int fd;
    const uint8_t *bytes;
    size_t count, piece;
} pipe_feeder;

static void *feed(void *context)
{
    pipe_feeder *feeder = context;
    for (size_t at = 0; at < feeder->count; at += feeder->piece) {
        const size_t left = feeder->count - at;
        const size_t now = left < feeder->piece ? left : feeder->piece;
        if (write(feeder->fd, feeder->bytes + at, now) != (ssize_t)now)
            break;
    }
    close(feeder->fd);
    return NULL;
}

static void run_stdin(source_run *run, wh_source_options *options, const uint8_t *bytes, size_t count, size_t piece)
{
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    const int saved = dup(STDIN_FILENO);
    assert_true(dup2(ends[0], STDIN_FILENO) >= 0);
    close(ends[0]);
    pipe_feeder feeder = {ends[1], bytes, count, piece};
    pthread_t thread;
    assert_int_equal(pthread_create(&thread, NULL, feed, &feeder), 0);
    options->target = "-";
    run_source(run, options);
    pthread_join(thread, NULL);
    if (saved >= 0) {
        dup2(saved, STDIN_FILENO);
        close(saved);
    }
}

static void test_pipe_in_any_pieces_ends_with_its_writer(void **state)
{
    (void)state;
    uint8_t bytes[1000];
    fill(bytes, sizeof bytes);
    static const size_t pieces[] = {1, 3, 999, 1000};
    for (size_t i = 0; i < sizeof pieces / sizeof *pieces; i++) {
        wh_source_options options = options_for("-");
        options.has_format = true;
        options.format = WH_IQ_CI16;
        options.sample_rate_hz = 1e6;
        source_run run;
        run_stdin(&run, &options, bytes, sizeof bytes - (i == 2), pieces[i]);
        assert_int_equal(run.end_status, WH_OK);
        assert_string_equal(run.kind, "stdin");
        assert_string_equal(run.streams[0].name, "stdin");
        assert_int_equal(run.byte_count, i == 2 ? 996 : 1000);
        assert_memory_equal(run.bytes, bytes, run.byte_count);
        assert_int_equal(has_notice(&run, WH_ERR_DATA, "odd length"), i == 2);
        run_free(&run);
    }
}

static void test_stdin_without_format_says_what_to_do(void **state)
{
    (void)state;
    wh_source_options options = options_for("-");
    options.sample_rate_hz = 1e6;
    source_run run;
    run_stdin(&run, &options, (const uint8_t *)"ab", 2, 2);
    assert_int_equal(run.open_status, WH_ERR_ARGUMENT);
    assert_contains(run.error.fix, "--format");
}

static void *open_and_close(void *path)
{
    const int fd = open(path, O_WRONLY);
    assert_int_equal(write(fd, "abcdef", 6), 6);
    close(fd);
    return NULL;
}

static void test_fifo_that_ends_does_not_hang(void **state)
{
    (void)state;
    char path[400];
    snprintf(path, sizeof path, "%s", in_folder("fifo.cu8"));
    assert_int_equal(mkfifo(path, 0600), 0);
    pthread_t thread;
    assert_int_equal(pthread_create(&thread, NULL, open_and_close, path), 0);
    wh_source_options options = options_for(path);
    options.sample_rate_hz = 1e6;
    source_run run;
    run_source(&run, &options);
    pthread_join(thread, NULL);
    assert_int_equal(run.end_status, WH_OK);
    assert_int_equal(run.total, 0);
    assert_int_equal(run.byte_count, 6);
    run_free(&run);
}

static void test_open_pipe_without_data_is_idle(void **state)
{
    (void)state;
    char path[400];
    snprintf(path, sizeof path, "%s", in_folder("idle.cu8"));
    assert_int_equal(mkfifo(path, 0600), 0);
    const int keep = open(path, O_RDWR); /* a writer that stays silent */
    wh_source_options options = options_for(path);
    options.sample_rate_hz = 1e6;
    wh_source *source;
    wh_source_event event;
    assert_int_equal(wh_source_open(&options, &source, NULL), WH_OK);
    assert_int_equal(wh_source_next(source, &event, NULL), WH_OK);
    assert_int_equal(event.kind, WH_SOURCE_STREAM);
    assert_int_equal(wh_source_next(source, &event, NULL), WH_OK);
    assert_int_equal(event.kind, WH_SOURCE_IDLE);
    wh_source_destroy(&source);
    close(keep);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_samples_come_unchanged_in_blocks_of_any_size),
        cmocka_unit_test(test_format_from_the_name_or_stated),
        cmocka_unit_test(test_what_is_not_told_is_asked_for),
        cmocka_unit_test(test_odd_length_is_told_after_the_samples),
        cmocka_unit_test(test_empty_file_is_told),
        cmocka_unit_test(test_nan_passes_through),
        cmocka_unit_test(test_pipe_in_any_pieces_ends_with_its_writer),
        cmocka_unit_test(test_stdin_without_format_says_what_to_do),
        cmocka_unit_test(test_fifo_that_ends_does_not_hang),
        cmocka_unit_test(test_open_pipe_without_data_is_idle),
    };
    folder_begin();
    const int failed = cmocka_run_group_tests(tests, NULL, NULL);
    folder_end();
    return failed;
}
