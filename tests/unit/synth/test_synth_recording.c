#include "sha512.h"
#include "synth_recording.h"

#include <jansson.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "../near.h"

#define RATE    250e3
#define SAMPLES 100000

static const wh_radio manchester_fsk = {.modulation = WH_MOD_FSK, .chip_rate_hz = 20e3, .deviation_hz = 40e3};

/* A burst of `count` alternating pairs of chips. */
static wh_recording_burst burst_at(double start_s, double amplitude, double carrier_hz, size_t count)
{
    uint8_t *chips = malloc(count);
    assert_non_null(chips);
    for (size_t i = 0; i < count; i++)
        chips[i] = (uint8_t)(i / 2 + i / 5) & 1;
    const wh_wave_spec spec = {
        .radio = manchester_fsk, .start_s = start_s, .amplitude = amplitude, .carrier_hz = carrier_hz};
    wh_recording_burst burst = {.wave = wh_wave_create(&spec, chips, count), .label = "0A1B2C3D", .comment = "a test"};
    assert_non_null(burst.wave);
    free(chips);
    return burst;
}

static wh_recording_spec quiet(void)
{
    return (wh_recording_spec){.format = WH_IQ_CF32, .sample_rate_hz = RATE, .samples = SAMPLES, .seed = 1};
}

static float *read_all(const wh_recording_spec *spec, const wh_recording_burst *bursts, size_t count, size_t block)
{
    wh_recording *recording = NULL;
    assert_int_equal(wh_recording_create(spec, bursts, count, &recording, NULL), WH_OK);
    float *iq = calloc(2 * spec->samples, sizeof *iq);
    assert_non_null(iq);
    size_t at = 0, got;
    while ((got = wh_recording_read(recording, iq + 2 * at, block)) > 0)
        at += got;
    assert_int_equal(at, spec->samples);
    wh_recording_destroy(&recording);
    return iq;
}

static double mean_power(const float *iq, size_t from, size_t to)
{
    double sum = 0.0;
    for (size_t i = from; i < to; i++)
        sum += (double)iq[2 * i] * (double)iq[2 * i] + (double)iq[2 * i + 1] * (double)iq[2 * i + 1];
    return sum / (double)(to - from);
}

/* The stated signal-to-noise ratio, measured on the samples: noise power per hertz where there is no signal times the chip
 * rate against the further power where there is. 40000 samples of noise: 0.5 % standard error, 0.02 dB. */
static void test_snr(void **state)
{
    (void)state;
    static const double wanted_db[] = {3.0, 12.0, 25.0};
    for (size_t i = 0; i < 3; i++) {
        wh_recording_spec spec = quiet();
        spec.noise_power = 1e-3;
        const double amplitude = wh_snr_amplitude(wanted_db[i], 20e3, spec.noise_power, RATE);
        wh_recording_burst burst = burst_at(0.2, amplitude, 5e3, 3200); /* samples 50000 to 90000 */
        float *iq = read_all(&spec, &burst, 1, 5000);
        const double noise = mean_power(iq, 0, 50000);
        const double signal = mean_power(iq, 50000, 90000) - noise;
        const double snr_db = 10.0 * log10(signal / (noise / RATE * 20e3));
        assert_near(noise, 1e-3, 2e-5);
        assert_near(snr_db, wanted_db[i], 0.15);
        free(iq);
        wh_wave_destroy(&burst.wave);
    }
}

/* White: neighbouring samples, I and Q, and the two halves are not correlated (standard error 1 / sqrt(n)). */
static void test_noise_is_white(void **state)
{
    (void)state;
    wh_recording_spec spec = quiet();
    spec.noise_power = 2.0;
    float *iq = read_all(&spec, NULL, 0, SAMPLES);
    double lag = 0.0, cross = 0.0, mean = 0.0;
    for (size_t i = 0; i + 1 < SAMPLES; i++) {
        lag += (double)iq[2 * i] * (double)iq[2 * i + 2];
        cross += (double)iq[2 * i] * (double)iq[2 * i + 1];
        mean += (double)iq[2 * i];
    }
    const double limit = 5.0 * sqrt((double)SAMPLES);
    assert_true(fabs(lag) < limit);
    assert_true(fabs(cross) < limit);
    assert_true(fabs(mean) < limit);
    free(iq);
}

static void test_same_seed_same_bytes(void **state)
{
    (void)state;
    wh_recording_spec spec = quiet();
    spec.noise_power = 1e-2;
    wh_recording_burst burst = burst_at(0.1, 0.3, 5e3, 200);
    float *whole = read_all(&spec, &burst, 1, SAMPLES);
    float *pieces = read_all(&spec, &burst, 1, 777);
    assert_memory_equal(whole, pieces, 2 * SAMPLES * sizeof *whole);
    free(pieces);
    spec.seed = 2;
    float *other = read_all(&spec, &burst, 1, SAMPLES);
    assert_memory_not_equal(whole, other, 2 * SAMPLES * sizeof *whole);
    free(other);
    free(whole);
    wh_wave_destroy(&burst.wave);
}

/* DC offset is the mean; a steady carrier turns by its frequency from sample to sample. */
static void test_dc_and_carrier(void **state)
{
    (void)state;
    wh_recording_spec spec = quiet();
    spec.dc_i = 0.05;
    spec.dc_q = -0.02;
    spec.carrier_amplitude = 0.25;
    spec.carrier_hz = 10e3; /* 25 samples a turn */
    float *iq = read_all(&spec, NULL, 0, 1000);
    double mean_i = 0.0, mean_q = 0.0;
    for (size_t i = 0; i < SAMPLES; i++) {
        mean_i += (double)iq[2 * i] / SAMPLES;
        mean_q += (double)iq[2 * i + 1] / SAMPLES;
    }
    assert_near(mean_i, 0.05, 1e-6);
    assert_near(mean_q, -0.02, 1e-6);
    for (size_t i = 0; i < SAMPLES; i += 25) {
        assert_near((double)iq[2 * i], 0.30, 1e-5);
        assert_near((double)iq[2 * i + 1], -0.02, 1e-5);
    }
    free(iq);
}

/* Native formats by hand: cu8 has its zero between 127 and 128, the others are two's complement or plain floats. */
static void test_native_formats(void **state)
{
    (void)state;
    const float iq[] = {0.5f, -0.5f, 1.0f, -1.0f, 1.5f, 0.0f};
    uint8_t bytes[24];
    assert_int_equal(wh_iq_from_float(WH_IQ_CU8, iq, 3, bytes), 1);
    assert_memory_equal(bytes, ((uint8_t[]){191, 64, 255, 0, 255, 128}), 6); /* 127.5 + 63.75 = 191.25, 63.75 */
    assert_int_equal(wh_iq_from_float(WH_IQ_CI8, iq, 3, bytes), 2);
    assert_memory_equal(bytes, ((uint8_t[]){64, 192, 127, 128, 127, 0}), 6);
    assert_int_equal(wh_iq_from_float(WH_IQ_CI16, iq, 3, bytes), 2);
    assert_memory_equal(bytes, ((uint8_t[]){0x00, 0x40, 0x00, 0xC0, 0xFF, 0x7F, 0x00, 0x80, 0xFF, 0x7F, 0, 0}), 12);
    assert_int_equal(wh_iq_from_float(WH_IQ_CF32, iq, 3, bytes), 0);
    assert_memory_equal(bytes, iq, 24);
    const float broken[] = {NAN, 0.0f};
    assert_int_equal(wh_iq_from_float(WH_IQ_CU8, broken, 1, bytes), 0);
    /* And back, to within half a step. */
    for (int f = 0; f < WH_IQ_FORMAT_COUNT; f++) {
        const float step[] = {1.0f / 127.5f, 1.0f / 128.0f, 1.0f / 32768.0f, 0.0f};
        float in[200], out[200];
        uint8_t native[800];
        for (int i = 0; i < 200; i++)
            in[i] = (float)(i - 100) / 101.0f;
        wh_iq_from_float((wh_iq_format)f, in, 100, native);
        wh_iq_to_float((wh_iq_format)f, native, 100, out);
        for (int i = 0; i < 200; i++)
            assert_true(fabsf(in[i] - out[i]) <= 0.5f * step[f] + 1e-6f);
    }
}

static json_t *load_meta(const char *base)
{
    char path[128];
    snprintf(path, sizeof path, "%s.sigmf-meta", base);
    json_error_t problem;
    json_t *meta = json_load_file(path, JSON_REJECT_DUPLICATES, &problem);
    if (!meta)
        fail_msg("%s: %s", path, problem.text);
    remove(path);
    return meta;
}

static uint8_t *load_data(const char *base, size_t size)
{
    char path[128];
    snprintf(path, sizeof path, "%s.sigmf-data", base);
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    uint8_t *data = malloc(size + 1);
    assert_non_null(data);
    assert_int_equal(fread(data, 1, size + 1, file), size);
    fclose(file);
    remove(path);
    return data;
}

static void make_base(char *base, size_t size)
{
    char folder[] = "/tmp/wheelhark-test-XXXXXX";
    assert_non_null(mkdtemp(folder));
    snprintf(base, size, "%s/rec", folder);
}

static void remove_folder(char *base)
{
    *strrchr(base, '/') = '\0';
    assert_int_equal(rmdir(base), 0);
}

/* SigMF 1.2: global needs core:datatype and core:version, captures and annotations core:sample_start in rising order.
 * The annotation is where the burst is: silence up to its first sample, none within, silence after it. */
static void test_sigmf_pair(void **state)
{
    (void)state;
    char base[64];
    make_base(base, sizeof base);
    wh_recording_spec spec = quiet();
    spec.samples = 50000;
    spec.centre_hz = 433.92e6;
    spec.has_time = true;
    spec.start_utc_us = INT64_C(1772435704120350); /* 2026-03-02 07:15:04.12035 UTC by date -d @1772435704 */
    /* The later one first: annotations are sorted. The last is outside of the recording. */
    wh_recording_burst bursts[] = {burst_at(0.1000013, 0.5, -20e3, 100), burst_at(0.02, 0.5, 5e3, 200),
                                   burst_at(5.0, 0.5, 0.0, 10)};
    assert_int_equal(wh_recording_write(&spec, bursts, 3, base, NULL, NULL), WH_OK);
    json_t *meta = load_meta(base);
    json_t *global = json_object_get(meta, "global");
    assert_string_equal(json_string_value(json_object_get(global, "core:datatype")), "cf32_le");
    assert_string_equal(json_string_value(json_object_get(global, "core:version")), "1.2.0");
    assert_near(json_real_value(json_object_get(global, "core:sample_rate")), RATE, 0.0);
    json_t *capture = json_array_get(json_object_get(meta, "captures"), 0);
    assert_int_equal(json_integer_value(json_object_get(capture, "core:sample_start")), 0);
    assert_true(json_real_value(json_object_get(capture, "core:frequency")) == 433.92e6);
    assert_string_equal(json_string_value(json_object_get(capture, "core:datetime")), "2026-03-02T07:15:04.120350Z");

    uint8_t *data = load_data(base, 50000 * 8);
    char hex[WH_SHA512_HEX_SIZE];
    wh_sha512 hash;
    wh_sha512_init(&hash);
    wh_sha512_update(&hash, data, 50000 * 8);
    wh_sha512_hex(&hash, hex);
    assert_string_equal(json_string_value(json_object_get(global, "core:sha512")), hex);

    json_t *annotations = json_object_get(meta, "annotations");
    assert_int_equal(json_array_size(annotations), 2);
    static const struct {
        json_int_t start, count;
        double low, high;
    } expected[] = {{5000, 2500, 433.865e6, 433.985e6}, {25000, 1251, 433.84e6, 433.96e6}};
    float *iq = calloc(100000, sizeof *iq);
    assert_non_null(iq);
    memcpy(iq, data, 50000 * 8);
    for (size_t i = 0; i < 2; i++) {
        json_t *a = json_array_get(annotations, i);
        assert_int_equal(json_integer_value(json_object_get(a, "core:sample_start")), expected[i].start);
        assert_int_equal(json_integer_value(json_object_get(a, "core:sample_count")), expected[i].count);
        assert_near(json_real_value(json_object_get(a, "core:freq_lower_edge")), expected[i].low, 1e-3);
        assert_near(json_real_value(json_object_get(a, "core:freq_upper_edge")), expected[i].high, 1e-3);
        assert_string_equal(json_string_value(json_object_get(a, "core:label")), "0A1B2C3D");
        assert_true(json_is_string(json_object_get(a, "core:generator")));
        const size_t first = (size_t)expected[i].start, end = first + (size_t)expected[i].count;
        assert_true(mean_power(iq, first - 100, first) == 0.0);
        assert_near(mean_power(iq, first + 1, end - 1), 0.25, 1e-5);
        assert_true(mean_power(iq, end, end + 100) == 0.0);
    }
    json_decref(meta);
    free(iq);
    free(data);
    for (size_t i = 0; i < 3; i++)
        wh_wave_destroy(&bursts[i].wave);
    remove_folder(base);
}

/* Neither centre nor time are made up when they are not known. */
static void test_unknown_is_absent(void **state)
{
    (void)state;
    char base[64];
    make_base(base, sizeof base);
    wh_recording_spec spec = quiet();
    spec.format = WH_IQ_CU8;
    spec.samples = 10;
    spec.dc_i = 2.0;
    uint64_t clipped = 0;
    assert_int_equal(wh_recording_write(&spec, NULL, 0, base, &clipped, NULL), WH_OK);
    assert_int_equal(clipped, 10);
    json_t *meta = load_meta(base);
    json_t *capture = json_array_get(json_object_get(meta, "captures"), 0);
    assert_null(json_object_get(capture, "core:frequency"));
    assert_null(json_object_get(capture, "core:datetime"));
    assert_int_equal(json_array_size(json_object_get(meta, "annotations")), 0);
    json_decref(meta);
    free(load_data(base, 20));
    remove_folder(base);
}

static void test_failures(void **state)
{
    (void)state;
    wh_recording_spec spec = quiet();
    wh_error error = {0};
    assert_int_equal(wh_recording_write(&spec, NULL, 0, "/nonexistent-folder/rec", NULL, &error), WH_ERR_IO);
    assert_non_null(strstr(error.what, "/nonexistent-folder/rec.sigmf-data"));
    assert_true(error.fix[0]);
    wh_recording *recording = NULL;
    spec.sample_rate_hz = 100e3;
    assert_int_equal(wh_recording_create(&spec, NULL, 0, &recording, &error), WH_ERR_LIMIT);
    assert_null(recording);
    spec = quiet();
    spec.noise_power = NAN;
    assert_int_equal(wh_recording_create(&spec, NULL, 0, &recording, &error), WH_ERR_ARGUMENT);
    /* The metadata cannot be written: the samples do not stay behind either. */
    char base[64], blocked[96], data[96];
    make_base(base, sizeof base);
    snprintf(blocked, sizeof blocked, "%s.sigmf-meta", base);
    snprintf(data, sizeof data, "%s.sigmf-data", base);
    assert_int_equal(mkdir(blocked, 0700), 0);
    spec = quiet();
    assert_int_equal(wh_recording_write(&spec, NULL, 0, base, NULL, &error), WH_ERR_IO);
    assert_int_not_equal(access(data, F_OK), 0);
    rmdir(blocked);
    remove_folder(base);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_snr),
        cmocka_unit_test(test_noise_is_white),
        cmocka_unit_test(test_same_seed_same_bytes),
        cmocka_unit_test(test_dc_and_carrier),
        cmocka_unit_test(test_native_formats),
        cmocka_unit_test(test_sigmf_pair),
        cmocka_unit_test(test_unknown_is_absent),
        cmocka_unit_test(test_failures),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
