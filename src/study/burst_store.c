#include "burst_store.h"

#include "burst_tap.h"
#include "iq_wide.h"
#include "wheelhark/receiver.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PAUSE_S         0.008 /* bridged: eight zeros of 1 kchip/s. Copies further apart are bursts of their own */
#define LONGEST_S       1.5   /* the most that the tap allows: frames of 256 bits at 1 kchip/s last so long */
#define CLIP_BLOCK      4096  /* samples between marks of how many were clipped */
#define CLIPPED_SHARE   0.002 /* of a burst's samples at full scale: single ones are noise peaks */
#define SKIRT_SLACK_S   0.02  /* a skirt lies within a burst that much ... */
#define SKIRT_WEAKER_DB 15.0  /* ... stronger; outlines are generous by a few slots */
#define SKIRT_REACH_HZ  300e3

struct wh_burst_store {
    wh_receiver *receiver;
    wh_descriptor_set *none;
    wh_study_recording recordings[WH_STUDY_RECORDINGS_MAX];
    size_t recording_count;
    wh_study_burst bursts[WH_STUDY_BURSTS_MAX];
    size_t burst_count, first_of_recording, left_out, samples_kept;
    /* the stretch being taken in */
    wh_stream stream;
    uint64_t stretch_first, pushed; /* in samples of the recording */
    uint16_t *clipped;              /* per CLIP_BLOCK of the stretch */
    size_t clip_capacity;
    bool failed;
};

/* Samples of [start, end) of the stretch at full scale, by blocks. */
static double clipped_share(const wh_burst_store *store, uint64_t start, uint64_t end)
{
    const uint64_t first = start / CLIP_BLOCK, last = end > start ? (end - 1) / CLIP_BLOCK : first;
    double sum = 0.0;
    for (uint64_t b = first; b <= last && b < store->clip_capacity; b++)
        sum += store->clipped[b];
    return sum / fmax(1.0, (double)(end - start));
}

static void take_burst(void *context, const wh_burst_job *job, const wh_outline *outline)
{
    wh_burst_store *store = context;
    wh_study_recording *recording = &store->recordings[store->recording_count - 1];
    recording->bursts++;
    if (store->burst_count == WH_STUDY_BURSTS_MAX || job->count > WH_STUDY_SAMPLES_MAX - store->samples_kept ||
        job->count == 0) {
        store->left_out++;
        return;
    }
    float complex *samples = malloc(job->count * sizeof *samples);
    if (!samples) {
        store->failed = true;
        return;
    }
    memcpy(samples, job->samples, job->count * sizeof *samples);
    store->samples_kept += job->count;
    store->bursts[store->burst_count++] = (wh_study_burst){
        .recording = (unsigned)(store->recording_count - 1),
        .sample = store->stretch_first + outline->start,
        .sample_count = outline->end - outline->start,
        .at_s = job->burst.offset_s,
        .has_time = job->burst.has_time,
        .at_utc_us = job->burst.at_utc_us,
        .duration_s = job->burst.duration_s,
        .width_hz = outline->width_hz,
        .snr_db = outline->snr_db,
        .level_dbfs = job->burst.level_dbfs,
        .centre_hz = job->centre_hz,
        .carrier_hz = job->burst.carrier_hz,
        .centre_known = job->centre_known,
        .cut = outline->cut,
        .clipped = clipped_share(store, outline->start, outline->end) > CLIPPED_SHARE,
        .rate_hz = job->rate_hz,
        .noise_density = job->noise_density,
        .half_width_hz = job->half_width_hz,
        .band_centre_hz = job->band_centre_hz,
        .samples = samples,
        .count = job->count,
        .kind = -1,
    };
}

wh_burst_store *wh_burst_store_create(wh_error *error)
{
    wh_burst_store *store = calloc(1, sizeof *store);
    if (store)
        store->none = wh_descriptor_set_create();
    wh_receiver_config config;
    wh_receiver_config_defaults(&config);
    const wh_receiver_sink sink = {0};
    if (!store || !store->none || wh_receiver_create(&config, store->none, &sink, &store->receiver, NULL) != WH_OK) {
        wh_burst_store_destroy(&store);
        wh_fail(error, WH_ERR_MEMORY, "close other programs", "not enough memory for studying bursts");
        return NULL;
    }
    const wh_burst_tap tap = {take_burst, store, PAUSE_S, LONGEST_S};
    wh_receiver_set_tap(store->receiver, &tap);
    return store;
}

void wh_burst_store_destroy(wh_burst_store **store)
{
    if (!store || !*store)
        return;
    wh_receiver_destroy(&(*store)->receiver);
    wh_descriptor_set_destroy(&(*store)->none);
    for (size_t i = 0; i < (*store)->burst_count; i++)
        free((*store)->bursts[i].samples);
    free((*store)->clipped);
    free(*store);
    *store = NULL;
}

wh_status wh_burst_store_begin_recording(wh_burst_store *store, const char *name, wh_error *error)
{
    if (store->recording_count == WH_STUDY_RECORDINGS_MAX)
        return wh_fail(error, WH_ERR_LIMIT, "study fewer recordings at a time", "more than %d recordings",
                       WH_STUDY_RECORDINGS_MAX);
    wh_study_recording *recording = &store->recordings[store->recording_count++];
    *recording = (wh_study_recording){0};
    snprintf(recording->name, sizeof recording->name, "%s", name);
    store->first_of_recording = store->burst_count;
    store->stretch_first = store->pushed = 0;
    return WH_OK;
}

wh_status wh_burst_store_begin(wh_burst_store *store, const wh_stream *stream, wh_error *error)
{
    if (store->recording_count == 0)
        return wh_fail(error, WH_ERR_ARGUMENT, NULL, "no recording was begun");
    /* The stretch before ends first: its bursts still count from its own start. */
    wh_status status = wh_receiver_finish(store->receiver);
    if (status != WH_OK)
        return wh_fail(error, status, NULL, "the stretch before could not be finished");
    if ((status = wh_receiver_begin(store->receiver, stream, error)) != WH_OK)
        return status;
    wh_study_recording *recording = &store->recordings[store->recording_count - 1];
    recording->sample_rate_hz = stream->sample_rate_hz;
    recording->centre_hz = stream->centre_hz;
    store->stream = *stream;
    store->stretch_first = recording->samples;
    store->pushed = 0;
    if (store->clipped)
        memset(store->clipped, 0, store->clip_capacity * sizeof *store->clipped);
    return WH_OK;
}

static bool reserve_clip_marks(wh_burst_store *store, uint64_t samples)
{
    const size_t blocks = (size_t)(samples / CLIP_BLOCK) + 1;
    if (blocks <= store->clip_capacity)
        return true;
    const size_t capacity = 2 * blocks + 256;
    uint16_t *larger = realloc(store->clipped, capacity * sizeof *larger);
    if (!larger)
        return false;
    memset(larger + store->clip_capacity, 0, (capacity - store->clip_capacity) * sizeof *larger);
    store->clipped = larger;
    store->clip_capacity = capacity;
    return true;
}

wh_status wh_burst_store_push(wh_burst_store *store, const void *samples, size_t count)
{
    const size_t size = wh_iq_bytes(store->stream.format);
    const unsigned char *from = samples;
    wh_study_recording *recording = &store->recordings[store->recording_count ? store->recording_count - 1 : 0];
    if (!reserve_clip_marks(store, store->pushed + count))
        return WH_ERR_MEMORY;
    while (count > 0) {
        const size_t room = CLIP_BLOCK - (size_t)(store->pushed % CLIP_BLOCK), step = count < room ? count : room;
        const size_t clipped = wh_iq_count_clipped(store->stream.format, from, step);
        store->clipped[store->pushed / CLIP_BLOCK] = (uint16_t)(store->clipped[store->pushed / CLIP_BLOCK] + clipped);
        recording->clipped += clipped;
        const wh_status status = wh_receiver_push(store->receiver, from, step);
        if (status != WH_OK)
            return status;
        store->pushed += step;
        recording->samples += step;
        recording->seconds += (double)step / store->stream.sample_rate_hz;
        from += step * size;
        count -= step;
    }
    return store->failed ? WH_ERR_MEMORY : WH_OK;
}

static int by_start(const void *a, const void *b)
{
    const wh_study_burst *x = a, *y = b;
    if (x->sample != y->sample)
        return x->sample < y->sample ? -1 : 1;
    return (x->carrier_hz > y->carrier_hz) - (x->carrier_hz < y->carrier_hz);
}

/* The spread of a strong burst's abrupt keying, seen as an outline of its own. */
static bool is_skirt_of(const wh_study_burst *one, const wh_study_burst *strong)
{
    const double end = one->at_s + one->duration_s, strong_end = strong->at_s + strong->duration_s;
    return one->level_dbfs < strong->level_dbfs - SKIRT_WEAKER_DB && one->at_s >= strong->at_s - SKIRT_SLACK_S &&
           end <= strong_end + SKIRT_SLACK_S &&
           fabs(one->carrier_hz - strong->carrier_hz) < SKIRT_REACH_HZ + 0.5 * strong->width_hz;
}

wh_status wh_burst_store_finish(wh_burst_store *store)
{
    const wh_status status = wh_receiver_finish(store->receiver);
    wh_study_burst *first = store->bursts + store->first_of_recording;
    const size_t count = store->burst_count - store->first_of_recording;
    qsort(first, count, sizeof *first, by_start);
    for (size_t i = 0; i < count; i++)
        for (size_t j = 0; j < count && !first[i].skirt; j++)
            first[i].skirt = j != i && is_skirt_of(&first[i], &first[j]);
    return status != WH_OK ? status : store->failed ? WH_ERR_MEMORY : WH_OK;
}

size_t wh_burst_store_count(const wh_burst_store *store)
{
    return store->burst_count;
}

wh_study_burst *wh_burst_store_at(wh_burst_store *store, size_t index)
{
    return &store->bursts[index];
}

size_t wh_burst_store_recordings(const wh_burst_store *store)
{
    return store->recording_count;
}

const wh_study_recording *wh_burst_store_recording(const wh_burst_store *store, size_t index)
{
    return &store->recordings[index];
}

wh_iq_format wh_burst_store_format(const wh_burst_store *store)
{
    return store->stream.format;
}

size_t wh_burst_store_left_out(const wh_burst_store *store)
{
    return store->left_out;
}

wh_baseband wh_study_baseband(const wh_study_burst *burst)
{
    return (wh_baseband){burst->samples,       burst->count,         burst->rate_hz,
                         burst->noise_density, burst->half_width_hz, burst->band_centre_hz};
}
