#include "burst_shelf.h"

#include "json_writer.h"

#include <pthread.h>
#include <stdlib.h>

struct wh_burst_shelf {
    pthread_mutex_t lock;
    bool changed;
    size_t next, count;                     /* the ring's */
    wh_shelf_burst bursts[WH_SHELF_BURSTS]; /* a ring, the latest before `next` */
};

wh_burst_shelf *wh_burst_shelf_create(void)
{
    wh_burst_shelf *shelf = calloc(1, sizeof *shelf);
    if (shelf)
        pthread_mutex_init(&shelf->lock, NULL);
    return shelf;
}

void wh_burst_shelf_destroy(wh_burst_shelf **shelf)
{
    if (!*shelf)
        return;
    for (size_t i = 0; i < WH_SHELF_BURSTS; i++)
        wh_burst_cut_free(&(*shelf)->bursts[i].cut);
    pthread_mutex_destroy(&(*shelf)->lock);
    free(*shelf);
    *shelf = NULL;
}

/* 0 is the latest. */
static wh_shelf_burst *latest(wh_burst_shelf *shelf, size_t index)
{
    return &shelf->bursts[(shelf->next + WH_SHELF_BURSTS - 1 - index) % WH_SHELF_BURSTS];
}

static wh_shelf_burst *find(wh_burst_shelf *shelf, uint64_t number)
{
    for (size_t i = 0; i < shelf->count; i++)
        if (latest(shelf, i)->burst.number == number)
            return latest(shelf, i);
    return NULL;
}

/* Samples of older bursts go when there are too many. */
static void make_room(wh_burst_shelf *shelf)
{
    size_t cuts = 0, bytes = 0;
    for (size_t i = 0; i < shelf->count; i++) {
        wh_burst_cut *cut = &latest(shelf, i)->cut;
        if (!cut->samples)
            continue;
        cuts++;
        bytes += wh_burst_cut_bytes(cut);
        if (cuts > WH_SHELF_CUTS || bytes > WH_SHELF_BYTES)
            wh_burst_cut_free(cut);
    }
}

void wh_burst_shelf_put(wh_burst_shelf *shelf, const wh_burst *burst, wh_burst_cut *cut)
{
    pthread_mutex_lock(&shelf->lock);
    wh_shelf_burst *place = &shelf->bursts[shelf->next];
    wh_burst_cut_free(&place->cut);
    place->burst = *burst;
    place->attempt_count = place->left_out = 0;
    if (cut) {
        place->cut = *cut;
        cut->samples = NULL;
        cut->count = 0;
    }
    shelf->next = (shelf->next + 1) % WH_SHELF_BURSTS;
    shelf->count += shelf->count < WH_SHELF_BURSTS;
    shelf->changed = true;
    make_room(shelf);
    pthread_mutex_unlock(&shelf->lock);
}

void wh_burst_shelf_attempt(wh_burst_shelf *shelf, const wh_attempt *attempt)
{
    pthread_mutex_lock(&shelf->lock);
    wh_shelf_burst *burst = find(shelf, attempt->burst_number);
    if (burst && burst->attempt_count < WH_SHELF_ATTEMPTS)
        burst->attempts[burst->attempt_count++] = *attempt;
    else if (burst)
        burst->left_out++;
    shelf->changed |= burst != NULL;
    pthread_mutex_unlock(&shelf->lock);
}

bool wh_burst_shelf_changed(wh_burst_shelf *shelf)
{
    pthread_mutex_lock(&shelf->lock);
    const bool changed = shelf->changed;
    shelf->changed = false;
    pthread_mutex_unlock(&shelf->lock);
    return changed;
}

void wh_burst_outcome(wh_text *text, const wh_burst *burst)
{
    if (burst->reason == WH_REASON_DECODED) {
        wh_text_print(text, "read by %s", burst->descriptor);
        return;
    }
    if (burst->descriptor[0])
        wh_text_print(text, "%s came furthest, to %s: ", burst->descriptor, wh_stage_name(burst->stage));
    wh_text_add(text, wh_reason_text(burst->reason));
}

void wh_attempts_furthest_first(const wh_shelf_burst *burst, size_t *order)
{
    size_t count = 0;
    for (size_t decoded = 2; decoded-- > 0;)
        for (size_t stage = WH_STAGE_COUNT; stage-- > 0;)
            for (size_t i = 0; i < burst->attempt_count; i++)
                if ((burst->attempts[i].reason == WH_REASON_DECODED) == (decoded == 1) &&
                    burst->attempts[i].stage == (wh_stage)stage)
                    order[count++] = i;
}

static void put_attempts(wh_text *text, const wh_shelf_burst *burst)
{
    size_t order[WH_SHELF_ATTEMPTS];
    wh_attempts_furthest_first(burst, order);
    wh_json_key(text, "attempts");
    wh_json_open_array(text);
    for (size_t i = 0; i < burst->attempt_count; i++) {
        const wh_attempt *attempt = &burst->attempts[order[i]];
        wh_json_item(text);
        wh_json_open(text);
        wh_json_put_string(text, "descriptor", attempt->descriptor);
        wh_json_put_string(text, "stage", wh_stage_name(attempt->stage));
        wh_json_put_string(text, "reason", wh_reason_name(attempt->reason));
        wh_json_put_string(text, "text", wh_reason_text(attempt->reason));
        wh_json_put_string(text, "detail", attempt->detail);
        wh_json_close(text);
    }
    wh_json_close_array(text);
    wh_json_put_count(text, "attempts_left_out", burst->left_out);
}

static void put_burst(wh_text *text, const wh_shelf_burst *one)
{
    const wh_burst *burst = &one->burst;
    wh_text outcome = {0};
    wh_burst_outcome(&outcome, burst);
    wh_json_item(text);
    wh_json_open(text);
    wh_json_put_count(text, "number", burst->number);
    wh_json_put_fixed(text, "offset_s", burst->offset_s, 3);
    wh_json_put_fixed(text, "carrier_mhz", burst->carrier_hz * 1e-6, 4);
    wh_json_put_fixed(text, "width_khz", burst->width_hz * 1e-3, 1);
    wh_json_put_fixed(text, "length_ms", burst->duration_s * 1e3, 2);
    wh_json_put_fixed(text, "snr_db", burst->snr_db, 1);
    wh_json_put_string(text, "stage", wh_stage_name(burst->stage));
    wh_json_put_string(text, "reason", wh_reason_name(burst->reason));
    wh_json_put_string(text, "outcome", outcome.data ? outcome.data : "");
    put_attempts(text, one);
    wh_json_put_bool(text, "kept", one->cut.samples != NULL);
    wh_json_close(text);
    wh_text_free(&outcome);
}

void wh_burst_shelf_json(wh_burst_shelf *shelf, wh_text *text)
{
    wh_json_open(text);
    wh_json_key(text, "bursts");
    wh_json_open_array(text);
    pthread_mutex_lock(&shelf->lock);
    for (size_t i = 0; i < shelf->count; i++)
        put_burst(text, latest(shelf, i));
    pthread_mutex_unlock(&shelf->lock);
    wh_json_close_array(text);
    wh_json_close(text);
}

bool wh_burst_shelf_copy(wh_burst_shelf *shelf, uint64_t number, wh_shelf_burst *copy)
{
    pthread_mutex_lock(&shelf->lock);
    const wh_shelf_burst *burst = find(shelf, number);
    bool good = burst != NULL;
    if (good) {
        *copy = *burst;
        good = !burst->cut.samples || wh_burst_cut_copy(&burst->cut, &copy->cut);
    }
    pthread_mutex_unlock(&shelf->lock);
    return good;
}
