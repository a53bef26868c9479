/* The bursts that pages look at: the document parsed back, bounds, the recording, and two threads at once. */
#include "burst_shelf.h"

#include <jansson.h>
#include <pthread.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define RATE 250e3

static wh_burst burst_of(uint64_t number)
{
    wh_burst burst = {.number = number,
                      .offset_s = 1.0 + 0.1 * (double)number,
                      .duration_s = 0.008,
                      .carrier_hz = 433.92e6,
                      .width_hz = 60e3,
                      .snr_db = 21.5,
                      .stage = WH_STAGE_FRAME,
                      .reason = WH_REASON_BAD_CHECK};
    snprintf(burst.descriptor, sizeof burst.descriptor, "<b>sly & \"quoted\"</b>");
    return burst;
}

static wh_burst_cut cut_of(const wh_burst *burst, size_t count)
{
    return (wh_burst_cut){.burst = *burst,
                          .stream = {.format = WH_IQ_CU8, .sample_rate_hz = RATE, .centre_hz = 433.92e6},
                          .start = 10,
                          .length = 20,
                          .samples = calloc(count, 2),
                          .count = count};
}

static void put(wh_burst_shelf *shelf, uint64_t number, size_t samples)
{
    const wh_burst burst = burst_of(number);
    wh_burst_cut cut = cut_of(&burst, samples);
    assert_non_null(cut.samples);
    memset(cut.samples, (int)(number & 0xFF), 2 * samples);
    wh_burst_shelf_put(shelf, &burst, &cut);
    assert_null(cut.samples);
}

static json_t *document(wh_burst_shelf *shelf)
{
    wh_text text = {0};
    json_error_t error;
    wh_burst_shelf_json(shelf, &text);
    assert_false(text.failed);
    json_t *root = json_loadb(text.data, text.length, JSON_REJECT_DUPLICATES, &error);
    assert_non_null(root);
    wh_text_free(&text);
    return root;
}

static void test_document_says_why(void **state)
{
    (void)state;
    wh_burst_shelf *shelf = wh_burst_shelf_create();
    const wh_attempt early = {.burst_number = 3,
                              .descriptor = "alder",
                              .stage = WH_STAGE_DEMOD,
                              .reason = WH_REASON_NO_CLOCK},
                     late = {.burst_number = 3,
                             .descriptor = "<script>birch",
                             .stage = WH_STAGE_PROTOCOL,
                             .reason = WH_REASON_BAD_CHECK,
                             .detail = "sum is 12, 13 needed"},
                     lost = {.burst_number = 99, .descriptor = "nobody's"};
    assert_false(wh_burst_shelf_changed(shelf));
    put(shelf, 2, 100);
    put(shelf, 3, 100);
    wh_burst_shelf_attempt(shelf, &early);
    wh_burst_shelf_attempt(shelf, &late);
    wh_burst_shelf_attempt(shelf, &lost);
    assert_true(wh_burst_shelf_changed(shelf));
    assert_false(wh_burst_shelf_changed(shelf));
    json_t *root = document(shelf), *bursts = json_object_get(root, "bursts"), *first = json_array_get(bursts, 0);
    assert_int_equal(json_array_size(bursts), 2);
    assert_int_equal(json_integer_value(json_object_get(first, "number")), 3);
    assert_float_equal(json_number_value(json_object_get(first, "offset_s")), 1.3, 1e-9);
    assert_float_equal(json_number_value(json_object_get(first, "carrier_mhz")), 433.92, 1e-9);
    assert_float_equal(json_number_value(json_object_get(first, "width_khz")), 60.0, 1e-9);
    assert_float_equal(json_number_value(json_object_get(first, "length_ms")), 8.0, 1e-9);
    assert_string_equal(json_string_value(json_object_get(first, "stage")), "frame");
    assert_string_equal(json_string_value(json_object_get(first, "reason")), "bad-check");
    const char *outcome = json_string_value(json_object_get(first, "outcome"));
    assert_non_null(strstr(outcome, "<b>sly & \"quoted\"</b>"));
    assert_non_null(strstr(outcome, wh_reason_text(WH_REASON_BAD_CHECK)));
    assert_true(json_is_true(json_object_get(first, "kept")));
    json_t *attempts = json_object_get(first, "attempts"), *furthest = json_array_get(attempts, 0);
    assert_int_equal(json_array_size(attempts), 2);
    assert_string_equal(json_string_value(json_object_get(furthest, "descriptor")), "<script>birch");
    assert_string_equal(json_string_value(json_object_get(furthest, "detail")), "sum is 12, 13 needed");
    json_decref(root);
    wh_burst_shelf_destroy(&shelf);
}

static void test_memory_is_bounded(void **state)
{
    (void)state;
    wh_burst_shelf *shelf = wh_burst_shelf_create();
    wh_shelf_burst copy;
    for (uint64_t i = 0; i < 3 * WH_SHELF_BURSTS; i++)
        put(shelf, i, 1000);
    const uint64_t last = 3 * WH_SHELF_BURSTS - 1;
    for (unsigned i = 0; i < WH_SHELF_ATTEMPTS + 5; i++) {
        wh_attempt attempt = {.burst_number = last, .reason = WH_REASON_NO_SYNC};
        snprintf(attempt.descriptor, sizeof attempt.descriptor, "d%03u", i);
        wh_burst_shelf_attempt(shelf, &attempt);
    }
    json_t *root = document(shelf), *bursts = json_object_get(root, "bursts");
    assert_int_equal(json_array_size(bursts), WH_SHELF_BURSTS);
    size_t kept = 0;
    for (size_t i = 0; i < WH_SHELF_BURSTS; i++) {
        json_t *burst = json_array_get(bursts, i);
        assert_int_equal(json_integer_value(json_object_get(burst, "number")), last - i);
        kept += json_is_true(json_object_get(burst, "kept"));
    }
    assert_int_equal(kept, WH_SHELF_CUTS);
    json_t *latest = json_array_get(bursts, 0);
    assert_int_equal(json_array_size(json_object_get(latest, "attempts")), WH_SHELF_ATTEMPTS);
    assert_int_equal(json_integer_value(json_object_get(latest, "attempts_left_out")), 5);
    json_decref(root);
    assert_false(wh_burst_shelf_copy(shelf, 0, &copy));
    assert_true(wh_burst_shelf_copy(shelf, last - WH_SHELF_CUTS, &copy)); /* the line is there, the samples are not */
    assert_null(copy.cut.samples);
    assert_true(wh_burst_shelf_copy(shelf, last - WH_SHELF_CUTS + 1, &copy));
    assert_int_equal(((unsigned char *)copy.cut.samples)[999], (last - WH_SHELF_CUTS + 1) & 0xFF);
    wh_burst_cut_free(&copy.cut);
    /* Large ones: fewer of them. */
    for (uint64_t i = 1000; i < 1004; i++)
        put(shelf, i, WH_SHELF_BYTES / 2 / 3 + 1);
    assert_true(wh_burst_shelf_copy(shelf, 1003, &copy));
    assert_non_null(copy.cut.samples);
    wh_burst_cut_free(&copy.cut);
    assert_true(wh_burst_shelf_copy(shelf, 1002, &copy));
    assert_non_null(copy.cut.samples);
    wh_burst_cut_free(&copy.cut);
    assert_true(wh_burst_shelf_copy(shelf, 1001, &copy));
    assert_null(copy.cut.samples);
    wh_burst_shelf_destroy(&shelf);
}

/* The samples of a ramp say where they are from. */
static void test_cut_out_of_what_was_heard(void **state)
{
    (void)state;
    wh_sample_memory *memory = wh_sample_memory_create();
    const wh_stream stream = {.format = WH_IQ_CI16, .sample_rate_hz = RATE, .has_time = true, .start_utc_us = 5000000};
    const size_t count = 1500000; /* six seconds: the ring is wrapped */
    int16_t(*samples)[2] = malloc(count * sizeof *samples);
    for (size_t i = 0; i < count; i++) {
        samples[i][0] = (int16_t)(i / 30000);
        samples[i][1] = (int16_t)(i % 30000);
    }
    wh_sample_memory_stretch(memory, &stream);
    for (size_t at = 0; at < count; at += 7000)
        wh_sample_memory_samples(memory, samples + at, count - at < 7000 ? count - at : 7000);
    wh_burst burst = burst_of(0);
    wh_burst_cut cut;
    burst.offset_s = 4.0;
    assert_true(wh_sample_memory_cut(memory, &burst, &cut));
    assert_int_equal(cut.start, 87500); /* 0.35 s */
    assert_int_equal(cut.length, 2001);
    assert_int_equal(cut.count, 87500 + 2001 + 25000);
    assert_memory_equal(cut.samples, samples + 1000000 - 87500, cut.count * sizeof *samples);
    assert_float_equal(cut.stream.start_s, 3.65, 1e-9);
    assert_int_equal(cut.stream.start_utc_us, 5000000 + 3650000);
    wh_burst_cut_free(&cut);
    burst.offset_s = 1.9; /* older than four seconds */
    assert_false(wh_sample_memory_cut(memory, &burst, &cut));
    burst.offset_s = 5.999; /* not heard to its end */
    assert_false(wh_sample_memory_cut(memory, &burst, &cut));
    wh_sample_memory_destroy(&memory);
    free(samples);
}

#define PUT 400

/* Until the last one has come: both are at work all the time. */
static void *look(void *context)
{
    wh_burst_shelf *shelf = context;
    size_t wrong = 0;
    bool last = false;
    for (uint64_t i = 0; !last; i = (i + 1) % PUT) {
        wh_shelf_burst *copy = malloc(sizeof *copy);
        wh_text text = {0};
        wh_burst_shelf_json(shelf, &text);
        wrong += text.failed;
        wh_text_free(&text);
        if (wh_burst_shelf_copy(shelf, i, copy)) {
            const unsigned char *bytes = copy->cut.samples;
            for (size_t k = 0; bytes && k < 2 * copy->cut.count; k++)
                wrong += bytes[k] != (i & 0xFF);
            wh_burst_cut_free(&copy->cut);
            last = i == PUT - 1;
        }
        free(copy);
    }
    return wrong ? context : NULL;
}

static void test_two_threads(void **state)
{
    (void)state;
    wh_burst_shelf *shelf = wh_burst_shelf_create();
    pthread_t reader;
    void *wrong;
    assert_int_equal(pthread_create(&reader, NULL, look, shelf), 0);
    for (uint64_t i = 0; i < PUT; i++) {
        const wh_attempt attempt = {.burst_number = i, .descriptor = "alder", .reason = WH_REASON_NO_SYNC};
        put(shelf, i, 500);
        wh_burst_shelf_attempt(shelf, &attempt);
        wh_burst_shelf_changed(shelf);
    }
    assert_int_equal(pthread_join(reader, &wrong), 0);
    assert_null(wrong);
    wh_burst_shelf_destroy(&shelf);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_document_says_why),
        cmocka_unit_test(test_memory_is_bounded),
        cmocka_unit_test(test_cut_out_of_what_was_heard),
        cmocka_unit_test(test_two_threads),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
