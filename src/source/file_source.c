#include "file_source.h"

#include "sha512.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

/* 32 Ki samples: long enough that calls cost nothing, short enough to stay in the second-level cache. */
#define DEFAULT_BLOCK 32768
#define MAX_BLOCK     ((size_t)1 << 24)

typedef enum phase { BEGIN, SAMPLES, FINISH, ENDED } phase;

typedef struct file_source {
    wh_source base;
    wh_file_plan plan;
    phase phase;
    size_t index;         /* stretch at hand */
    uint64_t bytes_taken; /* of it */
    uint8_t *block;
    size_t block_bytes;
    size_t held; /* bytes of an unfinished sample at the start of the block */
    size_t sent; /* bytes of the block handed out by the last call; the rest moves to the front */
    wh_sha512 hash;
} file_source;

static void release(file_source *source)
{
    wh_input_close(&source->plan.input);
    free(source->plan.stretches);
    free(source->block);
    free(source);
}

static void destroy(wh_source *base)
{
    release((file_source *)base);
}

static void hash_bytes(file_source *source, const void *bytes, size_t count)
{
    if (source->plan.has_sha512)
        wh_sha512_update(&source->hash, bytes, count);
}

/* Pass over bytes between stretches. They count for the hash, so then they must be read. */
static wh_status pass_over(file_source *source, uint64_t count, uint64_t *passed, wh_error *error)
{
    if (!source->plan.has_sha512)
        return wh_input_skip(&source->plan.input, count, passed, error);
    *passed = 0;
    while (*passed < count) {
        const uint64_t left = count - *passed;
        const size_t want = left < source->block_bytes ? (size_t)left : source->block_bytes;
        size_t got;
        const wh_status status = wh_input_read(&source->plan.input, source->block, want, &got, error);
        if (status != WH_OK || got == 0)
            return status;
        hash_bytes(source, source->block, got);
        *passed += got;
    }
    return WH_OK;
}

static wh_status begin_stretch(file_source *source, wh_source_event *event, wh_error *error)
{
    const wh_stretch *stretch = &source->plan.stretches[source->index];
    uint64_t passed;
    const wh_status status = pass_over(source, stretch->skip, &passed, error);
    if (status != WH_OK)
        return status;
    source->bytes_taken = 0;
    source->held = source->sent = 0;
    source->phase = SAMPLES;
    event->kind = WH_SOURCE_STREAM;
    event->stream = stretch->stream;
    return WH_OK;
}

/* A stretch is over, by its length or because the bytes ended: say what is missing. */
static void close_stretch(file_source *source)
{
    wh_file_plan *plan = &source->plan;
    const wh_stretch *stretch = &plan->stretches[source->index];
    const size_t unit = wh_iq_bytes(stretch->stream.format);
    if (stretch->bytes != WH_UNTIL_END && source->bytes_taken < stretch->bytes)
        wh_notices_add(&plan->notices, WH_ERR_DATA, "the recording is cut short: copy it again from its origin",
                       "%s: truncated: %" PRIu64 " samples announced, %" PRIu64 " there", plan->input.name,
                       stretch->bytes / unit, source->bytes_taken / unit);
    if (source->held > 0)
        wh_notices_add(&plan->notices, WH_ERR_DATA,
                       "check the sample format; otherwise the recording is cut short: copy it again",
                       "%s: odd length: the last sample has %zu of its %zu bytes and is left out", plan->input.name,
                       source->held, unit);
    source->phase = ++source->index < plan->count ? BEGIN : FINISH;
}

/* Read the next block behind the bytes held back; whole samples go out. The event stays END while there is
 * nothing to tell. */
static wh_status read_block(file_source *source, wh_source_event *event, wh_error *error)
{
    const wh_stretch *stretch = &source->plan.stretches[source->index];
    const size_t unit = wh_iq_bytes(stretch->stream.format);
    if (source->sent > 0)
        memmove(source->block, source->block + source->sent, source->held);
    source->sent = 0;
    size_t room = source->plan.block_samples * unit - source->held;
    const uint64_t left = stretch->bytes == WH_UNTIL_END ? WH_UNTIL_END : stretch->bytes - source->bytes_taken;
    if (room > left)
        room = (size_t)left;
    size_t got = 0;
    bool idle = false;
    if (room > 0) {
        const wh_status status =
            wh_input_read_some(&source->plan.input, source->block + source->held, room, WH_IDLE_MS, &got, &idle, error);
        if (status != WH_OK)
            return status;
    }
    if (idle) {
        event->kind = WH_SOURCE_IDLE;
        return WH_OK;
    }
    if (got == 0) {
        close_stretch(source);
        return WH_OK;
    }
    hash_bytes(source, source->block + source->held, got);
    source->bytes_taken += got;
    const size_t there = source->held + got;
    event->count = there / unit;
    event->samples = source->block;
    if (event->count > 0)
        event->kind = WH_SOURCE_SAMPLES;
    source->sent = event->count * unit;
    source->held = there - source->sent;
    return WH_OK;
}

static wh_status finish(file_source *source, wh_error *error)
{
    wh_file_plan *plan = &source->plan;
    source->phase = ENDED;
    if (source->base.done == 0)
        wh_notices_add(&plan->notices, WH_ERR_DATA, "record again, or check that the right file was named",
                       "%s: holds no samples", plan->input.name);
    if (!source->plan.has_sha512)
        return WH_OK;
    uint64_t passed;
    const wh_status status = pass_over(source, WH_UNTIL_END, &passed, error);
    if (status != WH_OK)
        return status;
    char hex[WH_SHA512_HEX_SIZE];
    wh_sha512_hex(&source->hash, hex);
    if (strcmp(hex, plan->sha512) != 0)
        wh_notices_add(&plan->notices, WH_ERR_DATA, "copy the recording again from its origin; do not trust it",
                       "%s: not the data that were recorded: SHA-512 is %.16s..., the metadata say %.16s...",
                       plan->input.name, hex, plan->sha512);
    return WH_OK;
}

static wh_status next(wh_source *base, wh_source_event *event, wh_error *error)
{
    file_source *source = (file_source *)base;
    event->kind = WH_SOURCE_END;
    for (;;) {
        const bool begun = source->phase != BEGIN || source->index > 0;
        if (begun && wh_notices_take(&source->plan.notices, &event->notice)) {
            event->kind = WH_SOURCE_NOTICE;
            return WH_OK;
        }
        wh_status status = WH_OK;
        switch (source->phase) {
        case BEGIN: return begin_stretch(source, event, error);
        case SAMPLES:
            status = read_block(source, event, error);
            if (status != WH_OK || event->kind != WH_SOURCE_END)
                return status;
            break;
        case FINISH: status = finish(source, error); break;
        default: return WH_OK;
        }
        if (status != WH_OK)
            return status;
    }
}

static const wh_source_ops ops = {next, destroy};

static uint64_t count_samples(const wh_file_plan *plan)
{
    uint64_t total = 0, at = plan->input.position;
    for (size_t i = 0; i < plan->count; i++) {
        const wh_stretch *stretch = &plan->stretches[i];
        uint64_t bytes = stretch->bytes;
        if (bytes == WH_UNTIL_END) {
            if (!plan->input.regular)
                return 0;
            at += stretch->skip;
            bytes = at < plan->input.size ? plan->input.size - at : 0;
        }
        at += bytes;
        total += bytes / wh_iq_bytes(stretch->stream.format);
    }
    return total;
}

wh_status wh_file_source_create(wh_file_plan *plan, wh_source **out, wh_error *error)
{
    file_source *source = calloc(1, sizeof *source);
    if (!source) {
        wh_input_close(&plan->input);
        free(plan->stretches);
        return wh_fail(error, WH_ERR_MEMORY, NULL, "%s: out of memory", plan->input.name);
    }
    source->base.ops = &ops;
    source->plan = *plan;
    plan = &source->plan;
    if (plan->block_samples == 0)
        plan->block_samples = DEFAULT_BLOCK;
    if (plan->block_samples > MAX_BLOCK)
        plan->block_samples = MAX_BLOCK;
    size_t unit = 0;
    for (size_t i = 0; i < plan->count; i++) {
        const size_t bytes = wh_iq_bytes(plan->stretches[i].stream.format);
        unit = bytes > unit ? bytes : unit;
    }
    source->block_bytes = plan->block_samples * unit;
    source->block = malloc(source->block_bytes);
    wh_sha512_init(&source->hash);
    if (!source->block) {
        release(source);
        return wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory for a block of samples");
    }
    source->base.total = count_samples(plan);
    *out = &source->base;
    return WH_OK;
}

wh_status wh_file_source_single(wh_input *input, const wh_stream *stream, uint64_t bytes, size_t block_samples,
                                wh_source **out, wh_error *error)
{
    wh_file_plan plan = {.input = *input, .count = 1, .block_samples = block_samples};
    plan.stretches = malloc(sizeof *plan.stretches);
    if (!plan.stretches) {
        wh_input_close(&plan.input);
        return wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    }
    plan.stretches[0] = (wh_stretch){.stream = *stream, .bytes = bytes};
    return wh_file_source_create(&plan, out, error);
}
