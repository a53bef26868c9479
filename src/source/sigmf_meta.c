#include "sigmf_meta.h"

#include "datetime.h"

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct meta_parser {
    const char *name;
    const wh_log *log;
    wh_sigmf_meta *meta;
    wh_notices *notices;
    wh_error *error;
    uint64_t offset; /* core:offset */
} meta_parser;

static wh_status malformed(const meta_parser *parser, const char *what)
{
    return wh_fail(parser->error, WH_ERR_FORMAT, "see the SigMF specification, section \"global object\"", "%s: %s",
                   parser->name, what);
}

/* A whole number of 0 or more. Missing: *value stays. False (with *there true) when it is anything else. */
static bool whole(const json_t *object, const char *key, uint64_t *value, bool *there)
{
    const json_t *item = json_object_get(object, key);
    *there = item != NULL;
    if (!item)
        return true;
    if (!json_is_integer(item) || json_integer_value(item) < 0)
        return false;
    *value = (uint64_t)json_integer_value(item);
    return true;
}

static wh_status parse_datatype(meta_parser *parser, const json_t *global)
{
    const char *text = json_string_value(json_object_get(global, "core:datatype"));
    if (!text)
        return malformed(parser, "global has no core:datatype, so the samples cannot be read");
    bool tolerated = false;
    const wh_status status =
        wh_sigmf_datatype_parse(text, &parser->meta->format, &tolerated, parser->name, parser->error);
    if (status == WH_OK && tolerated)
        wh_log_print(parser->log, WH_LOG_WARNING, "%s: core:datatype \"%s\" should be \"%s\"", parser->name, text,
                     wh_iq_format_name(parser->meta->format));
    return status;
}

static wh_status parse_shape(meta_parser *parser, const json_t *global)
{
    uint64_t channels = 1;
    bool there;
    if (!whole(global, "core:num_channels", &channels, &there) || channels == 0)
        return malformed(parser, "core:num_channels must be a whole number from 1");
    if (channels != 1)
        return wh_fail(parser->error, WH_ERR_UNSUPPORTED, "split the recording into one file per channel",
                       "%s: %llu channels in one file; one is read", parser->name, (unsigned long long)channels);
    if (json_is_true(json_object_get(global, "core:metadata_only")))
        return wh_fail(parser->error, WH_ERR_UNSUPPORTED, "ask its author for the samples",
                       "%s: holds metadata only, no samples belong to it", parser->name);
    if (!whole(global, "core:trailing_bytes", &parser->meta->trailing_bytes, &there))
        return malformed(parser, "core:trailing_bytes must be a whole number");
    if (!whole(global, "core:offset", &parser->offset, &there))
        return malformed(parser, "core:offset must be a whole number");
    return WH_OK;
}

static wh_status parse_rate(meta_parser *parser, const json_t *global)
{
    const json_t *rate = json_object_get(global, "core:sample_rate");
    parser->meta->sample_rate_hz = (double)NAN;
    if (!rate)
        return WH_OK;
    if (!json_is_number(rate) || json_number_value(rate) <= 0)
        return malformed(parser, "core:sample_rate must be a number above 0");
    parser->meta->sample_rate_hz = json_number_value(rate);
    return WH_OK;
}

/* The name of a file beside the metadata: anything with a folder in it would reach elsewhere. */
static wh_status parse_dataset(meta_parser *parser, const json_t *global)
{
    const json_t *dataset = json_object_get(global, "core:dataset");
    if (!dataset)
        return WH_OK;
    const char *text = json_string_value(dataset);
    if (!text || text[0] == '\0' || strchr(text, '/') || strcmp(text, "..") == 0 || strcmp(text, ".") == 0 ||
        strlen(text) >= sizeof parser->meta->dataset)
        return malformed(parser, "core:dataset must be the plain name of a file in the same folder");
    snprintf(parser->meta->dataset, sizeof parser->meta->dataset, "%s", text);
    return WH_OK;
}

static void parse_hash(meta_parser *parser, const json_t *global)
{
    const json_t *item = json_object_get(global, "core:sha512");
    if (!item)
        return;
    const char *text = json_string_value(item);
    size_t length = 0;
    while (text && length < 128 && strchr("0123456789abcdefABCDEF", text[length]) && text[length]) {
        const char digit = text[length];
        parser->meta->sha512[length++] = (char)(digit >= 'A' && digit <= 'F' ? digit - 'A' + 'a' : digit);
    }
    parser->meta->has_sha512 = length == 128 && text[128] == '\0';
    if (!parser->meta->has_sha512)
        wh_notices_add(parser->notices, WH_ERR_DATA, "write the hash anew",
                       "%s: core:sha512 is not 128 hex digits; the samples are not verified", parser->name);
}

static void note_old_habits(const meta_parser *parser, const json_t *global)
{
    if (!json_is_string(json_object_get(global, "core:version")))
        wh_log_print(parser->log, WH_LOG_WARNING, "%s: no core:version; read as SigMF 1.x", parser->name);
    if (json_is_object(json_object_get(global, "core:extensions")))
        wh_log_print(parser->log, WH_LOG_WARNING, "%s: core:extensions in the way of SigMF 0.0.x", parser->name);
}

static wh_status parse_global(meta_parser *parser, const json_t *root)
{
    const json_t *global = json_object_get(root, "global");
    if (!json_is_object(global))
        return malformed(parser, "no \"global\" object: not SigMF metadata");
    note_old_habits(parser, global);
    wh_status status = parse_datatype(parser, global);
    if (status == WH_OK)
        status = parse_shape(parser, global);
    if (status == WH_OK)
        status = parse_rate(parser, global);
    if (status == WH_OK)
        status = parse_dataset(parser, global);
    if (status == WH_OK)
        parse_hash(parser, global);
    return status;
}

static void capture_notice(const meta_parser *parser, size_t index, const char *what)
{
    wh_notices_add(parser->notices, WH_ERR_DATA, "correct the metadata", "%s: captures[%zu]: %s", parser->name, index,
                   what);
}

static void parse_capture_time(const meta_parser *parser, const json_t *item, size_t index, wh_sigmf_capture *capture)
{
    const json_t *time = json_object_get(item, "core:datetime");
    if (!time && (time = json_object_get(item, "core:time")) != NULL)
        wh_log_print(parser->log, WH_LOG_WARNING, "%s: captures[%zu]: core:time in the way of SigMF 0.0.1",
                     parser->name, index);
    if (!time)
        return;
    capture->has_time = json_is_string(time) && wh_datetime_parse(json_string_value(time), &capture->utc_us);
    if (!capture->has_time)
        capture_notice(parser, index, "core:datetime is not a time like 2026-03-02T07:15:04.120350Z; left out");
}

static bool parse_capture(const meta_parser *parser, const json_t *item, size_t index, wh_sigmf_capture *capture)
{
    *capture = (wh_sigmf_capture){.frequency_hz = (double)NAN};
    bool there = false;
    uint64_t start = parser->offset;
    if (!json_is_object(item) || !whole(item, "core:sample_start", &start, &there)) {
        capture_notice(parser, index, "core:sample_start is not a whole number from 0; the entry is left out");
        return false;
    }
    if (!there && index > 0) {
        capture_notice(parser, index, "no core:sample_start; the entry is left out");
        return false;
    }
    if (!there)
        capture_notice(parser, index, "no core:sample_start; taken as the first sample");
    if (start < parser->offset) {
        capture_notice(parser, index, "begins before core:offset; taken as the first sample");
        start = parser->offset;
    }
    capture->sample_start = start - parser->offset;
    if (!whole(item, "core:global_index", &capture->index, &there) || !there)
        capture->index = UINT64_MAX; /* not said */
    if (!whole(item, "core:header_bytes", &capture->header_bytes, &there))
        capture_notice(parser, index, "core:header_bytes is not a whole number; taken as 0");
    const json_t *frequency = json_object_get(item, "core:frequency");
    if (json_is_number(frequency) && fabs(json_number_value(frequency)) <= 1e12)
        capture->frequency_hz = json_number_value(frequency);
    else if (frequency)
        capture_notice(parser, index, "core:frequency is not a number up to 1e12 Hz; left out");
    parse_capture_time(parser, item, index, capture);
    return true;
}

static int by_start(const void *a, const void *b)
{
    const wh_sigmf_capture *left = a, *right = b;
    return (left->sample_start > right->sample_start) - (left->sample_start < right->sample_start);
}

static void sort_captures(const meta_parser *parser)
{
    wh_sigmf_meta *meta = parser->meta;
    bool sorted = true;
    for (size_t i = 1; i < meta->capture_count; i++)
        sorted = sorted && meta->captures[i - 1].sample_start <= meta->captures[i].sample_start;
    if (!sorted) {
        qsort(meta->captures, meta->capture_count, sizeof *meta->captures, by_start);
        wh_notices_add(parser->notices, WH_ERR_DATA, "correct the metadata",
                       "%s: captures are not in order of core:sample_start; sorted", parser->name);
    }
    size_t kept = 0;
    for (size_t i = 0; i < meta->capture_count; i++) {
        if (kept > 0 && meta->captures[kept - 1].sample_start == meta->captures[i].sample_start) {
            wh_notices_add(parser->notices, WH_ERR_DATA, "correct the metadata",
                           "%s: two captures begin at sample %llu; the first of them is used", parser->name,
                           (unsigned long long)meta->captures[i].sample_start);
            continue;
        }
        meta->captures[kept++] = meta->captures[i];
    }
    meta->capture_count = kept;
}

/* Samples left out between captures count for the time: the indices are used when every capture has one, and none says that samples
 * were taken twice. */
static void settle_indices(wh_sigmf_meta *meta)
{
    const uint64_t first = meta->capture_count ? meta->captures[0].index : 0;
    bool good = first <= UINT64_MAX / 2;
    for (size_t i = 1; good && i < meta->capture_count; i++) {
        const wh_sigmf_capture *before = &meta->captures[i - 1], *now = &meta->captures[i];
        good = now->index <= UINT64_MAX / 2 && now->index >= before->index &&
               now->index - before->index >= now->sample_start - before->sample_start;
    }
    const uint64_t start = meta->capture_count ? meta->captures[0].sample_start : 0;
    for (size_t i = 0; i < meta->capture_count; i++)
        meta->captures[i].index = good ? meta->captures[i].index - first + start : meta->captures[i].sample_start;
}

static wh_status parse_captures(meta_parser *parser, const json_t *root)
{
    wh_sigmf_meta *meta = parser->meta;
    const json_t *list = json_object_get(root, "captures");
    if (!json_is_array(list)) {
        wh_notices_add(parser->notices, WH_ERR_DATA, "correct the metadata",
                       "%s: no \"captures\" array; frequency and time are unknown", parser->name);
        return WH_OK;
    }
    const size_t count = json_array_size(list);
    if (count > WH_SIGMF_CAPTURES_MAX)
        return wh_fail(parser->error, WH_ERR_LIMIT, "split the recording", "%s: %zu captures; at most %d are read",
                       parser->name, count, WH_SIGMF_CAPTURES_MAX);
    meta->captures = calloc(count ? count : 1, sizeof *meta->captures);
    if (!meta->captures)
        return wh_fail(parser->error, WH_ERR_MEMORY, NULL, "%s: out of memory", parser->name);
    for (size_t i = 0; i < count; i++)
        meta->capture_count += parse_capture(parser, json_array_get(list, i), i, &meta->captures[meta->capture_count]);
    sort_captures(parser);
    settle_indices(parser->meta);
    return WH_OK;
}

/* Annotations tell where somebody saw a signal. For us they only witness how long the file once was. */
static void parse_annotations(const meta_parser *parser, const json_t *root)
{
    const json_t *list = json_object_get(root, "annotations");
    if (!json_is_array(list))
        wh_log_print(parser->log, WH_LOG_WARNING, "%s: no \"annotations\" array", parser->name);
    const size_t count = json_array_size(list);
    for (size_t i = 0; i < count; i++) {
        uint64_t start = 0, length = 0;
        bool has_start, has_length;
        const json_t *item = json_array_get(list, i);
        if (!whole(item, "core:sample_start", &start, &has_start) || !has_start || start < parser->offset ||
            !whole(item, "core:sample_count", &length, &has_length))
            continue;
        const uint64_t end = start - parser->offset + length; /* both below 2^63 */
        if (end > parser->meta->annotated_end)
            parser->meta->annotated_end = end;
    }
}

wh_status wh_sigmf_meta_parse(const char *text, size_t length, const char *name, const wh_log *log, wh_sigmf_meta *meta,
                              wh_notices *notices, wh_error *error)
{
    *meta = (wh_sigmf_meta){.sample_rate_hz = (double)NAN};
    meta_parser parser = {.name = name, .log = log, .meta = meta, .notices = notices, .error = error};
    if (length > WH_SIGMF_META_LIMIT)
        return wh_fail(error, WH_ERR_LIMIT, NULL, "%s: metadata of more than %zu MiB", name, WH_SIGMF_META_LIMIT >> 20);
    if (length >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0) { /* a byte order mark of some editors */
        text += 3;
        length -= 3;
    }
    json_error_t fault;
    json_t *root = json_loadb(text, length, JSON_REJECT_DUPLICATES, &fault);
    if (!root)
        return wh_fail(error, WH_ERR_DATA, "correct the JSON at that place", "%s: line %d, column %d: %s", name,
                       fault.line, fault.column, fault.text);
    wh_status status = parse_global(&parser, root);
    if (status == WH_OK)
        status = parse_captures(&parser, root);
    if (status == WH_OK)
        parse_annotations(&parser, root);
    json_decref(root);
    if (status != WH_OK)
        wh_sigmf_meta_free(meta);
    return status;
}

void wh_sigmf_meta_free(wh_sigmf_meta *meta)
{
    free(meta->captures);
    meta->captures = NULL;
    meta->capture_count = 0;
}
