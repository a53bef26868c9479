#include "recorder.h"

#include "recorder_meta.h"
#include "sha512.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define WANTED_MAX   256 /* stretches of samples waiting; more are joined with their neighbours */
#define CHECKPOINT_S 5.0 /* of signal: so much of the metadata is missing after a power failure at most */
#define ROOM_STEP    16384u

typedef struct interval {
    uint64_t from, to;
} interval;

struct wh_recorder {
    wh_recorder_options options;
    char *data_path, *meta_path;
    int data, meta; /* file descriptors, -1: closed */
    wh_sha512 hash;
    bool begun, failed, finished;
    wh_stream first, stream;
    size_t unit;          /* bytes of a sample */
    uint64_t stream_from; /* index of the stretch's first sample */
    bool restart;         /* the next samples begin at `next_index` */
    uint64_t next_index;
    /* samples [tail, head) are held back; capacity in samples */
    unsigned char *ring;
    size_t capacity;
    uint64_t tail, head;
    interval wanted[WANTED_MAX]; /* in order, apart from each other */
    size_t wanted_count;
    wh_recorder_piece *pieces;
    wh_recorder_burst *bursts;
    size_t piece_count, burst_count, left_out;
    uint64_t written, seen, lost, checkpoint; /* samples */
    size_t room;                              /* bytes that the metadata file has on the disk */
};

static wh_status io_failure(const char *path, wh_error *error)
{
    const int reason = errno;
    const char *fix = reason == EEXIST   ? "choose another name: a recording is never overwritten"
                      : reason == ENOSPC ? "make room on the disk; what was recorded until then is kept"
                                         : "check the folder, its permissions and the free space";
    return wh_fail(error, reason == EACCES ? WH_ERR_PERMISSION : WH_ERR_IO, fix, "%s: %s", path, strerror(reason));
}

static bool write_all(int file, const void *bytes, size_t count)
{
    const unsigned char *from = bytes;
    while (count > 0) {
        const ssize_t done = write(file, from, count);
        if (done < 0 && errno == EINTR)
            continue;
        if (done <= 0)
            return false;
        from += done;
        count -= (size_t)done;
    }
    return true;
}

/* Blanks in the metadata file up to `until`, wherever it stands now. */
static bool write_blanks(int file, size_t from, size_t until)
{
    char blanks[4096];
    memset(blanks, ' ', sizeof blanks);
    for (size_t step; from < until; from += step) {
        step = until - from < sizeof blanks ? until - from : sizeof blanks;
        if (!write_all(file, blanks, step))
            return false;
    }
    return true;
}

/* Blanks behind the metadata keep room on the disk, so that the last word can be written when it is full; JSON allows them. */
static bool keep_room(wh_recorder *recorder, size_t wanted)
{
    if (wanted <= recorder->room)
        return true;
    wanted += ROOM_STEP;
    if (lseek(recorder->meta, (off_t)recorder->room, SEEK_SET) < 0 ||
        !write_blanks(recorder->meta, recorder->room, wanted))
        return false;
    recorder->room = wanted;
    return true;
}

static bool write_meta(wh_recorder *recorder, const char *sha512)
{
    const wh_recorder_record record = {.options = &recorder->options,
                                       .stream = recorder->first,
                                       .pieces = recorder->pieces,
                                       .piece_count = recorder->piece_count,
                                       .bursts = recorder->bursts,
                                       .burst_count = recorder->burst_count,
                                       .lost = recorder->lost,
                                       .left_out = recorder->left_out,
                                       .sha512 = sha512};
    size_t length;
    char *text = wh_recorder_meta_text(&record, &length);
    bool good = text != NULL;
    if (!good)
        errno = ENOMEM;
    good = good && keep_room(recorder, length + 1);
    good = good && lseek(recorder->meta, 0, SEEK_SET) == 0 && write_all(recorder->meta, text, length);
    /* What an earlier, longer text left behind must not stand after this one. */
    if (good && !sha512)
        good = write_blanks(recorder->meta, length, recorder->room);
    if (good && sha512) {
        good = write_all(recorder->meta, "\n", 1) && ftruncate(recorder->meta, (off_t)length + 1) == 0;
        recorder->room = length + 1;
    }
    free(text);
    return good;
}

static char *path_of(const char *base, const char *suffix)
{
    const size_t size = strlen(base) + strlen(suffix) + 1;
    char *path = malloc(size);
    if (path)
        snprintf(path, size, "%s%s", base, suffix);
    return path;
}

wh_status wh_recorder_create(const wh_recorder_options *options, wh_recorder **out, wh_error *error)
{
    wh_recorder *recorder = calloc(1, sizeof *recorder);
    *out = NULL;
    if (!recorder)
        return wh_fail(error, WH_ERR_MEMORY, "close other programs", "no memory for recording");
    recorder->options = *options;
    recorder->data = recorder->meta = -1;
    recorder->data_path = path_of(options->base, ".sigmf-data");
    recorder->meta_path = path_of(options->base, ".sigmf-meta");
    recorder->pieces = calloc(WH_RECORDER_BURSTS_MAX, sizeof *recorder->pieces);
    recorder->bursts = calloc(WH_RECORDER_BURSTS_MAX, sizeof *recorder->bursts);
    wh_sha512_init(&recorder->hash);
    wh_status status = WH_OK;
    if (!recorder->data_path || !recorder->meta_path || !recorder->pieces || !recorder->bursts)
        status = wh_fail(error, WH_ERR_MEMORY, "close other programs", "no memory for recording");
    if (status == WH_OK && (recorder->data = open(recorder->data_path, O_WRONLY | O_CREAT | O_EXCL, 0666)) < 0)
        status = io_failure(recorder->data_path, error);
    if (status == WH_OK && (recorder->meta = open(recorder->meta_path, O_RDWR | O_CREAT | O_EXCL, 0666)) < 0) {
        status = io_failure(recorder->meta_path, error);
        unlink(recorder->data_path);
    }
    if (status == WH_OK)
        *out = recorder;
    else
        wh_recorder_destroy(&recorder);
    return status;
}

/* Samples that lie side by side in memory, `index` the first one's. */
static bool put(wh_recorder *recorder, uint64_t index, const void *samples, size_t count)
{
    wh_recorder_piece *last = recorder->piece_count ? &recorder->pieces[recorder->piece_count - 1] : NULL;
    /* A new stretch is a new piece: its centre may be another. */
    if (!last || last->index + last->count != index || last->index < recorder->stream_from) {
        if (recorder->piece_count == WH_RECORDER_BURSTS_MAX) {
            errno = EFBIG;
            return false;
        }
        const double after_s = (double)(index - recorder->stream_from) / recorder->stream.sample_rate_hz;
        last = &recorder->pieces[recorder->piece_count++];
        *last = (wh_recorder_piece){.file_start = recorder->written,
                                    .index = index,
                                    .centre_hz = recorder->stream.centre_hz,
                                    .has_time = recorder->stream.has_time,
                                    .utc_us = recorder->stream.start_utc_us + llround(after_s * 1e6)};
    }
    if (!keep_room(recorder, wh_recorder_meta_room(recorder->piece_count, recorder->burst_count)) ||
        !write_all(recorder->data, samples, count * recorder->unit)) {
        recorder->piece_count -= last->count == 0;
        return false;
    }
    wh_sha512_update(&recorder->hash, samples, count * recorder->unit);
    last->count += count;
    recorder->written += count;
    return true;
}

/* Held-back samples [from, to), which the ring may have in two parts. */
static bool put_held(wh_recorder *recorder, uint64_t from, uint64_t to)
{
    while (from < to) {
        const size_t at = (size_t)(from % recorder->capacity);
        const size_t side = recorder->capacity - at, left = (size_t)(to - from), step = left < side ? left : side;
        if (!put(recorder, from, recorder->ring + at * recorder->unit, step))
            return false;
        from += step;
    }
    return true;
}

/* Samples before `until` can be held no longer: write what is wanted of them. */
static bool release(wh_recorder *recorder, uint64_t until)
{
    while (recorder->wanted_count > 0 && recorder->wanted[0].from < until) {
        interval *first = &recorder->wanted[0];
        const uint64_t from = first->from > recorder->tail ? first->from : recorder->tail;
        const uint64_t to = first->to < until ? first->to : until;
        if (from < to && !put_held(recorder, from, to))
            return false;
        if (first->to > until)
            break;
        memmove(first, first + 1, --recorder->wanted_count * sizeof *first);
    }
    recorder->tail = until > recorder->tail ? until : recorder->tail;
    return true;
}

wh_status wh_recorder_begin(wh_recorder *recorder, const wh_stream *stream, wh_error *error)
{
    if (recorder->begun &&
        (stream->sample_rate_hz != recorder->first.sample_rate_hz || stream->format != recorder->first.format))
        return wh_fail(error, WH_ERR_UNSUPPORTED, "record the stretches one by one",
                       "the sample rate or format changes; a recording has one of each");
    if (!recorder->begun) {
        const double held_s = recorder->options.everything ? 0.0 : WH_RECORDER_HOLD_S + recorder->options.before_s;
        recorder->unit = wh_iq_bytes(stream->format);
        recorder->capacity = (size_t)(held_s * stream->sample_rate_hz) + 1;
        recorder->ring = malloc(recorder->capacity * recorder->unit);
        recorder->first = *stream;
        if (!recorder->ring)
            return wh_fail(error, WH_ERR_MEMORY, "close other programs", "no memory for samples");
        if (!write_meta(recorder, NULL)) /* whole from the first second on */
            return io_failure(recorder->meta_path, error);
    }
    recorder->begun = true;
    recorder->stream = *stream;
    recorder->next_index = (uint64_t)llround(stream->start_s * stream->sample_rate_hz);
    recorder->restart = true;
    return WH_OK;
}

void wh_recorder_lost(wh_recorder *recorder, uint64_t count)
{
    const uint64_t from = recorder->restart ? recorder->next_index : recorder->head;
    recorder->lost += count;
    recorder->next_index = from + count;
    recorder->restart = true;
}

/* Into the list of wanted stretches, joined with those it touches. */
static void want(wh_recorder *recorder, uint64_t from, uint64_t to)
{
    interval *list = recorder->wanted;
    size_t at = 0;
    while (at < recorder->wanted_count && list[at].to < from)
        at++;
    size_t end = at;
    while (end < recorder->wanted_count && list[end].from <= to)
        end++;
    if (end > at) { /* joined */
        list[at].from = from < list[at].from ? from : list[at].from;
        list[at].to = to > list[end - 1].to ? to : list[end - 1].to;
        memmove(list + at + 1, list + end, (recorder->wanted_count - end) * sizeof *list);
        recorder->wanted_count -= end - at - 1;
    } else if (recorder->wanted_count < WANTED_MAX) {
        memmove(list + at + 1, list + at, (recorder->wanted_count - at) * sizeof *list);
        list[at] = (interval){from, to};
        recorder->wanted_count++;
    } else { /* so many at once: keep what lies between as well */
        interval *near = &list[at < recorder->wanted_count ? at : at - 1];
        near->from = from < near->from ? from : near->from;
        near->to = to > near->to ? to : near->to;
    }
}

void wh_recorder_burst_heard(wh_recorder *recorder, const wh_recorder_burst *burst)
{
    const double rate = recorder->first.sample_rate_hz;
    const uint64_t before = (uint64_t)(recorder->options.before_s * rate);
    if (recorder->burst_count == WH_RECORDER_BURSTS_MAX)
        recorder->left_out++;
    else
        recorder->bursts[recorder->burst_count++] = *burst;
    if (!recorder->options.everything)
        want(recorder, burst->start > before ? burst->start - before : 0,
             burst->end + (uint64_t)(recorder->options.after_s * rate));
}

/* Samples after a gap, or of a new stretch: of the old ones it is known what is wanted. */
static bool start_anew(wh_recorder *recorder)
{
    if (!release(recorder, recorder->head))
        return false;
    if (recorder->seen == 0 || recorder->next_index > recorder->head)
        recorder->tail = recorder->head = recorder->next_index;
    /* A time that goes back would say that samples were taken twice. */
    recorder->stream_from = (uint64_t)llround(recorder->stream.start_s * recorder->stream.sample_rate_hz);
    if (recorder->stream_from > recorder->head)
        recorder->stream_from = recorder->head;
    recorder->restart = false;
    return true;
}

static bool hold(wh_recorder *recorder, const unsigned char *from, size_t count)
{
    while (count > 0) {
        const size_t at = (size_t)(recorder->head % recorder->capacity), side = recorder->capacity - at;
        const size_t step = count < side ? count : side;
        if (recorder->head + step > recorder->tail + recorder->capacity &&
            !release(recorder, recorder->head + step - recorder->capacity))
            return false;
        memcpy(recorder->ring + at * recorder->unit, from, step * recorder->unit);
        recorder->head += step;
        from += step * recorder->unit;
        count -= step;
    }
    return true;
}

wh_status wh_recorder_push(wh_recorder *recorder, const void *samples, size_t count, wh_error *error)
{
    if (!recorder->begun || recorder->failed)
        return wh_fail(error, WH_ERR_ARGUMENT, NULL, "the recording was not begun, or has failed");
    bool good = !recorder->restart || start_anew(recorder);
    if (recorder->options.everything) {
        good = good && put(recorder, recorder->head, samples, count);
        recorder->head += count;
    } else {
        good = good && hold(recorder, samples, count);
    }
    recorder->seen += count;
    if (good && (double)(recorder->seen - recorder->checkpoint) > CHECKPOINT_S * recorder->stream.sample_rate_hz) {
        recorder->checkpoint = recorder->seen;
        good = write_meta(recorder, NULL);
    }
    if (good)
        return WH_OK;
    recorder->failed = true;
    return io_failure(recorder->data_path, error);
}

wh_status wh_recorder_finish(wh_recorder *recorder, wh_error *error)
{
    char hex[WH_SHA512_HEX_SIZE];
    wh_status status = WH_OK;
    if (recorder->finished)
        return WH_OK;
    recorder->finished = true;
    if (!recorder->failed && recorder->begun && !recorder->options.everything && !release(recorder, recorder->head))
        status = io_failure(recorder->data_path, error);
    /* What was written by halves when it failed is no part of the recording. */
    if (recorder->unit && ftruncate(recorder->data, (off_t)(recorder->written * recorder->unit)) != 0 &&
        status == WH_OK)
        status = io_failure(recorder->data_path, error);
    wh_sha512_hex(&recorder->hash, hex);
    if (!write_meta(recorder, hex) && status == WH_OK)
        status = io_failure(recorder->meta_path, error);
    const int data = recorder->data, meta = recorder->meta;
    recorder->data = recorder->meta = -1;
    if (close(data) != 0 && status == WH_OK)
        status = io_failure(recorder->data_path, error);
    if (close(meta) != 0 && status == WH_OK)
        status = io_failure(recorder->meta_path, error);
    return status;
}

void wh_recorder_get_stats(const wh_recorder *recorder, wh_recorder_stats *stats)
{
    *stats = (wh_recorder_stats){.written = recorder->written,
                                 .seen = recorder->seen,
                                 .lost = recorder->lost,
                                 .bursts = recorder->burst_count,
                                 .left_out = recorder->left_out};
}

void wh_recorder_destroy(wh_recorder **recorder)
{
    if (!recorder || !*recorder)
        return;
    wh_recorder *r = *recorder;
    if (r->data >= 0)
        close(r->data);
    if (r->meta >= 0)
        close(r->meta);
    free(r->data_path);
    free(r->meta_path);
    free(r->pieces);
    free(r->bursts);
    free(r->ring);
    free(r);
    *recorder = NULL;
}
