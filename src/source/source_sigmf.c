#include "file_source.h"
#include "name_stream.h"
#include "sigmf_archive.h"
#include "sigmf_meta.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define META       ".sigmf-meta"
#define DATA       ".sigmf-data"
#define ARCHIVE    ".sigmf"
#define COLLECTION ".sigmf-collection"

static bool fits(int written, size_t room)
{
    return written >= 0 && (size_t)written < room;
}

/* "x.sigmf-data" and "x" -> "x.sigmf-meta" */
static bool meta_path(const char *target, char *path, size_t room)
{
    const size_t length = strlen(target);
    const size_t stem = wh_has_suffix(target, DATA) || wh_has_suffix(target, META) ? length - strlen(META) : length;
    return fits(snprintf(path, room, "%.*s" META, (int)stem, target), room);
}

static bool accepts(const wh_source_options *options)
{
    const char *target = options->target;
    if (wh_has_suffix(target, META) || wh_has_suffix(target, DATA) || wh_has_suffix(target, ARCHIVE) ||
        wh_has_suffix(target, COLLECTION))
        return true;
    char path[4096];
    return !wh_path_exists(target) && meta_path(target, path, sizeof path) && wh_path_exists(path);
}

/* Where the samples of a capture end in the file, and what the stretch is called. */
static void fill_stretch(const wh_source_options *options, const wh_sigmf_meta *meta, const char *path,
                         const wh_sigmf_capture *capture, wh_stretch *stretch)
{
    stretch->stream = wh_stream_from_options(options, path);
    stretch->stream.format = meta->format;
    if (!isnan(meta->sample_rate_hz))
        stretch->stream.sample_rate_hz = meta->sample_rate_hz;
    if (!capture)
        return;
    if (!isnan(capture->frequency_hz))
        stretch->stream.centre_hz = capture->frequency_hz;
    stretch->stream.start_s = (double)capture->index / stretch->stream.sample_rate_hz;
    stretch->stream.has_time = capture->has_time;
    stretch->stream.start_utc_us = capture->utc_us;
    stretch->skip = capture->header_bytes;
}

/* Divide the data among the captures. A capture ends where the next one begins, the last one with the data.
 * Samples before the first capture belong to none; they are delivered all the same, with frequency and time
 * unknown. `size` is the number of bytes before the trailing ones. */
static void divide(const wh_source_options *options, const wh_sigmf_meta *meta, const char *path, uint64_t size,
                   wh_file_plan *plan)
{
    const uint64_t unit = wh_iq_bytes(meta->format);
    uint64_t at = 0; /* byte of the file where the next stretch may begin */
    uint64_t sample = 0;
    if (meta->capture_count == 0 || meta->captures[0].sample_start > 0)
        fill_stretch(options, meta, path, NULL, &plan->stretches[plan->count++]);
    for (size_t i = 0; i < meta->capture_count; i++) {
        const wh_sigmf_capture *capture = &meta->captures[i];
        const uint64_t samples = capture->sample_start - sample; /* of the stretch before */
        /* Headers first, then compare by subtraction: the numbers come from outside and must not overflow. */
        const uint64_t room = size - at;
        if (samples > room / unit || capture->header_bytes > room - samples * unit ||
            (plan->count > 0 && samples * unit + capture->header_bytes == room)) {
            wh_notices_add(&plan->notices, WH_ERR_DATA, "the data are cut short, or belong to other metadata",
                           "%s: a capture begins at sample %" PRIu64 ", beyond the end of the data", path,
                           capture->sample_start);
            break;
        }
        if (plan->count > 0)
            plan->stretches[plan->count - 1].bytes = samples * unit;
        fill_stretch(options, meta, path, capture, &plan->stretches[plan->count++]);
        at += samples * unit + capture->header_bytes;
        sample = capture->sample_start;
    }
    if (plan->count == 0) /* not even the first capture's header was there */
        fill_stretch(options, meta, path, NULL, &plan->stretches[plan->count++]);
    plan->stretches[plan->count - 1].bytes = size - at;
    const uint64_t last = sample + (size - at) / unit;
    if (meta->annotated_end > last)
        wh_notices_add(&plan->notices, WH_ERR_DATA, "the data are cut short: copy them again from their origin",
                       "%s: truncated: an annotation reaches to sample %" PRIu64 ", the data end at %" PRIu64, path,
                       meta->annotated_end, last);
}

static wh_status make_source(const wh_source_options *options, const wh_sigmf_meta *meta, const char *path,
                             wh_file_plan *plan, wh_source **out, wh_error *error)
{
    const double rate = isnan(meta->sample_rate_hz) ? options->sample_rate_hz : meta->sample_rate_hz;
    wh_status status = WH_OK;
    if (isnan(rate))
        status = wh_fail(error, WH_ERR_FORMAT, "say it, e.g. --sample-rate 250k, or write core:sample_rate",
                         "%s: the metadata do not tell the sample rate", path);
    else
        status = wh_source_check_rate(rate, path, WH_ERR_UNSUPPORTED, error);
    if (status == WH_OK && !plan->input.regular)
        status = wh_fail(error, WH_ERR_UNSUPPORTED, "copy it into a file first", "%s: the data are not in a plain file",
                         plan->input.name);
    if (status == WH_OK) {
        plan->stretches = calloc(meta->capture_count + 1, sizeof *plan->stretches);
        if (!plan->stretches)
            status = wh_fail(error, WH_ERR_MEMORY, NULL, "%s: out of memory", path);
    }
    if (status != WH_OK) {
        wh_input_close(&plan->input);
        return status;
    }
    const uint64_t size = plan->input.size;
    if (meta->trailing_bytes > size)
        wh_notices_add(&plan->notices, WH_ERR_DATA, "correct the metadata",
                       "%s: core:trailing_bytes is more than the data have; taken as 0", path);
    divide(options, meta, path, meta->trailing_bytes > size ? size : size - meta->trailing_bytes, plan);
    plan->block_samples = options->block_samples;
    plan->has_sha512 = meta->has_sha512;
    snprintf(plan->sha512, sizeof plan->sha512, "%s", meta->sha512);
    return wh_file_source_create(plan, out, error);
}

static wh_status load_meta(const wh_source_options *options, wh_input *input, const char *name, wh_sigmf_meta *meta,
                           wh_notices *notices, wh_error *error)
{
    char *text;
    size_t length;
    wh_status status = wh_input_load(input, WH_SIGMF_META_LIMIT, &text, &length, error);
    if (status != WH_OK)
        return status;
    status = wh_sigmf_meta_parse(text, length, name, &options->log, meta, notices, error);
    free(text);
    return status;
}

/* The data file beside the metadata. */
static wh_status open_data(const wh_sigmf_meta *meta, const char *meta_file, wh_input *input, wh_error *error)
{
    char path[4096];
    const size_t folder = (size_t)(wh_base_name(meta_file) - meta_file);
    const size_t stem = strlen(meta_file) - strlen(META);
    const int written = meta->dataset[0] ? snprintf(path, sizeof path, "%.*s%s", (int)folder, meta_file, meta->dataset)
                                         : snprintf(path, sizeof path, "%.*s" DATA, (int)stem, meta_file);
    if (!fits(written, sizeof path))
        return wh_fail(error, WH_ERR_LIMIT, NULL, "%s: path too long", meta_file);
    return wh_input_open(input, path, error);
}

static wh_status open_pair(const wh_source_options *options, wh_source **out, wh_error *error)
{
    char path[4096];
    if (!meta_path(options->target, path, sizeof path))
        return wh_fail(error, WH_ERR_LIMIT, NULL, "%.200s...: path too long", options->target);
    wh_input file;
    wh_status status = wh_input_open(&file, path, error);
    if (status != WH_OK)
        return status;
    wh_file_plan *plan = calloc(1, sizeof *plan);
    wh_sigmf_meta meta = {0};
    if (!plan)
        status = wh_fail(error, WH_ERR_MEMORY, NULL, "%s: out of memory", path);
    if (status == WH_OK)
        status = load_meta(options, &file, path, &meta, &plan->notices, error);
    wh_input_close(&file);
    if (status == WH_OK)
        status = open_data(&meta, path, &plan->input, error);
    if (status == WH_OK)
        status = make_source(options, &meta, path, plan, out, error);
    wh_sigmf_meta_free(&meta);
    free(plan);
    return status;
}

/* The recording in an archive: one metadata file, and the data file that belongs to it. */
static wh_status find_meta(const wh_archive *archive, const char *path, const wh_archive_member **found,
                           wh_error *error)
{
    size_t count = 0;
    for (size_t i = 0; i < archive->count; i++) {
        if (wh_has_suffix(archive->members[i].name, META)) {
            *found = &archive->members[i];
            count++;
        }
    }
    if (count == 1)
        return WH_OK;
    if (count == 0)
        return wh_fail(error, WH_ERR_FORMAT, "make the archive anew from a SigMF pair", "%s: no " META " file in it",
                       path);
    return wh_fail(error, WH_ERR_UNSUPPORTED, "unpack it with tar and name the recordings one by one",
                   "%s: holds %zu recordings; an archive with one is read", path, count);
}

static wh_status find_data(const wh_archive *archive, const wh_archive_member *meta_file, const wh_sigmf_meta *meta,
                           const char *path, const wh_archive_member **found, wh_error *error)
{
    const size_t folder = (size_t)(wh_base_name(meta_file->name) - meta_file->name);
    const size_t stem = strlen(meta_file->name) - strlen(META);
    char name[sizeof meta_file->name + sizeof meta->dataset];
    if (meta->dataset[0])
        snprintf(name, sizeof name, "%.*s%s", (int)folder, meta_file->name, meta->dataset);
    else
        snprintf(name, sizeof name, "%.*s" DATA, (int)stem, meta_file->name);
    for (size_t i = 0; i < archive->count; i++) {
        if (strcmp(archive->members[i].name, name) == 0) {
            *found = &archive->members[i];
            return WH_OK;
        }
    }
    return wh_fail(error, WH_ERR_DATA, "make the archive anew from a SigMF pair", "%s: no %s in it", path, name);
}

static wh_status open_members(const wh_source_options *options, const wh_archive *archive, wh_file_plan *plan,
                              wh_source **out, wh_error *error)
{
    const char *path = options->target;
    const wh_archive_member *meta_file = NULL, *data = NULL;
    wh_sigmf_meta meta = {0};
    wh_status status = find_meta(archive, path, &meta_file, error);
    if (status == WH_OK) {
        wh_input_window(&plan->input, meta_file->from, meta_file->size);
        char name[600];
        snprintf(name, sizeof name, "%s: %s", path, meta_file->name);
        status = load_meta(options, &plan->input, name, &meta, &plan->notices, error);
    }
    if (status == WH_OK)
        status = find_data(archive, meta_file, &meta, path, &data, error);
    if (status != WH_OK) {
        wh_input_close(&plan->input);
    } else {
        if (archive->truncated)
            wh_notices_add(&plan->notices, WH_ERR_DATA, "copy the archive again from its origin",
                           "%s: truncated or damaged behind %s", path, archive->members[archive->count - 1].name);
        wh_input_window(&plan->input, data->from, data->size);
        status = make_source(options, &meta, path, plan, out, error);
    }
    wh_sigmf_meta_free(&meta);
    return status;
}

static wh_status open_archive(const wh_source_options *options, wh_source **out, wh_error *error)
{
    wh_file_plan *plan = calloc(1, sizeof *plan);
    if (!plan)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "%s: out of memory", options->target);
    wh_archive archive = {0};
    wh_status status = wh_input_open(&plan->input, options->target, error);
    if (status == WH_OK) {
        if (plan->input.regular)
            status = wh_archive_read(&plan->input, &archive, error);
        else
            status = wh_fail(error, WH_ERR_UNSUPPORTED, "copy it into a file first", "%s: not a plain file",
                             options->target);
        if (status == WH_OK)
            status = open_members(options, &archive, plan, out, error);
        else
            wh_input_close(&plan->input);
    }
    wh_archive_free(&archive);
    free(plan);
    return status;
}

static wh_status open_sigmf(const wh_source_options *options, wh_source **out, wh_error *error)
{
    if (wh_has_suffix(options->target, COLLECTION))
        return wh_fail(error, WH_ERR_UNSUPPORTED, "name the recordings of the collection one by one",
                       "%s: collections are not read", options->target);
    return wh_has_suffix(options->target, ARCHIVE) ? open_archive(options, out, error) : open_pair(options, out, error);
}

const wh_source_driver wh_driver_sigmf = {
    .name = "sigmf",
    .summary = "a SigMF recording: either file of the pair, their common name, or a .sigmf archive",
    .accepts = accepts,
    .open = open_sigmf,
};
