#include "unknown_air.h"

#include "../near.h"

static const unknown_kind fsk = {.code = UNKNOWN_MANCHESTER,
                                 .chip_rate_hz = 19.2e3,
                                 .deviation_hz = 35e3,
                                 .head = "1010101010101010101010101010"
                                         "111000"
                                         "10"};
static const unknown_kind ook = {.code = UNKNOWN_WORDS,
                                 .chip_rate_hz = 5e3,
                                 .head = "100100100100100100100100100100"
                                         "111110000",
                                 .end = "1",
                                 .one = "110",
                                 .zero = "100"};
static const unknown_kind plain = {.code = UNKNOWN_NRZ,
                                   .chip_rate_hz = 40e3,
                                   .deviation_hz = 40e3,
                                   .head = "1010101010101010101010101010101010101010"
                                           "1101001110010111"};

static wh_study *new_study(void)
{
    wh_study *study = NULL;
    assert_int_equal(wh_study_create(&study, NULL), WH_OK);
    return study;
}

static void run(wh_study *study)
{
    wh_error error;
    assert_int_equal(wh_study_run(study, &error), WH_OK);
}

static unsigned bit(const wh_table_row *row, unsigned at)
{
    return row->bits[at / 8] >> (7 - at % 8) & 1u;
}

/* Every row is a frame that was sent, in this or the other sense, the last bits of it last. */
static void check_rows(const wh_frame_table *table, unsigned frames, unsigned copies)
{
    assert_int_equal(table->row_count, 3 * frames);
    for (unsigned r = 0; r < 3 * frames; r++) {
        const wh_table_row *row = &table->rows[r];
        uint8_t sent[UNKNOWN_BITS];
        unknown_frame(r / frames, r % frames, sent);
        assert_true(row->length >= UNKNOWN_BITS - 8);
        const unsigned common = row->length < UNKNOWN_BITS ? row->length : UNKNOWN_BITS;
        const unsigned sense = bit(row, row->length - 1) ^ sent[UNKNOWN_BITS - 1];
        for (unsigned i = 1; i <= common; i++)
            assert_int_equal(bit(row, row->length - i) ^ sense, sent[UNKNOWN_BITS - i]);
        assert_int_equal(row->copies, copies);
        assert_true(row->reliability[0] > 4.0f);
    }
}

static void test_manchester_with_a_sync_that_breaks_it(void **state)
{
    (void)state;
    wh_study *study = new_study();
    unknown_scene scene = unknown_silence(9.0, 1);
    unknown_send_all(&scene, &fsk, 4, 3, 22.0);
    unknown_record(study, &scene, "manchester");
    run(study);
    assert_int_equal(wh_study_kind_count(study), 1);
    const wh_frame_table *table = wh_study_kind(study, 0);
    const wh_kind_estimate *kind = &table->kind;
    assert_int_equal(kind->radio.modulation, WH_MOD_FSK);
    assert_near(kind->chip_rate_hz.value, 19.2e3, 10.0);
    assert_near(kind->deviation_hz.value, 35e3, 1500.0);
    assert_int_equal(kind->line[0].line.kind, WH_LINE_MANCHESTER);
    assert_int_equal(kind->line[0].violations, 0);
    assert_true(kind->sync_breaks_code);
    assert_int_equal(table->columns, UNKNOWN_BITS);
    assert_int_equal(kind->copies, 3);
    assert_near(kind->gap_least_s, 0.02, 0.001);
    assert_near(kind->gap_most_s, 0.02, 0.001);
    check_rows(table, 4, 3);
    assert_near(table->rows[0].at_s, 0.05, 0.0005);
    assert_near((double)table->rows[0].sample, 25000.0, 200.0);
    assert_string_equal(wh_study_missing(study, 0), "");
    wh_study_destroy(&study);
    assert_null(study);
}

static void test_pulse_width(void **state)
{
    (void)state;
    wh_study *study = new_study();
    unknown_scene scene = unknown_silence(11.0, 2);
    unknown_send_all(&scene, &ook, 5, 1, 22.0);
    unknown_record(study, &scene, "pulses");
    run(study);
    assert_int_equal(wh_study_kind_count(study), 1);
    const wh_kind_estimate *kind = &wh_study_kind(study, 0)->kind;
    assert_int_equal(kind->radio.modulation, WH_MOD_OOK);
    assert_near(kind->chip_rate_hz.value, 5e3, 5.0);
    assert_int_equal(kind->line[0].line.kind, WH_LINE_PULSE_WIDTH);
    static const uint8_t one[3] = {1, 1, 0}, zero[3] = {1, 0, 0};
    assert_int_equal(kind->line[0].line.one_count, 3);
    assert_memory_equal(kind->line[0].line.one_chips, one, 3);
    assert_memory_equal(kind->line[0].line.zero_chips, zero, 3);
    check_rows(wh_study_kind(study, 0), 5, 1);
    wh_study_destroy(&study);
}

static void test_two_kinds_at_once_and_a_carrier(void **state)
{
    (void)state;
    wh_study *study = new_study();
    unknown_scene first = unknown_silence(10.0, 3), second = unknown_silence(10.0, 4);
    unknown_send_all(&first, &plain, 5, 1, 23.0);
    air_tone(first.iq, 0, first.samples, UNKNOWN_RATE_HZ, -140e3, 0.02);
    unknown_send_all(&second, &fsk, 4, 1, 22.0);
    unknown_record(study, &first, "plain");
    unknown_record(study, &second, "manchester");
    run(study);
    assert_int_equal(wh_study_kind_count(study), 2);
    const size_t nrz = wh_study_kind(study, 0)->kind.line[0].line.kind == WH_LINE_NRZ ? 0 : 1;
    const wh_kind_estimate *kind = &wh_study_kind(study, nrz)->kind;
    assert_int_equal(kind->line[0].line.kind, WH_LINE_NRZ);
    assert_near(kind->chip_rate_hz.value, 40e3, 50.0);
    check_rows(wh_study_kind(study, nrz), 5, 1);
    assert_int_equal(wh_study_kind(study, 1 - nrz)->kind.line[0].line.kind, WH_LINE_MANCHESTER);
    check_rows(wh_study_kind(study, 1 - nrz), 4, 1);
    assert_int_equal(wh_study_kind(study, nrz)->rows[0].recording, 0);
    assert_int_equal(wh_study_kind(study, 1 - nrz)->rows[0].recording, 1);
    wh_study_destroy(&study);
}

static void test_noise_has_no_kind(void **state)
{
    (void)state;
    wh_study *study = new_study();
    unknown_scene scene = unknown_silence(20.0, 5);
    unknown_record(study, &scene, "noise");
    run(study);
    assert_int_equal(wh_study_kind_count(study), 0);
    for (size_t i = 0; i < wh_burst_store_count(wh_study_store(study)); i++)
        assert_int_not_equal(wh_study_stray(study, i), WH_STRAY_NONE);
    wh_study_destroy(&study);
}

/* A single frame, and the same frame over and over: there is something, but not what its parts are. */
static void test_says_what_is_missing(void **state)
{
    (void)state;
    uint8_t bits[UNKNOWN_BITS], chips[1024];
    unknown_frame(0, 0, bits);
    const size_t count = unknown_chips(&fsk, bits, UNKNOWN_BITS, chips);
    wh_study *study = new_study();
    unknown_scene scene = unknown_silence(1.0, 6);
    unknown_send(&scene, &fsk, chips, count, 0.4, 0.0, 23.0);
    unknown_record(study, &scene, "single");
    run(study);
    assert_int_equal(wh_study_kind_count(study), 0);
    assert_true(wh_burst_store_count(wh_study_store(study)) >= 1);
    assert_int_equal(wh_study_stray(study, 0), WH_STRAY_ALONE);
    unknown_scene again = unknown_silence(3.0, 7);
    for (unsigned i = 0; i < 4; i++)
        unknown_send(&again, &fsk, chips, count, 0.1 + 0.7 * i, 0.0, 23.0);
    unknown_record(study, &again, "same");
    run(study);
    assert_int_equal(wh_study_kind_count(study), 1);
    assert_non_null(strstr(wh_study_missing(study, 0), "all frames are alike"));
    assert_int_equal(wh_study_kind(study, 0)->kind.length, WH_OPEN);
    wh_study_destroy(&study);
}

/* Starts lost to the transmitter's or the receiver's waking: by a chip here, by many there. */
static void test_starts_may_be_cut(void **state)
{
    (void)state;
    wh_study *study = new_study();
    unknown_scene scene = unknown_silence(9.0, 8);
    double at = 0.05;
    for (unsigned i = 0; i < 12; i++) {
        static const unsigned cut[4] = {0, 1, 0, 9};
        uint8_t bits[UNKNOWN_BITS], chips[1024];
        unknown_frame(i / 4, i % 4, bits);
        const size_t count = unknown_chips(&fsk, bits, UNKNOWN_BITS, chips);
        at = unknown_send(&scene, &fsk, chips + cut[i % 4], count - cut[i % 4], at, 5e3, 22.0) + 0.6;
    }
    unknown_record(study, &scene, "cut");
    run(study);
    assert_int_equal(wh_study_kind_count(study), 1);
    check_rows(wh_study_kind(study, 0), 4, 1);
    wh_study_destroy(&study);
}

static void test_marks_what_is_clipped(void **state)
{
    (void)state;
    wh_study *study = new_study();
    wh_burst_store *store = wh_study_store(study);
    const size_t samples = 1000000;
    float *iq = air_silence(samples);
    air_noise(iq, samples, 1e-4, 9);
    uint8_t chips[400];
    air_random_chips(chips, 400, 3);
    air_keying keying = {UNKNOWN_RATE_HZ, 20e3, 200e3, 10e3, 30e3, 1.4};
    air_keyed(iq, samples, &keying, chips, 400);
    keying.start = 700e3;
    keying.amplitude = 0.1;
    air_keyed(iq, samples, &keying, chips, 400);
    uint8_t *bytes = malloc(2 * samples);
    assert_non_null(bytes);
    for (size_t i = 0; i < 2 * samples; i++)
        bytes[i] = (uint8_t)fmax(0.0, fmin(255.0, round((double)iq[i] * 127.5 + 127.5)));
    const wh_stream stream = {.format = WH_IQ_CU8, .sample_rate_hz = UNKNOWN_RATE_HZ, .name = "loud"};
    assert_int_equal(wh_burst_store_begin_recording(store, "loud", NULL), WH_OK);
    assert_int_equal(wh_burst_store_begin(store, &stream, NULL), WH_OK);
    assert_int_equal(wh_burst_store_push(store, bytes, samples), WH_OK);
    assert_int_equal(wh_burst_store_finish(store), WH_OK);
    free(bytes);
    free(iq);
    unsigned loud = 0, soft = 0;
    for (size_t i = 0; i < wh_burst_store_count(store); i++) {
        const wh_study_burst *burst = wh_burst_store_at(store, i);
        const bool near_first = fabs(burst->at_s - 0.4) < 0.02, near_second = fabs(burst->at_s - 1.4) < 0.02;
        loud += near_first && burst->clipped;
        soft += near_second && !burst->clipped;
        assert_false(near_second && burst->clipped);
    }
    assert_true(loud >= 1 && soft >= 1);
    assert_true(wh_burst_store_recording(store, 0)->clipped > 1000);
    assert_near(wh_burst_store_recording(store, 0)->seconds, 2.0, 1e-9);
    wh_study_destroy(&study);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_manchester_with_a_sync_that_breaks_it),
        cmocka_unit_test(test_pulse_width),
        cmocka_unit_test(test_two_kinds_at_once_and_a_carrier),
        cmocka_unit_test(test_noise_has_no_kind),
        cmocka_unit_test(test_says_what_is_missing),
        cmocka_unit_test(test_starts_may_be_cut),
        cmocka_unit_test(test_marks_what_is_clipped),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
