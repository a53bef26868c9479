#include "outbox.h"

#include "winners.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COPIES_KEPT 64 /* places of copies remembered, to recognise the same emission seen twice */

#define SKIRT_SLACK_S  0.02 /* a weak outline is generous by up to 17 slots at either side */
#define SKIRT_REACH_HZ 300e3
#define SKIRT_DB       10.0 /* a skirt is at least this much weaker, and by 6 dB more for every doubling of ... */
#define SKIRT_UNIT_HZ  30e3 /* ... this distance: side lobes of abrupt keying fall with the square of the distance */
#define SENT_KEPT      32

/* A burst, and what it decoded to. */
typedef struct heard {
    wh_burst burst;
    bool decoded;
    wh_candidate frame; /* valid when decoded */
} heard;

/* Frames with the same bits of one descriptor within its copy window. */
typedef struct pending {
    bool is_burst;
    double start_s, end_s; /* first copy's start, last copy's end */
    /* a burst */
    heard heard;
    size_t attempt_count;
    wh_attempt *attempts; /* owned */
    /* a reading */
    wh_candidate best;       /* the copy with the strongest evidence */
    unsigned copies, frames; /* entries of copy[]; frames in them, counting soft-merged ones */
    wh_candidate copy[COPIES_KEPT];
    bool told; /* early */
    char source[128];
    bool has_time;
    double time_base_s;
    int64_t time_base_us;
} pending;

struct wh_outbox {
    wh_receiver_config config;
    wh_receiver_sink sink;
    wh_receiver_stats *stats;
    size_t count, capacity;
    pending **items; /* in order of start */
    wh_soft_merge *merge;
    uint64_t bursts_sent;
    heard sent[SENT_KEPT]; /* the last bursts sent, a ring */
};

wh_outbox *wh_outbox_create(const wh_receiver_config *config, const wh_receiver_sink *sink, wh_receiver_stats *stats)
{
    wh_outbox *outbox = calloc(1, sizeof *outbox);
    if (!outbox)
        return NULL;
    outbox->config = *config;
    outbox->sink = *sink;
    outbox->stats = stats;
    outbox->merge = wh_soft_merge_create();
    if (!outbox->merge)
        wh_outbox_destroy(&outbox);
    return outbox;
}

static void free_pending(pending *item)
{
    if (item)
        free(item->attempts);
    free(item);
}

void wh_outbox_destroy(wh_outbox **outbox)
{
    if (!outbox || !*outbox)
        return;
    for (size_t i = 0; i < (*outbox)->count; i++)
        free_pending((*outbox)->items[i]);
    free((*outbox)->items);
    wh_soft_merge_destroy(&(*outbox)->merge);
    free(*outbox);
    *outbox = NULL;
}

/* Order of leaving: time, then bursts before readings, then what tells them apart. */
static int compare_pending(const pending *a, const pending *b)
{
    if (a->start_s != b->start_s)
        return a->start_s < b->start_s ? -1 : 1;
    if (a->is_burst != b->is_burst)
        return a->is_burst ? -1 : 1;
    if (a->is_burst)
        return a->heard.burst.carrier_hz < b->heard.burst.carrier_hz
                   ? -1
                   : a->heard.burst.carrier_hz > b->heard.burst.carrier_hz;
    return wh_candidate_compare(&a->best, &b->best);
}

static bool insert(wh_outbox *outbox, pending *item)
{
    if (outbox->count == outbox->capacity) {
        const size_t more = outbox->capacity ? 2 * outbox->capacity : 32;
        pending **items = realloc(outbox->items, more * sizeof(pending *));
        if (!items)
            return false;
        outbox->items = items;
        outbox->capacity = more;
    }
    size_t at = outbox->count++;
    for (; at > 0 && compare_pending(outbox->items[at - 1], item) > 0; at--)
        outbox->items[at] = outbox->items[at - 1];
    outbox->items[at] = item;
    return true;
}

/* Groups whose first copy was taken out begin later: bring the nearly sorted list back in order. */
static void restore_order(wh_outbox *outbox)
{
    for (size_t i = 1; i < outbox->count; i++) {
        pending *item = outbox->items[i];
        size_t at = i;
        for (; at > 0 && compare_pending(outbox->items[at - 1], item) > 0; at--)
            outbox->items[at] = outbox->items[at - 1];
        outbox->items[at] = item;
    }
}

static void remove_item(wh_outbox *outbox, size_t index)
{
    free_pending(outbox->items[index]);
    memmove(&outbox->items[index], &outbox->items[index + 1], (outbox->count - index - 1) * sizeof(pending *));
    outbox->count--;
}

static unsigned frames_in(const wh_candidate *candidate)
{
    return candidate->merged ? candidate->merged : 1;
}

/* Bring a group up to date after its copies changed. */
static void settle(pending *item)
{
    item->start_s = INFINITY;
    item->end_s = 0.0;
    item->best = item->copy[0];
    for (unsigned i = 0; i < item->copies; i++) {
        const wh_candidate *copy = &item->copy[i];
        item->start_s = fmin(item->start_s, copy->start_s);
        item->end_s = fmax(item->end_s, copy->end_s);
        if (wh_candidate_compare(copy, &item->best) < 0)
            item->best = *copy;
    }
    item->frames = 0;
    for (unsigned i = 0; i < item->copies; i++)
        item->frames += frames_in(&item->copy[i]);
    item->best.evidence.copies = item->copies;
    item->best.confidence = wh_confidence(&item->best.evidence);
}

/* Of two claims on the same piece of air: of the same bits the one that stands for more copies stays, else the more confident. */
static bool beats(const wh_candidate *here, const wh_candidate *candidate)
{
    if (wh_candidates_same_frame(here, candidate) && frames_in(here) != frames_in(candidate))
        return frames_in(here) > frames_in(candidate);
    return wh_candidate_compare(here, candidate) <= 0;
}

/* The same emission can come in two outlines (each tone noticed for itself), alone and merged with other copies. True when a claim
 * already here beats the candidate; else the claims that it beats are taken out. *told: one of them was of the same bits, and told
 * early. */
static bool contested(wh_outbox *outbox, const wh_candidate *candidate, bool *told)
{
    for (size_t i = 0; i < outbox->count; i++)
        for (unsigned c = 0; !outbox->items[i]->is_burst && c < outbox->items[i]->copies; c++)
            if (wh_candidates_clash(&outbox->items[i]->copy[c], candidate) &&
                beats(&outbox->items[i]->copy[c], candidate))
                return true;
    for (size_t i = 0; i < outbox->count;) {
        pending *item = outbox->items[i];
        const unsigned before = item->copies;
        for (unsigned c = 0; !item->is_burst && c < item->copies;) {
            if (!wh_candidates_clash(&item->copy[c], candidate)) {
                c++;
                continue;
            }
            *told |= item->told && wh_candidates_same_frame(&item->copy[c], candidate);
            item->copy[c] = item->copy[--item->copies];
        }
        if (!item->is_burst && item->copies == 0) {
            remove_item(outbox, i);
            continue;
        }
        if (!item->is_burst && item->copies < before)
            settle(item);
        i++;
    }
    restore_order(outbox);
    return false;
}

static void make_reading(const wh_outbox *outbox, const pending *item, wh_reading *reading)
{
    const wh_candidate *best = &item->best;
    *reading = (wh_reading){0};
    wh_fields_decode(best->descriptor, &best->frame, outbox->config.site, reading);
    reading->offset_s = item->start_s;
    reading->has_time = item->has_time;
    reading->at_utc_us = item->time_base_us + (int64_t)llround((item->start_s - item->time_base_s) * 1e6);
    snprintf(reading->source, sizeof reading->source, "%s", item->source);
    snprintf(reading->descriptor, sizeof reading->descriptor, "%s", best->descriptor->name);
    reading->confidence = best->confidence;
    reading->carrier_hz = best->carrier_hz;
    reading->snr_db = best->snr_db;
    reading->level_dbfs = best->level_dbfs;
    reading->copies = item->frames;
    reading->repaired_bits = best->repaired_bits;
}

static void tell_early(const wh_outbox *outbox, pending *item)
{
    if (item->told || item->best.confidence < outbox->config.report_minimum)
        return;
    item->told = true;
    if (!outbox->sink.early)
        return;
    wh_reading reading;
    make_reading(outbox, item, &reading);
    outbox->sink.early(outbox->sink.context, &reading);
}

static bool take_candidate(wh_outbox *outbox, const wh_burst_job *job, const wh_candidate *candidate)
{
    bool told = false;
    if (contested(outbox, candidate, &told))
        return true;
    for (size_t i = 0; i < outbox->count; i++) {
        pending *item = outbox->items[i];
        if (item->is_burst || !wh_candidates_same_frame(&item->best, candidate) || item->copies == COPIES_KEPT)
            continue;
        const double window = wh_copy_window_s(candidate->descriptor);
        if (candidate->start_s > item->end_s + window || candidate->end_s + window < item->start_s)
            continue;
        item->copy[item->copies++] = *candidate;
        item->told |= told;
        settle(item);
        tell_early(outbox, item);
        memmove(&outbox->items[i], &outbox->items[i + 1], (outbox->count - i - 1) * sizeof(pending *));
        outbox->count--;
        return insert(outbox, item);
    }
    pending *item = calloc(1, sizeof *item);
    if (!item)
        return false;
    item->copy[0] = *candidate;
    item->copies = 1;
    item->has_time = job->has_time;
    item->time_base_s = job->time_base_s;
    item->time_base_us = job->time_base_us;
    snprintf(item->source, sizeof item->source, "%s", job->burst.source);
    item->told = told;
    settle(item);
    tell_early(outbox, item);
    if (insert(outbox, item))
        return true;
    free_pending(item);
    return false;
}

static bool take_burst(wh_outbox *outbox, const wh_burst_job *job)
{
    pending *item = calloc(1, sizeof *item);
    if (!item)
        return false;
    item->is_burst = true;
    item->heard.burst = job->burst;
    item->heard.decoded = job->winner_count > 0;
    if (job->winner_count > 0)
        item->heard.frame = job->winners[0];
    item->start_s = job->burst.offset_s;
    item->end_s = job->burst.offset_s + job->burst.duration_s;
    if (job->attempt_count) {
        item->attempts = malloc(job->attempt_count * sizeof *item->attempts);
        if (!item->attempts) {
            free_pending(item);
            return false;
        }
        memcpy(item->attempts, job->attempts, job->attempt_count * sizeof *item->attempts);
        item->attempt_count = job->attempt_count;
    }
    if (insert(outbox, item))
        return true;
    free_pending(item);
    return false;
}

bool wh_outbox_take(wh_outbox *outbox, const wh_burst_job *job)
{
    bool kept = take_burst(outbox, job);
    for (size_t i = 0; i < job->winner_count; i++)
        kept = take_candidate(outbox, job, &job->winners[i]) && kept;
    for (size_t i = 0; i < job->soft_count; i++) {
        wh_candidate candidate;
        if (!wh_soft_merge_take(outbox->merge, &job->soft[i], &candidate))
            continue;
        candidate.evidence.carrier_excess_hz = wh_carrier_excess(job, candidate.descriptor, candidate.carrier_hz);
        candidate.confidence = wh_confidence(&candidate.evidence);
        kept = take_candidate(outbox, job, &candidate) && kept;
    }
    return kept;
}

static bool is_skirt_of(const heard *one, const heard *other)
{
    const wh_burst *burst = &one->burst, *strong = &other->burst;
    /* Even a skirt may decode; then it is the very frame that the strong burst decoded to. */
    if (one->decoded && !(other->decoded && wh_candidates_same_frame(&one->frame, &other->frame)))
        return false;
    const double apart = fabs(burst->carrier_hz - strong->carrier_hz);
    const double weaker = fmax(SKIRT_DB, SKIRT_DB + 20.0 * log10(fmax(apart, 1.0) / SKIRT_UNIT_HZ));
    return apart <= SKIRT_REACH_HZ + 0.5 * strong->width_hz && burst->offset_s >= strong->offset_s - SKIRT_SLACK_S &&
           burst->offset_s + burst->duration_s <= strong->offset_s + strong->duration_s + SKIRT_SLACK_S &&
           burst->level_dbfs <= strong->level_dbfs - weaker;
}

/* Everything that overlaps the burst has been heard of when it is sent: see wh_outbox_send. */
static bool is_skirt(const wh_outbox *outbox, const heard *burst)
{
    for (size_t i = 0; i < outbox->count; i++)
        if (outbox->items[i] && outbox->items[i]->is_burst && is_skirt_of(burst, &outbox->items[i]->heard))
            return true;
    for (size_t i = 0; i < SENT_KEPT && i < outbox->bursts_sent; i++)
        if (is_skirt_of(burst, &outbox->sent[i]))
            return true;
    return false;
}

static void send_burst(wh_outbox *outbox, pending *item)
{
    if (is_skirt(outbox, &item->heard)) {
        outbox->stats->skirts++;
        return;
    }
    outbox->sent[outbox->bursts_sent % SENT_KEPT] = item->heard;
    item->heard.burst.number = outbox->bursts_sent++;
    outbox->stats->bursts++;
    outbox->stats->reasons[item->heard.burst.reason]++;
    if (item->heard.burst.reason == WH_REASON_DECODED)
        outbox->stats->bursts_decoded++;
    if (outbox->sink.burst)
        outbox->sink.burst(outbox->sink.context, &item->heard.burst);
    for (size_t i = 0; i < item->attempt_count; i++) {
        item->attempts[i].burst_number = item->heard.burst.number;
        if (outbox->sink.attempt)
            outbox->sink.attempt(outbox->sink.context, &item->attempts[i]);
    }
}

static void send_reading(wh_outbox *outbox, const pending *item)
{
    wh_reading reading;
    make_reading(outbox, item, &reading);
    if (reading.confidence < outbox->config.report_minimum) {
        outbox->stats->readings_weak++;
        return;
    }
    outbox->stats->readings++;
    if (outbox->sink.reading)
        outbox->sink.reading(outbox->sink.context, &reading);
}

void wh_outbox_send(wh_outbox *outbox, double horizon_s)
{
    const double awaited_s = wh_soft_merge_awaited_s(outbox->merge, horizon_s);
    size_t sent = 0;
    for (; sent < outbox->count; sent++) {
        pending *item = outbox->items[sent];
        /* A reading waits for further copies, everything for what might still start before it. */
        const double complete =
            item->end_s + (item->is_burst ? SKIRT_SLACK_S : wh_copy_window_s(item->best.descriptor));
        if (!(complete < horizon_s) || !(item->start_s < awaited_s))
            break;
        if (item->is_burst)
            send_burst(outbox, item);
        else
            send_reading(outbox, item);
        free_pending(item);
        outbox->items[sent] = NULL;
    }
    if (sent > 0)
        memmove(outbox->items, outbox->items + sent, (outbox->count - sent) * sizeof(pending *));
    outbox->count -= sent;
}
