/* Rules of the metadata: the SigMF specification and its JSON schema, version 1.2.5 (sigmf.org). */
#include "datetime.h"
#include "run_source.h"
#include "sigmf_meta.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* 200 bytes 0, 1, 2 ...: 100 samples of cu8. */
#define HASH_OF_200                                                                                                    \
    "986058e9895e2c2ab8f9e8cbdf801db12a44842a56a91d5a4e87b1fc98b293722c4664142e42c3c551ff898646268cd92b84ed230b8c94be" \
    "d7798d4f27cd7465" /* of Python's hashlib */

static uint8_t ramp[200];
static const char *kept_folder; /* NULL: nothing is kept */

/* Keep the pair at hand, so that it can be held against the published rules by somebody else's eyes. */
static void keep(const char *name, const char *data, const char *data_kept)
{
    char command[1500];
    if (!kept_folder)
        return;
    snprintf(command, sizeof command, "mkdir -p '%s' && cp '%s' '%s/good-%s.sigmf-meta' && cp '%s' '%s/%s'",
             kept_folder, in_folder("r.sigmf-meta"), kept_folder, name, in_folder(data), kept_folder, data_kept);
    assert_int_equal(system(command), 0);
}

static void pair(const char *meta, size_t data_bytes)
{
    for (size_t i = 0; i < sizeof ramp; i++)
        ramp[i] = (uint8_t)i;
    write_text("r.sigmf-meta", meta);
    write_bytes("r.sigmf-data", ramp, data_bytes);
}

static void run_pair(source_run *run, const char *meta, size_t data_bytes)
{
    pair(meta, data_bytes);
    const wh_source_options options = options_for(in_folder("r.sigmf-meta"));
    run_source(run, &options);
}

#define GLOBAL(more)                                                                                                   \
    "{\"global\":{\"core:datatype\":\"cu8\",\"core:sample_rate\":1e6,\"core:version\":\"1.2.0\"" more "},"
#define ONE_CAPTURE "\"captures\":[{\"core:sample_start\":0}],\"annotations\":[]}"

static void test_pair_by_any_of_its_names(void **state)
{
    (void)state;
    /* The example of the specification's README, with a rate and data type of ours. */
    pair("{\"global\":{\"core:datatype\":\"ci16_le\",\"core:sample_rate\":1000000,"
         "\"core:hw\":\"PlutoSDR with 915 MHz whip antenna\",\"core:author\":\"Art "
         "Vandelay\",\"core:version\":\"1.0.0\"},"
         "\"captures\":[{\"core:sample_start\":0,\"core:frequency\":915000000}],\"annotations\":[]}",
         200);
    keep("readme", "r.sigmf-data", "good-readme.sigmf-data");
    static const char *const names[] = {"r.sigmf-meta", "r.sigmf-data", "r"};
    static const size_t blocks[] = {0, 1, 13};
    for (size_t i = 0; i < 3; i++) {
        wh_source_options options = options_for(in_folder(names[i]));
        options.block_samples = blocks[i];
        options.centre_hz = 1.0; /* the metadata know better */
        options.sample_rate_hz = 2e6;
        source_run run;
        run_source(&run, &options);
        assert_int_equal(run.open_status, WH_OK);
        assert_int_equal(run.end_status, WH_OK);
        assert_string_equal(run.kind, "sigmf");
        assert_int_equal(run.notice_count, 0);
        assert_int_equal(run.stream_count, 1);
        assert_int_equal(run.total, 50);
        assert_int_equal(run.streams[0].format, WH_IQ_CI16);
        assert_true(run.streams[0].sample_rate_hz == 1e6 && run.streams[0].centre_hz == 915e6);
        assert_false(run.streams[0].has_time);
        assert_string_equal(run.streams[0].name, "r.sigmf-meta");
        assert_memory_equal(run.bytes, ramp, 200);
        run_free(&run);
    }
}

static void test_captures_become_stretches(void **state)
{
    (void)state;
    source_run run;
    run_pair(&run,
             GLOBAL("") "\"captures\":["
                        "{\"core:sample_start\":0,\"core:frequency\":433920000,"
                        "\"core:datetime\":\"2026-03-02T07:15:04.120350Z\"},"
                        "{\"core:sample_start\":30,\"core:frequency\":315e6},"
                        "{\"core:sample_start\":90}],\"annotations\":[]}",
             200);
    keep("captures", "r.sigmf-data", "good-captures.sigmf-data");
    assert_int_equal(run.end_status, WH_OK);
    assert_int_equal(run.notice_count, 0);
    assert_int_equal(run.stream_count, 3);
    assert_int_equal(run.stream_samples[0], 30);
    assert_int_equal(run.stream_samples[1], 60);
    assert_int_equal(run.stream_samples[2], 10);
    assert_true(run.streams[0].centre_hz == 433.92e6 && run.streams[1].centre_hz == 315e6);
    assert_true(run.streams[2].centre_hz == 0.0); /* values do not carry over */
    assert_true(run.streams[1].start_s == 30e-6 && run.streams[2].start_s == 90e-6);
    assert_true(run.streams[0].has_time && !run.streams[1].has_time);
    /* date -u -d 2026-03-02T07:15:04Z +%s */
    assert_true(run.streams[0].start_utc_us == INT64_C(1772435704120350));
    assert_memory_equal(run.bytes, ramp, 200);
    run_free(&run);
}

static void test_offset_headers_and_trailing_bytes(void **state)
{
    (void)state;
    source_run run;
    pair(
        GLOBAL(
            ",\"core:dataset\":\"r.bin\",\"core:trailing_bytes\":10,\"core:offset\":1000") "\"captures\":[{\"core:"
                                                                                           "sample_start\":1000,\"core:"
                                                                                           "header_bytes\":20},"
                                                                                           "{\"core:sample_start\":"
                                                                                           "1040,\"core:header_bytes\":"
                                                                                           "6}],\"annotations\":[]}",
        0);
    write_bytes("r.bin", ramp, 200);
    keep("dataset", "r.bin", "r.bin");
    const wh_source_options options = options_for(in_folder("r.sigmf-meta"));
    run_source(&run, &options);
    /* 20 bytes of header, 40 samples, 6 bytes of header, samples up to the 10 trailing bytes. */
    assert_int_equal(run.end_status, WH_OK);
    assert_int_equal(run.notice_count, 0);
    assert_int_equal(run.stream_count, 2);
    assert_int_equal(run.stream_samples[0], 40);
    assert_int_equal(run.stream_samples[1], (200 - 10 - 20 - 80 - 6) / 2);
    assert_memory_equal(run.bytes, ramp + 20, 80);
    assert_memory_equal(run.bytes + 80, ramp + 106, 84);
    assert_true(run.streams[0].start_s == 0.0 && run.streams[1].start_s == 40e-6);
    run_free(&run);
}

static void test_samples_before_the_first_capture_are_not_lost(void **state)
{
    (void)state;
    source_run run;
    run_pair(&run, GLOBAL("") "\"captures\":[{\"core:sample_start\":25,\"core:frequency\":315e6}],\"annotations\":[]}",
             200);
    keep("late-capture", "r.sigmf-data", "good-late-capture.sigmf-data");
    assert_int_equal(run.stream_count, 2);
    assert_int_equal(run.stream_samples[0], 25);
    assert_int_equal(run.stream_samples[1], 75);
    assert_true(run.streams[0].centre_hz == 0.0 && run.streams[1].centre_hz == 315e6);
    run_free(&run);
}

static void test_hash_is_verified(void **state)
{
    (void)state;
    source_run run;
    run_pair(&run, GLOBAL(",\"core:sha512\":\"" HASH_OF_200 "\"") ONE_CAPTURE, 200);
    keep("hash", "r.sigmf-data", "good-hash.sigmf-data");
    assert_int_equal(run.notice_count, 0);
    run_free(&run);
    run_pair(&run, GLOBAL(",\"core:sha512\":\"" HASH_OF_200 "\"") ONE_CAPTURE, 198);
    assert_int_equal(run.byte_count, 198); /* delivered all the same */
    assert_int_equal(run.notice_count, 1);
    assert_true(has_notice(&run, WH_ERR_DATA, "SHA-512"));
    run_free(&run);
    run_pair(&run, GLOBAL(",\"core:sha512\":\"12ab\"") ONE_CAPTURE, 200);
    assert_true(has_notice(&run, WH_ERR_DATA, "not 128 hex digits"));
    assert_int_equal(run.byte_count, 200);
    run_free(&run);
    /* The hash is that of the whole file, headers and trailing bytes with it. */
    run_pair(&run,
             GLOBAL(",\"core:trailing_bytes\":50,\"core:sha512\":\"" HASH_OF_200
                    "\"") "\"captures\":[{\"core:sample_start\":0,\"core:header_bytes\":10},"
                          "{\"core:sample_start\":5,\"core:header_bytes\":10}],\"annotations\":[]}",
             200);
    assert_int_equal(run.notice_count, 0);
    assert_int_equal(run.byte_count, 130);
    run_free(&run);
}

static void one_notice(const char *meta, const char *text, size_t samples)
{
    source_run run;
    run_pair(&run, meta, 200);
    assert_int_equal(run.open_status, WH_OK);
    assert_int_equal(run.end_status, WH_OK);
    assert_int_equal(run.notice_count, 1);
    assert_true(has_notice(&run, WH_ERR_DATA, text));
    assert_int_equal(run.byte_count, 2 * samples);
    run_free(&run);
}

#define CAPTURES(list) GLOBAL("") "\"captures\":[" list "],\"annotations\":[]}"

static void test_faults_that_can_be_worked_around(void **state)
{
    (void)state;
    one_notice(CAPTURES("{\"core:sample_start\":50},{\"core:sample_start\":0}"), "not in order", 100);
    one_notice(CAPTURES("{\"core:sample_start\":0},{\"core:sample_start\":0}"), "two captures begin", 100);
    one_notice(CAPTURES("{\"core:sample_start\":0},{\"core:sample_start\":100}"), "beyond the end", 100);
    one_notice(CAPTURES("{\"core:sample_start\":0},{\"core:sample_start\":9000000000000000000}"), "beyond the end",
               100);
    one_notice(CAPTURES("{\"core:sample_start\":0,\"core:header_bytes\":9223372036854775807}"), "beyond the end", 100);
    one_notice(CAPTURES("{\"core:sample_start\":0},{\"core:sample_start\":-5}"), "captures[1]", 100);
    one_notice(CAPTURES("{\"core:sample_start\":0},{\"core:frequency\":1}"), "no core:sample_start", 100);
    one_notice(CAPTURES("{\"core:frequency\":1}"), "taken as the first sample", 100);
    one_notice(CAPTURES("{\"core:sample_start\":0,\"core:frequency\":\"433.92 MHz\"}"), "core:frequency", 100);
    one_notice(CAPTURES("{\"core:sample_start\":0,\"core:datetime\":\"yesterday\"}"), "core:datetime", 100);
    one_notice(CAPTURES("7"), "captures[0]", 100);
    one_notice(GLOBAL("") "\"annotations\":[]}", "no \"captures\"", 100);
    one_notice(GLOBAL(",\"core:trailing_bytes\":900") ONE_CAPTURE, "trailing_bytes", 100);
    one_notice(GLOBAL(",\"core:offset\":5") ONE_CAPTURE, "before core:offset", 100);
    one_notice(GLOBAL("") "\"captures\":[{\"core:sample_start\":0}],"
                          "\"annotations\":[{\"core:sample_start\":90,\"core:sample_count\":11}]}",
               "an annotation reaches to sample 101, the data end at 100", 100);
}

static void test_many_faults_do_not_flood(void **state)
{
    (void)state;
    char meta[20000];
    size_t used = (size_t)snprintf(meta, sizeof meta, GLOBAL("") "\"captures\":[{\"core:sample_start\":0}");
    for (int i = 0; i < 100; i++)
        used += (size_t)snprintf(meta + used, sizeof meta - used, ",{\"core:sample_start\":-1}");
    snprintf(meta + used, sizeof meta - used, "],\"annotations\":[]}");
    source_run run;
    run_pair(&run, meta, 200);
    assert_int_equal(run.notice_count, WH_NOTICES_MAX + 1);
    assert_true(has_notice(&run, WH_ERR_DATA, "and 84 more"));
    run_free(&run);
}

static void note_log(void *context, wh_log_level level, const char *text)
{
    (void)level;
    strncat(context, text, 2000 - strlen(context) - 1);
}

static void test_habits_of_old_versions(void **state)
{
    (void)state;
    char said[2000] = "";
    pair(
        "{\"global\":{\"core:datatype\":\"ci16\",\"core:sample_rate\":1e6,\"core:extensions\":{\"antenna\":\"1.0.0\"}},"
        "\"captures\":[{\"core:sample_start\":0,\"core:time\":\"2017-02-01T11:33:17Z\"}]}",
        200);
    wh_source_options options = options_for(in_folder("r.sigmf-meta"));
    options.log = (wh_log){note_log, said};
    source_run run;
    run_source(&run, &options);
    assert_int_equal(run.notice_count, 0);
    assert_int_equal(run.streams[0].format, WH_IQ_CI16);
    assert_true(run.streams[0].has_time && run.streams[0].start_utc_us == INT64_C(1485948797000000));
    assert_contains(said, "no core:version");
    assert_contains(said, "core:extensions");
    assert_contains(said, "core:time");
    assert_contains(said, "should be \"ci16_le\"");
    run_free(&run);
}

static void refused(const char *meta, wh_status status, const char *text)
{
    source_run run;
    run_pair(&run, meta, 200);
    assert_int_equal(run.open_status, status);
    assert_contains(run.error.what, text);
}

#define TYPE(type)                                                                                                     \
    "{\"global\":{\"core:datatype\":\"" type "\",\"core:sample_rate\":1e6,\"core:version\":\"1.2.0\"}," ONE_CAPTURE

static void test_refused_with_reason(void **state)
{
    (void)state;
    refused("{\"global\": {\n  \"core:datatype\" \"cu8\"}}", WH_ERR_DATA, "r.sigmf-meta: line 2, column 23:");
    refused("{\"global\":{\"core:datatype\":\"cu8\",\"core:datatype\":\"ci8\"}}", WH_ERR_DATA, "duplicate");
    refused("", WH_ERR_DATA, "line 1");
    refused("[]", WH_ERR_FORMAT, "no \"global\"");
    refused("{\"global\":{},\"captures\":[],\"annotations\":[]}", WH_ERR_FORMAT, "core:datatype");
    refused(TYPE("u8"), WH_ERR_FORMAT, "no SigMF datatype");
    refused(TYPE("cu8_xx"), WH_ERR_FORMAT, "no SigMF datatype");
    refused(TYPE("ri16_le"), WH_ERR_UNSUPPORTED, "real samples");
    refused(TYPE("ci16_be"), WH_ERR_UNSUPPORTED, "big-endian");
    refused(TYPE("cf64_le"), WH_ERR_UNSUPPORTED, "cf64_le are not read");
    refused(TYPE("ci32_le"), WH_ERR_UNSUPPORTED, "ci32_le are not read");
    refused(GLOBAL(",\"core:num_channels\":2") ONE_CAPTURE, WH_ERR_UNSUPPORTED, "2 channels");
    refused(GLOBAL(",\"core:num_channels\":0") ONE_CAPTURE, WH_ERR_FORMAT, "core:num_channels");
    refused(GLOBAL(",\"core:metadata_only\":true") ONE_CAPTURE, WH_ERR_UNSUPPORTED, "metadata only");
    refused(GLOBAL(",\"core:dataset\":\"../r.bin\"") ONE_CAPTURE, WH_ERR_FORMAT, "plain name");
    refused(GLOBAL(",\"core:dataset\":\"gone.bin\"") ONE_CAPTURE, WH_ERR_NOT_FOUND, "gone.bin");
    refused("{\"global\":{\"core:datatype\":\"cu8\",\"core:sample_rate\":1e5}," ONE_CAPTURE, WH_ERR_UNSUPPORTED,
            "100000 samples per second");
    refused("{\"global\":{\"core:datatype\":\"cu8\",\"core:sample_rate\":-1}," ONE_CAPTURE, WH_ERR_FORMAT,
            "core:sample_rate");
    write_text("c.sigmf-collection", "{}");
    const wh_source_options options = options_for(in_folder("c.sigmf-collection"));
    source_run run;
    run_source(&run, &options);
    assert_int_equal(run.open_status, WH_ERR_UNSUPPORTED);
}

static void test_missing_rate_may_be_stated(void **state)
{
    (void)state;
    static const char meta[] = "{\"global\":{\"core:datatype\":\"cu8\",\"core:version\":\"1.2.0\"}," ONE_CAPTURE;
    refused(meta, WH_ERR_FORMAT, "do not tell the sample rate");
    wh_source_options options = options_for(in_folder("r.sigmf-meta"));
    options.sample_rate_hz = 2.4e6;
    source_run run;
    run_source(&run, &options);
    assert_int_equal(run.open_status, WH_OK);
    assert_true(run.streams[0].sample_rate_hz == 2.4e6);
    run_free(&run);
}

static void test_data_file_missing_empty_or_odd(void **state)
{
    (void)state;
    source_run run;
    run_pair(&run, GLOBAL("") ONE_CAPTURE, 0);
    assert_int_equal(run.end_status, WH_OK);
    assert_int_equal(run.stream_count, 1);
    assert_int_equal(run.notice_count, 1);
    assert_true(has_notice(&run, WH_ERR_DATA, "holds no samples"));
    run_pair(&run, GLOBAL("") ONE_CAPTURE, 101);
    assert_int_equal(run.byte_count, 100);
    assert_int_equal(run.notice_count, 1);
    assert_true(has_notice(&run, WH_ERR_DATA, "odd length"));
    run_free(&run);
    write_text("alone.sigmf-meta", GLOBAL("") ONE_CAPTURE);
    const wh_source_options options = options_for(in_folder("alone.sigmf-meta"));
    run_source(&run, &options);
    assert_int_equal(run.open_status, WH_ERR_NOT_FOUND);
    assert_contains(run.error.what, "alone.sigmf-data");
}

static void test_times(void **state)
{
    (void)state;
    /* Seconds from GNU date (date -u -d ... +%s). */
    static const struct {
        const char *text;
        int64_t us;
    } good[] = {{"1970-01-01T00:00:00Z", 0},
                {"2000-02-29T12:00:00Z", INT64_C(951825600000000)},
                {"2026-03-02T07:15:04.12035Z", INT64_C(1772435704120350)},
                {"2026-03-02T08:15:04.1203509+01:00", INT64_C(1772435704120350)},
                {"2026-03-02T01:15:04-06:00", INT64_C(1772435704000000)},
                {"2026-03-02 07:15:04", INT64_C(1772435704000000)},
                {"2016-12-31T23:59:60Z", INT64_C(1483228800000000)},
                {"9999-12-31T23:59:59Z", INT64_C(253402300799000000)}};
    static const char *const bad[] = {"",
                                      "2026",
                                      "2026-13-02T07:15:04Z",
                                      "2026-02-29T07:15:04Z",
                                      "2026-03-02T24:15:04Z",
                                      "2026-03-02T07:15:04.Z",
                                      "2026-03-02T07:15:04ZZ",
                                      "1969-12-31T23:59:59Z",
                                      "2026-03-02T07:15:04+1",
                                      "2026-3-2T07:15:04Z",
                                      "2026-03-02T07:15Z"};
    int64_t us;
    for (size_t i = 0; i < sizeof good / sizeof *good; i++) {
        assert_true(wh_datetime_parse(good[i].text, &us));
        assert_true(us == good[i].us);
    }
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        assert_false(wh_datetime_parse(bad[i], &us));
}

int main(int argc, char **argv)
{
    kept_folder = argc > 1 ? argv[1] : NULL;
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_pair_by_any_of_its_names),
        cmocka_unit_test(test_captures_become_stretches),
        cmocka_unit_test(test_offset_headers_and_trailing_bytes),
        cmocka_unit_test(test_samples_before_the_first_capture_are_not_lost),
        cmocka_unit_test(test_hash_is_verified),
        cmocka_unit_test(test_faults_that_can_be_worked_around),
        cmocka_unit_test(test_many_faults_do_not_flood),
        cmocka_unit_test(test_habits_of_old_versions),
        cmocka_unit_test(test_refused_with_reason),
        cmocka_unit_test(test_missing_rate_may_be_stated),
        cmocka_unit_test(test_data_file_missing_empty_or_odd),
        cmocka_unit_test(test_times),
    };
    folder_begin();
    const int failed = cmocka_run_group_tests(tests, NULL, NULL);
    folder_end();
    return failed;
}
