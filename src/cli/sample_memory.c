#include "sample_memory.h"

#include "json_writer.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define REMEMBER_S 4.0  /* a burst is told up to two seconds after it, when no further copy can come */
#define BEFORE_S   0.35 /* who studies it learns the noise first, which takes a quarter of a second */
#define AFTER_S    0.1

struct wh_sample_memory {
    wh_stream stream;
    unsigned char *ring; /* `room` samples in the stretch's format */
    size_t room;
    uint64_t seen; /* samples of the stretch so far */
};

wh_sample_memory *wh_sample_memory_create(void)
{
    return calloc(1, sizeof(wh_sample_memory));
}

void wh_sample_memory_destroy(wh_sample_memory **memory)
{
    if (!*memory)
        return;
    free((*memory)->ring);
    free(*memory);
    *memory = NULL;
}

void wh_sample_memory_stretch(wh_sample_memory *memory, const wh_stream *stream)
{
    free(memory->ring);
    memory->stream = *stream;
    memory->seen = 0;
    memory->room = (size_t)(REMEMBER_S * stream->sample_rate_hz);
    memory->ring = malloc(memory->room * wh_iq_bytes(stream->format));
}

void wh_sample_memory_samples(wh_sample_memory *memory, const void *samples, size_t count)
{
    const size_t bytes = wh_iq_bytes(memory->stream.format);
    const unsigned char *from = samples;
    while (memory->ring && count > 0) {
        const size_t at = (size_t)(memory->seen % memory->room);
        const size_t piece = count < memory->room - at ? count : memory->room - at;
        memcpy(memory->ring + at * bytes, from, piece * bytes);
        from += piece * bytes;
        memory->seen += piece;
        count -= piece;
    }
}

/* Out of the ring, in one or two pieces. */
static unsigned char *take(const wh_sample_memory *memory, uint64_t first, size_t count)
{
    const size_t bytes = wh_iq_bytes(memory->stream.format), at = (size_t)(first % memory->room);
    const size_t piece = count < memory->room - at ? count : memory->room - at;
    unsigned char *samples = malloc(count * bytes);
    if (!samples)
        return NULL;
    memcpy(samples, memory->ring + at * bytes, piece * bytes);
    memcpy(samples + piece * bytes, memory->ring, (count - piece) * bytes);
    return samples;
}

bool wh_sample_memory_cut(const wh_sample_memory *memory, const wh_burst *burst, wh_burst_cut *cut)
{
    const wh_stream *stream = &memory->stream;
    const double rate = stream->sample_rate_hz, begin_s = burst->offset_s - stream->start_s;
    if (!memory->ring || begin_s < 0.0)
        return false;
    const uint64_t start = (uint64_t)(begin_s * rate), length = (uint64_t)(burst->duration_s * rate) + 1;
    const uint64_t oldest = memory->seen > memory->room ? memory->seen - memory->room : 0;
    const uint64_t before = (uint64_t)(BEFORE_S * rate), after = (uint64_t)(AFTER_S * rate);
    if (start < oldest || start + length > memory->seen)
        return false;
    const uint64_t first = start - oldest > before ? start - before : oldest;
    const uint64_t end = memory->seen - (start + length) > after ? start + length + after : memory->seen;
    *cut = (wh_burst_cut){.burst = *burst,
                          .stream = *stream,
                          .start = start - first,
                          .length = length,
                          .samples = take(memory, first, (size_t)(end - first)),
                          .count = (size_t)(end - first)};
    cut->stream.start_s += (double)first / rate;
    cut->stream.start_utc_us += (int64_t)llround((double)first / rate * 1e6);
    return cut->samples != NULL;
}

size_t wh_burst_cut_bytes(const wh_burst_cut *cut)
{
    return cut->count * wh_iq_bytes(cut->stream.format);
}

bool wh_burst_cut_copy(const wh_burst_cut *cut, wh_burst_cut *copy)
{
    *copy = *cut;
    copy->samples = malloc(wh_burst_cut_bytes(cut));
    if (copy->samples)
        memcpy(copy->samples, cut->samples, wh_burst_cut_bytes(cut));
    return copy->samples != NULL;
}

void wh_burst_cut_free(wh_burst_cut *cut)
{
    free(cut->samples);
    cut->samples = NULL;
    cut->count = 0;
}

void wh_burst_cut_meta(wh_text *text, const wh_burst_cut *cut, const char *recorder, const char *label)
{
    const wh_stream *stream = &cut->stream;
    const wh_burst *burst = &cut->burst;
    char time[WH_TIME_SIZE];
    wh_json_open(text);
    wh_json_key(text, "global");
    wh_json_open(text);
    wh_json_put_string(text, "core:datatype", wh_iq_format_name(stream->format));
    wh_json_put_fixed(text, "core:sample_rate", stream->sample_rate_hz, 3);
    wh_json_put_string(text, "core:version", "1.2.0");
    wh_json_put_string(text, "core:recorder", recorder);
    wh_json_close(text);
    wh_json_key(text, "captures");
    wh_text_add(text, "[");
    wh_json_open(text);
    wh_json_put_count(text, "core:sample_start", 0);
    if (stream->centre_hz > 0.0)
        wh_json_put_fixed(text, "core:frequency", stream->centre_hz, 3);
    if (stream->has_time)
        wh_json_put_string(text, "core:datetime", wh_time_text(time, stream->start_utc_us, 6));
    wh_json_close(text);
    wh_text_add(text, "]");
    wh_json_key(text, "annotations");
    wh_text_add(text, "[");
    wh_json_open(text);
    wh_json_put_count(text, "core:sample_start", cut->start);
    wh_json_put_count(text, "core:sample_count", cut->length);
    wh_json_put_fixed(text, "core:freq_lower_edge", burst->carrier_hz - burst->width_hz / 2.0, 0);
    wh_json_put_fixed(text, "core:freq_upper_edge", burst->carrier_hz + burst->width_hz / 2.0, 0);
    wh_json_put_string(text, "core:label", label);
    wh_json_close(text);
    wh_text_add(text, "]");
    wh_json_close(text);
    wh_text_add(text, "\n");
}
