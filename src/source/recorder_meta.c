#include "recorder_meta.h"

#include "text_buffer.h"

#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SIGMF_VERSION     "1.2.0"
#define EXTENSION_VERSION "1.0.0"
/* Indented by two. A capture: four keys and numbers of at most 20 digits; an annotation: six keys and a comment. */
#define HEAD_ROOM  4096u
#define PIECE_ROOM 320u
#define BURST_ROOM 480u

size_t wh_recorder_meta_room(size_t pieces, size_t bursts)
{
    return HEAD_ROOM + pieces * PIECE_ROOM + bursts * BURST_ROOM;
}

/* SigMF 1.2: extensions are declared by name, version, and whether a reader may ignore them. */
static json_t *extensions(void)
{
    return json_pack("[{s:s, s:s, s:b}]", "name", "wheelhark", "version", EXTENSION_VERSION, "optional", true);
}

static json_t *global_object(const wh_recorder_record *record)
{
    const wh_recorder_options *options = record->options;
    json_t *global = json_pack(
        "{s:s, s:s, s:f, s:s, s:o, s:s}", "core:datatype", wh_iq_format_name(record->stream.format), "core:version",
        SIGMF_VERSION, "core:sample_rate", record->stream.sample_rate_hz, "core:recorder", options->generator,
        "core:extensions", extensions(), "wheelhark:kept", options->everything ? "everything" : "bursts");
    if (record->sha512)
        json_object_set_new(global, "core:sha512", json_string(record->sha512));
    if (options->description)
        json_object_set_new(global, "core:description", json_string(options->description));
    if (options->live) {
        json_object_set_new(global, "core:hw", json_string(record->stream.name));
        json_object_set_new(global, "wheelhark:gain_db", options->has_gain ? json_real(options->gain_db) : json_null());
        json_object_set_new(global, "wheelhark:ppm", json_real(options->ppm));
        json_object_set_new(global, "wheelhark:samples_lost", json_integer((json_int_t)record->lost));
    }
    if (record->left_out > 0)
        json_object_set_new(global, "wheelhark:bursts_left_out", json_integer((json_int_t)record->left_out));
    return global;
}

static json_t *capture_object(const wh_recorder_piece *piece)
{
    json_t *capture = json_pack("{s:I, s:I}", "core:sample_start", (json_int_t)piece->file_start, "core:global_index",
                                (json_int_t)piece->index);
    if (piece->centre_hz > 0)
        json_object_set_new(capture, "core:frequency", json_real(piece->centre_hz));
    if (piece->has_time) {
        char text[WH_TIME_SIZE];
        json_object_set_new(capture, "core:datetime", json_string(wh_time_text(text, piece->utc_us, 6)));
    }
    return capture;
}

/* Where the samples of a burst stand in the file. Of a burst across a gap the first part is annotated. */
static bool place(const wh_recorder_record *record, const wh_recorder_burst *burst, uint64_t *first, uint64_t *count)
{
    for (size_t i = 0; i < record->piece_count; i++) {
        const wh_recorder_piece *piece = &record->pieces[i];
        const uint64_t end = piece->index + piece->count;
        if (burst->end <= piece->index || burst->start >= end)
            continue;
        const uint64_t from = burst->start > piece->index ? burst->start : piece->index;
        *first = piece->file_start + (from - piece->index);
        *count = (burst->end < end ? burst->end : end) - from;
        return true;
    }
    return false;
}

typedef struct placed {
    const wh_recorder_burst *burst;
    uint64_t first, count;
} placed;

static int by_place(const void *a, const void *b)
{
    const placed *x = a, *y = b;
    if (x->first != y->first)
        return x->first < y->first ? -1 : 1;
    return (x->burst->low_hz > y->burst->low_hz) - (x->burst->low_hz < y->burst->low_hz);
}

static json_t *annotation_object(const placed *at, const char *generator)
{
    char snr[WH_FIXED_SIZE], comment[64] = "";
    snprintf(comment, sizeof comment, "%s dB over the noise%s", wh_fixed(snr, at->burst->snr_db, 1),
             at->burst->cut ? ", longer than any frame" : "");
    return json_pack("{s:I, s:I, s:f, s:f, s:s, s:s, s:s}", "core:sample_start", (json_int_t)at->first,
                     "core:sample_count", (json_int_t)at->count, "core:freq_lower_edge", at->burst->low_hz,
                     "core:freq_upper_edge", at->burst->high_hz, "core:label", "burst", "core:comment", comment,
                     "core:generator", generator);
}

/* In order of their starts, as SigMF demands. No IDs: other people's vehicles are heard too. */
static json_t *annotation_array(const wh_recorder_record *record)
{
    json_t *array = json_array();
    placed *sorted = calloc(record->burst_count + 1, sizeof *sorted);
    size_t count = 0;
    for (size_t i = 0; sorted && i < record->burst_count; i++) {
        sorted[count].burst = &record->bursts[i];
        count += place(record, &record->bursts[i], &sorted[count].first, &sorted[count].count);
    }
    if (sorted)
        qsort(sorted, count, sizeof *sorted, by_place);
    for (size_t i = 0; i < count; i++)
        json_array_append_new(array, annotation_object(&sorted[i], record->options->generator));
    free(sorted);
    return array;
}

char *wh_recorder_meta_text(const wh_recorder_record *record, size_t *length)
{
    json_t *captures = json_array();
    for (size_t i = 0; i < record->piece_count; i++)
        json_array_append_new(captures, capture_object(&record->pieces[i]));
    json_t *meta = json_pack("{s:o, s:o, s:o}", "global", global_object(record), "captures", captures, "annotations",
                             annotation_array(record));
    /* 15 digits hold every frequency to well below 1 mHz and print 0.1 as 0.1. */
    char *text = meta ? json_dumps(meta, JSON_INDENT(2) | JSON_REAL_PRECISION(15)) : NULL;
    json_decref(meta);
    *length = text ? strlen(text) : 0;
    return text;
}
