#include "sweep_bursts.h"

#include "json_writer.h"
#include "whole_file.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define REMEMBER_S 4.0  /* a burst is told up to two seconds after it, when no further copy can come */
#define BEFORE_S   0.35 /* who studies it learns the noise first, which takes a quarter of a second */
#define AFTER_S    0.1
#define PATH_SIZE  1200

struct wh_sweep_bursts {
    char folder[1024];
    wh_stream stream;
    unsigned char *ring; /* `room` samples in the stretch's format */
    size_t room;
    uint64_t seen; /* samples of the stretch so far */
    unsigned kept;
};

wh_sweep_bursts *wh_sweep_bursts_create(const char *folder)
{
    wh_sweep_bursts *bursts = calloc(1, sizeof *bursts);
    if (bursts)
        snprintf(bursts->folder, sizeof bursts->folder, "%s", folder);
    return bursts;
}

void wh_sweep_bursts_destroy(wh_sweep_bursts **bursts)
{
    if (!*bursts)
        return;
    free((*bursts)->ring);
    free(*bursts);
    *bursts = NULL;
}

const char *wh_sweep_bursts_folder(const wh_sweep_bursts *bursts)
{
    return bursts ? bursts->folder : "";
}

void wh_sweep_bursts_stretch(wh_sweep_bursts *bursts, const wh_stream *stream)
{
    free(bursts->ring);
    bursts->stream = *stream;
    bursts->seen = 0;
    bursts->room = (size_t)(REMEMBER_S * stream->sample_rate_hz);
    bursts->ring = malloc(bursts->room * wh_iq_bytes(stream->format));
}

void wh_sweep_bursts_samples(wh_sweep_bursts *bursts, const void *samples, size_t count)
{
    const size_t bytes = wh_iq_bytes(bursts->stream.format);
    const unsigned char *from = samples;
    while (bursts->ring && count > 0) {
        const size_t at = (size_t)(bursts->seen % bursts->room);
        const size_t piece = count < bursts->room - at ? count : bursts->room - at;
        memcpy(bursts->ring + at * bytes, from, piece * bytes);
        from += piece * bytes;
        bursts->seen += piece;
        count -= piece;
    }
}

static void put_meta(wh_text *text, const wh_sweep_bursts *bursts, const wh_burst *burst, uint64_t first,
                     uint64_t start, uint64_t length)
{
    const wh_stream *stream = &bursts->stream;
    char time[WH_TIME_SIZE];
    wh_json_open(text);
    wh_json_key(text, "global");
    wh_json_open(text);
    wh_json_put_string(text, "core:datatype", wh_iq_format_name(stream->format));
    wh_json_put_fixed(text, "core:sample_rate", stream->sample_rate_hz, 3);
    wh_json_put_string(text, "core:version", "1.2.0");
    wh_json_put_string(text, "core:recorder", "wheelhark sweep");
    wh_json_close(text);
    wh_json_key(text, "captures");
    wh_text_add(text, "[");
    wh_json_open(text);
    wh_json_put_count(text, "core:sample_start", 0);
    if (stream->centre_hz > 0.0)
        wh_json_put_fixed(text, "core:frequency", stream->centre_hz, 3);
    if (stream->has_time) {
        const double since = (double)first / stream->sample_rate_hz;
        wh_json_put_string(text, "core:datetime",
                           wh_time_text(time, stream->start_utc_us + (int64_t)llround(since * 1e6), 6));
    }
    wh_json_close(text);
    wh_text_add(text, "]");
    wh_json_key(text, "annotations");
    wh_text_add(text, "[");
    wh_json_open(text);
    wh_json_put_count(text, "core:sample_start", start - first);
    wh_json_put_count(text, "core:sample_count", length);
    wh_json_put_fixed(text, "core:freq_lower_edge", burst->carrier_hz - burst->width_hz / 2.0, 0);
    wh_json_put_fixed(text, "core:freq_upper_edge", burst->carrier_hz + burst->width_hz / 2.0, 0);
    wh_json_put_string(text, "core:label", "unknown kind");
    wh_json_close(text);
    wh_text_add(text, "]");
    wh_json_close(text);
    wh_text_add(text, "\n");
}

static wh_status write_samples(const wh_sweep_bursts *bursts, uint64_t first, size_t count, const char *path,
                               wh_error *error)
{
    const size_t bytes = wh_iq_bytes(bursts->stream.format);
    char *data = malloc(count * bytes);
    if (!data)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    for (size_t i = 0; i < count; i++)
        memcpy(data + i * bytes, bursts->ring + (size_t)((first + i) % bursts->room) * bytes, bytes);
    const wh_status status = wh_file_replace(path, data, count * bytes, error);
    free(data);
    return status;
}

wh_status wh_sweep_bursts_keep(wh_sweep_bursts *bursts, const wh_burst *burst, const char *name, bool *kept,
                               wh_error *error)
{
    const wh_stream *stream = &bursts->stream;
    const double rate = stream->sample_rate_hz, begin_s = burst->offset_s - stream->start_s;
    *kept = false;
    if (!bursts->ring || bursts->kept >= WH_SWEEP_BURSTS_MOST || begin_s < 0.0)
        return WH_OK;
    const uint64_t start = (uint64_t)(begin_s * rate), length = (uint64_t)(burst->duration_s * rate) + 1;
    const uint64_t oldest = bursts->seen > bursts->room ? bursts->seen - bursts->room : 0;
    const uint64_t before = (uint64_t)(BEFORE_S * rate), after = (uint64_t)(AFTER_S * rate);
    if (start < oldest || start + length > bursts->seen)
        return WH_OK;
    const uint64_t first = start - oldest > before ? start - before : oldest;
    const uint64_t end = bursts->seen - (start + length) > after ? start + length + after : bursts->seen;
    char path[PATH_SIZE];
    snprintf(path, sizeof path, "%s/%.60s.sigmf-data", bursts->folder, name);
    wh_status status = wh_make_folders(path, NULL, error);
    if (status == WH_OK)
        status = write_samples(bursts, first, (size_t)(end - first), path, error);
    wh_text meta = {0};
    put_meta(&meta, bursts, burst, first, start, length);
    snprintf(path, sizeof path, "%s/%.60s.sigmf-meta", bursts->folder, name);
    if (status == WH_OK)
        status = meta.failed ? wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory")
                             : wh_file_replace(path, meta.data, meta.length, error);
    wh_text_free(&meta);
    bursts->kept += status == WH_OK;
    *kept = status == WH_OK;
    return status;
}
