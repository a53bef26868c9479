/* The recorder: what lies around bursts, gaps, and a dongle's samples from end to end. */
#include "fake_rtlsdr.h"
#include "recorder.h"
#include "run_source.h"
#include "source.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#define RATE 250000u

static char base[4000];
static const char *folder;

static wh_recorder *create(const char *name, bool everything)
{
    char path[4200];
    snprintf(base, sizeof base, "%s/%s", folder, name);
    for (unsigned i = 0; i < 2; i++) {
        snprintf(path, sizeof path, "%s%s", base, i ? ".sigmf-meta" : ".sigmf-data");
        unlink(path);
    }
    const wh_recorder_options options = {.base = base,
                                         .everything = everything,
                                         .before_s = 0.4,
                                         .after_s = 0.1,
                                         .generator = "test",
                                         .live = true,
                                         .has_gain = true,
                                         .gain_db = 20.0,
                                         .ppm = -3.0};
    wh_recorder *recorder;
    wh_error error;
    assert_int_equal(wh_recorder_create(&options, &recorder, &error), WH_OK);
    return recorder;
}

static const wh_stream stream = {.format = WH_IQ_CI16, .sample_rate_hz = RATE, .centre_hz = 433.92e6, .name = "test"};

/* Samples that tell their own number. */
static void push(wh_recorder *recorder, uint32_t from, uint32_t to, uint32_t block)
{
    uint32_t *samples = malloc(block * sizeof *samples);
    wh_error error;
    while (from < to) {
        const uint32_t count = to - from < block ? to - from : block;
        for (uint32_t i = 0; i < count; i++)
            samples[i] = from + i;
        assert_int_equal(wh_recorder_push(recorder, samples, count, &error), WH_OK);
        from += count;
    }
    free(samples);
}

static uint32_t *kept(size_t *count)
{
    char path[4200];
    snprintf(path, sizeof path, "%s.sigmf-data", base);
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    uint32_t *samples = calloc(8 * RATE, sizeof *samples);
    *count = fread(samples, sizeof *samples, 8 * (size_t)RATE, file);
    fclose(file);
    return samples;
}

static void end(wh_recorder *recorder)
{
    wh_error error;
    assert_int_equal(wh_recorder_finish(recorder, &error), WH_OK);
    wh_recorder_destroy(&recorder);
}

/* Bursts are told late and out of order; two of them touch. Whatever the blocks, the same samples are kept. */
static void test_around_bursts(void **state)
{
    static const uint32_t blocks[] = {7001, 100000, 2000000};
    (void)state;
    for (size_t b = 0; b < 3; b++) {
        wh_recorder *recorder = create("around", false);
        wh_error error;
        assert_int_equal(wh_recorder_begin(recorder, &stream, &error), WH_OK);
        const wh_recorder_burst first = {.start = 40000, .end = 60000}, second = {.start = 500000, .end = 510000},
                                third = {.start = 600000, .end = 610000};
        push(recorder, 0, 300000, blocks[b]);
        wh_recorder_burst_heard(recorder, &first); /* before_s reaches before the start: from 0 */
        push(recorder, 300000, 1000000, blocks[b]);
        wh_recorder_burst_heard(recorder, &third);
        wh_recorder_burst_heard(recorder, &second);
        push(recorder, 1000000, 1700000, blocks[b]);
        end(recorder);
        size_t count;
        uint32_t *samples = kept(&count);
        /* 0 .. 60000 + 25000, and 500000 - 100000 .. 610000 + 25000 */
        assert_int_equal(count, 85000 + 235000);
        for (uint32_t i = 0; i < count; i++)
            assert_int_equal(samples[i], i < 85000 ? i : i - 85000 + 400000);
        free(samples);
    }
}

/* Lost samples are no samples: the piece after them is another. */
static void test_gap(void **state)
{
    (void)state;
    wh_recorder *recorder = create("gap", false);
    wh_error error;
    assert_int_equal(wh_recorder_begin(recorder, &stream, &error), WH_OK);
    push(recorder, 0, 200000, 50000);
    wh_recorder_lost(recorder, 1000);
    const wh_recorder_burst across = {.start = 190000, .end = 220000};
    wh_recorder_burst_heard(recorder, &across);
    push(recorder, 201000, 400000, 50000);
    wh_recorder_stats stats;
    wh_recorder_get_stats(recorder, &stats);
    assert_int_equal(stats.lost, 1000);
    end(recorder);
    size_t count;
    uint32_t *samples = kept(&count);
    /* 190000 - 100000 .. 200000, 201000 .. 220000 + 25000 */
    assert_int_equal(count, 110000 + 44000);
    assert_int_equal(samples[109999], 199999);
    assert_int_equal(samples[110000], 201000);
    free(samples);
    /* and it is read back as two stretches, at the right distance in time */
    char path[4200];
    snprintf(path, sizeof path, "%s.sigmf-meta", base);
    wh_source_options options;
    wh_source_options_defaults(&options);
    options.target = path;
    wh_source *source;
    wh_source_event event;
    double start_s[2] = {0};
    size_t stretches = 0;
    assert_int_equal(wh_source_open(&options, &source, &error), WH_OK);
    do {
        assert_int_equal(wh_source_next(source, &event, &error), WH_OK);
        assert_int_not_equal(event.kind, WH_SOURCE_NOTICE); /* the hash is right */
        if (event.kind == WH_SOURCE_STREAM && stretches < 2)
            start_s[stretches++] = event.stream.start_s;
    } while (event.kind != WH_SOURCE_END);
    wh_source_destroy(&source);
    assert_int_equal(stretches, 2);
    assert_true(fabs(start_s[1] - start_s[0] - 111000.0 / RATE) < 1e-9);
}

/* From the driver library's callback to the file: every byte. */
static void test_dongle(void **state)
{
    (void)state;
    fake_reset();
    fake.transfers = 6;
    fake.then = THEN_UNPLUG;
    wh_source_options options;
    wh_source_options_defaults(&options);
    options.target = "dongle";
    wh_source *source;
    wh_error error;
    assert_int_equal(wh_source_open(&options, &source, &error), WH_OK);
    wh_recorder *recorder = create("dongle", true);
    unsigned char *heard = malloc(1 << 20);
    size_t bytes = 0;
    for (unsigned i = 0; i < 200 && bytes < 100000; i++) {
        wh_source_event event;
        if (wh_source_next(source, &event, &error) != WH_OK)
            break;
        if (event.kind == WH_SOURCE_STREAM)
            assert_int_equal(wh_recorder_begin(recorder, &event.stream, &error), WH_OK);
        if (event.kind == WH_SOURCE_GAP)
            wh_recorder_lost(recorder, event.lost);
        if (event.kind != WH_SOURCE_SAMPLES || bytes + 2 * event.count > 1 << 20)
            continue;
        assert_int_equal(wh_recorder_push(recorder, event.samples, event.count, &error), WH_OK);
        memcpy(heard + bytes, event.samples, 2 * event.count);
        bytes += 2 * event.count;
    }
    wh_source_destroy(&source);
    end(recorder);
    assert_int_equal(bytes, 6 * 16384);
    for (size_t i = 0; i < bytes; i++) /* counting up, as the driver sent them */
        assert_int_equal(heard[i], i & 0xFF);
    size_t count;
    uint32_t *samples = kept(&count);
    assert_int_equal(count, bytes / 4);
    assert_memory_equal(samples, heard, bytes / 4 * 4);
    free(samples);
    free(heard);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_around_bursts), cmocka_unit_test(test_gap),
                                       cmocka_unit_test(test_dongle)};
    folder = folder_begin();
    const int failed = cmocka_run_group_tests(tests, NULL, NULL);
    folder_end();
    return failed;
}
