/* Recordings as SigMF pairs. */
#include "sha512.h"
#include "synth_recording.h"

#include <errno.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define BLOCK_SAMPLES 65536
#define SIGMF_VERSION "1.2.0"
#define GENERATOR     "wheelhark synth"

static wh_status io_failure(const char *path, wh_error *error)
{
    return wh_fail(error, WH_ERR_IO, "check the folder, its permissions and the free space", "%s: %s", path,
                   strerror(errno));
}

/* Write all samples; *hex becomes the hash of the file. */
static wh_status write_data(wh_recording *recording, wh_iq_format format, const char *path,
                            char hex[WH_SHA512_HEX_SIZE], wh_error *error)
{
    void *block = malloc(BLOCK_SAMPLES * wh_iq_bytes(format));
    if (!block)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "no memory for a block of samples");
    FILE *file = fopen(path, "wb");
    if (!file) {
        free(block);
        return io_failure(path, error);
    }
    wh_sha512 hash;
    wh_sha512_init(&hash);
    bool good = true;
    size_t count;
    while (good && (count = wh_recording_read_native(recording, block, BLOCK_SAMPLES)) > 0) {
        const size_t bytes = count * wh_iq_bytes(format);
        wh_sha512_update(&hash, block, bytes);
        good = fwrite(block, 1, bytes, file) == bytes;
    }
    free(block);
    wh_sha512_hex(&hash, hex);
    const int kept = errno;
    if (fclose(file) == 0 && good)
        return WH_OK;
    errno = good ? errno : kept;
    return io_failure(path, error);
}

/* "2026-03-02T07:15:04.120350Z" */
static void format_time(int64_t utc_us, char *text, size_t size)
{
    int64_t seconds = utc_us / 1000000, micro = utc_us % 1000000;
    if (micro < 0) {
        micro += 1000000;
        seconds--;
    }
    const time_t clock = (time_t)seconds;
    struct tm parts = {0};
    gmtime_r(&clock, &parts);
    char date[40];
    strftime(date, sizeof date, "%Y-%m-%dT%H:%M:%S", &parts);
    snprintf(text, size, "%s.%06dZ", date, (int)micro);
}

static json_t *global_object(const wh_recording_spec *spec, const char *hex)
{
    json_t *global = json_pack("{s:s, s:s, s:f, s:s, s:s}", "core:datatype", wh_iq_format_name(spec->format),
                               "core:version", SIGMF_VERSION, "core:sample_rate", spec->sample_rate_hz, "core:sha512",
                               hex, "core:recorder", GENERATOR);
    if (spec->description)
        json_object_set_new(global, "core:description", json_string(spec->description));
    return global;
}

static json_t *capture_object(const wh_recording_spec *spec)
{
    json_t *capture = json_pack("{s:i}", "core:sample_start", 0);
    if (spec->centre_hz > 0.0)
        json_object_set_new(capture, "core:frequency", json_real(spec->centre_hz));
    if (spec->has_time) {
        char text[64];
        format_time(spec->start_utc_us, text, sizeof text);
        json_object_set_new(capture, "core:datetime", json_string(text));
    }
    return capture;
}

/* The burst's place in time and its band: the tones and the main lobes around them. */
static json_t *annotation_object(const wh_recording_spec *spec, const wh_recording_burst *burst)
{
    double begin_s, end_s, low_hz, high_hz;
    wh_wave_span(burst->wave, &begin_s, &end_s);
    wh_wave_band(burst->wave, &low_hz, &high_hz);
    const double first = fmax(floor(begin_s * spec->sample_rate_hz), 0.0);
    const double end = fmin(ceil(end_s * spec->sample_rate_hz), (double)spec->samples);
    if (end <= first)
        return NULL; /* outside of the recording */
    return json_pack("{s:I, s:I, s:f, s:f, s:s, s:s, s:s}", "core:sample_start", (json_int_t)first, "core:sample_count",
                     (json_int_t)(end - first), "core:freq_lower_edge", spec->centre_hz + low_hz,
                     "core:freq_upper_edge", spec->centre_hz + high_hz, "core:label", burst->label, "core:comment",
                     burst->comment, "core:generator", GENERATOR);
}

static int by_start(const void *a, const void *b)
{
    const json_int_t x = json_integer_value(json_object_get(*(json_t *const *)a, "core:sample_start"));
    const json_int_t y = json_integer_value(json_object_get(*(json_t *const *)b, "core:sample_start"));
    return (x > y) - (x < y);
}

/* One annotation per burst, in order of their starts as SigMF demands; NULL when memory is out. */
static json_t *annotation_array(const wh_recording_spec *spec, const wh_recording_burst *bursts, size_t burst_count)
{
    json_t *array = json_array(), **sorted = calloc(burst_count + 1, sizeof(json_t *));
    size_t count = 0;
    for (size_t i = 0; sorted && i < burst_count; i++) {
        sorted[count] = annotation_object(spec, &bursts[i]);
        count += sorted[count] != NULL;
    }
    if (sorted)
        qsort(sorted, count, sizeof *sorted, by_start);
    for (size_t i = 0; i < count; i++)
        json_array_append_new(array, sorted[i]);
    if (!sorted) {
        json_decref(array);
        array = NULL;
    }
    free(sorted);
    return array;
}

static wh_status write_meta(const wh_recording_spec *spec, const wh_recording_burst *bursts, size_t burst_count,
                            const char *hex, const char *path, wh_error *error)
{
    json_t *meta = json_pack("{s:o, s:[o], s:o}", "global", global_object(spec, hex), "captures", capture_object(spec),
                             "annotations", annotation_array(spec, bursts, burst_count));
    if (!meta)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "no memory for the metadata of a recording");
    FILE *file = fopen(path, "wb");
    /* 15 digits hold every frequency to well below 1 mHz and print 0.1 as 0.1. */
    bool good = file && json_dumpf(meta, file, JSON_INDENT(2) | JSON_REAL_PRECISION(15)) == 0;
    good = good && fputc('\n', file) != EOF;
    json_decref(meta);
    const int kept = errno;
    if (file && fclose(file) == 0 && good)
        return WH_OK;
    errno = good ? errno : kept;
    return io_failure(path, error);
}

wh_status wh_recording_write(const wh_recording_spec *spec, const wh_recording_burst *bursts, size_t burst_count,
                             const char *base, uint64_t *clipped, wh_error *error)
{
    const size_t size = strlen(base) + sizeof ".sigmf-data";
    char *data_path = malloc(size), *meta_path = malloc(size);
    wh_recording *recording = NULL;
    wh_status status = data_path && meta_path ? wh_recording_create(spec, bursts, burst_count, &recording, error)
                                              : wh_fail(error, WH_ERR_MEMORY, NULL, "no memory for a file name");
    if (status == WH_OK) {
        snprintf(data_path, size, "%s.sigmf-data", base);
        snprintf(meta_path, size, "%s.sigmf-meta", base);
        char hex[WH_SHA512_HEX_SIZE];
        status = write_data(recording, spec->format, data_path, hex, error);
        if (clipped)
            *clipped = wh_recording_clipped(recording);
        if (status == WH_OK)
            status = write_meta(spec, bursts, burst_count, hex, meta_path, error);
        if (status != WH_OK) {
            remove(data_path);
            remove(meta_path);
        }
    }
    wh_recording_destroy(&recording);
    free(data_path);
    free(meta_path);
    return status;
}
