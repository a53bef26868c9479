#include "tracks.h"

#include "spectra.h"

#include <math.h>
#include <string.h>

#define NEAR_BINS       2    /* an island this close to a track is the same emission wandering */
#define STILL_THERE     0.25 /* of the mean power so far: a fade of 6 dB is still the burst, its end is not */
#define ALIKE           0.5  /* of the mean power so far: a slot of the burst itself and no longer its end */
#define SIGMAS          3.5
#define SHARED_BINS     1.35 /* neighbouring bins share so much that this many count as one, see WH_SLOT_BIN_CORRELATIONS */
#define LOUD            4.0 /* mean power over what noise reaches by chance: then no slot of the emission looks like noise */
#define RECENT          0.25 /* weight of the newest slot in the running mean of a weak track, which then averages seven ... */
#define RECENT_CHANCE   0.38 /* ... and is so much steadier than one slot: sqrt(0.25 / 1.75) */
#define PLAIN           6.0  /* power over noise in its band that makes every slot of an emission stand out */
#define MATE_SLOTS      3    /* tones of one burst start and end together, within a slot or two of quantisation */
#define MATE_RATIO      12.0 /* 11 dB between the tones' powers: unbalanced data and a fading channel together */
#define WEAK_MATE_SLOTS 10   /* as long as the longest test smears a weak one */
#define LIFT_BINS       2    /* to either side: about as far as a steady carrier reaches anyway */
#define SETTLE_SLOTS    4    /* after closing, wait this long for mates to close */

void wh_tracks_init(wh_tracks *tracks, uint64_t hang_slots, uint64_t longest_slots, size_t mate_bins)
{
    memset(tracks, 0, sizeof *tracks);
    tracks->hang_slots = hang_slots;
    tracks->longest_slots = longest_slots;
    tracks->mate_bins = mate_bins;
}

static void sum_bins(const wh_track *track, const float *spectrum, const float *noise, double *excess, double *floor)
{
    *excess = *floor = 0.0;
    for (size_t b = track->low; b <= track->high; b++) {
        *excess += (double)spectrum[b] - (double)noise[b];
        *floor += (double)noise[b];
    }
}

static bool touches(const wh_track *track, const wh_island *island)
{
    return (size_t)island->low <= track->high + NEAR_BINS && track->low <= (size_t)island->high + NEAR_BINS;
}

static uint64_t distance(uint64_t a, uint64_t b)
{
    return a > b ? a - b : b - a;
}

static void absorb(wh_track *into, const wh_track *other)
{
    /* What single slots show dates a beginning; a weak track's is smeared by the longest test. */
    if (into->strong == other->strong)
        into->start = other->start < into->start ? other->start : into->start;
    else if (other->strong)
        into->start = other->start;
    into->last = other->last > into->last ? other->last : into->last;
    into->low = other->low < into->low ? other->low : into->low;
    into->high = other->high > into->high ? other->high : into->high;
    into->excess += other->excess;
    into->noise += other->noise;
    into->sure_excess += other->sure_excess;
    into->sure_noise += other->sure_noise;
    into->present = other->present > into->present ? other->present : into->present;
    into->sure_present = other->sure_present > into->sure_present ? other->sure_present : into->sure_present;
    into->strong = into->strong || other->strong;
}

static void remove_open(wh_tracks *tracks, size_t index)
{
    memmove(&tracks->open[index], &tracks->open[index + 1], (tracks->open_count - index - 1) * sizeof tracks->open[0]);
    tracks->open_count--;
}

/* Tracks that one island spans and that began together are one emission whose skirts were noticed first: unite them. */
static void unite_touched(wh_tracks *tracks, const wh_island *island)
{
    for (size_t i = 0; i < tracks->open_count; i++) {
        if (!touches(&tracks->open[i], island))
            continue;
        for (size_t j = i + 1; j < tracks->open_count;) {
            const wh_track *other = &tracks->open[j];
            if (touches(other, island) && distance(tracks->open[i].start, other->start) <= MATE_SLOTS) {
                absorb(&tracks->open[i], other);
                remove_open(tracks, j);
            } else {
                j++;
            }
        }
    }
}

/* Let an island extend the tracks it touches. With one track it may widen it; with several it only feeds them. */
static bool feed(wh_tracks *tracks, uint64_t slot, const wh_island *island)
{
    unite_touched(tracks, island);
    wh_track *only = NULL;
    size_t touched = 0;
    for (size_t i = 0; i < tracks->open_count; i++) {
        wh_track *track = &tracks->open[i];
        if (!touches(track, island))
            continue;
        touched++;
        only = track;
        if (!track->strong || island->slots == 1)
            track->last = slot;
        if (island->slots == 1)
            track->strong = true;
    }
    if (touched == 1 && (!only->strong || island->slots == 1)) {
        if (island->low < only->low)
            only->low = island->low;
        if (island->high > only->high)
            only->high = island->high;
    }
    return touched > 0;
}

static void open_track(wh_tracks *tracks, uint64_t slot, const wh_island *island)
{
    if (tracks->open_count == WH_TRACKS_MAX) {
        tracks->dropped++;
        return;
    }
    const uint64_t back = (uint64_t)island->slots - 1;
    tracks->open[tracks->open_count++] = (wh_track){
        .start = slot > back ? slot - back : 0,
        .last = slot,
        .low = island->low,
        .high = island->high,
        .strong = island->slots == 1,
    };
}

bool wh_track_is_plain(const wh_track *track)
{
    return track->strong && track->excess > PLAIN * track->noise;
}

static uint64_t tolerance(const wh_track *a, const wh_track *b)
{
    return wh_track_is_plain(a) && wh_track_is_plain(b) ? MATE_SLOTS : WEAK_MATE_SLOTS;
}

static bool near_in_band(const wh_tracks *tracks, const wh_track *a, const wh_track *b)
{
    const size_t low = a->low < b->low ? a->low : b->low, high = a->high > b->high ? a->high : b->high;
    return high - low <= tracks->mate_bins;
}

/* The two tones of one transmitter are about equally strong. */
static bool alike(const wh_track *a, const wh_track *b)
{
    const double x = a->excess / (double)(a->present ? a->present : 1),
                 y = b->excess / (double)(b->present ? b->present : 1);
    return x <= MATE_RATIO * y && y <= MATE_RATIO * x;
}

static bool mates(const wh_tracks *tracks, const wh_track *a, const wh_track *b)
{
    const uint64_t slack = tolerance(a, b);
    return !a->cut && !b->cut && alike(a, b) && distance(a->start, b->start) <= slack &&
           distance(a->last, b->last) <= slack && near_in_band(tracks, a, b);
}

/* Might an open track still turn out to be the mate of a closed one? */
static bool awaits_mate(const wh_tracks *tracks, const wh_track *closed)
{
    for (size_t i = 0; i < tracks->open_count; i++) {
        const wh_track *open = &tracks->open[i];
        const uint64_t slack = tolerance(closed, open);
        if (distance(closed->start, open->start) <= slack && near_in_band(tracks, closed, open) &&
            (open->last <= closed->last || open->last - closed->last <= slack))
            return true;
    }
    return false;
}

static void close_track(wh_tracks *tracks, size_t index, uint64_t slot)
{
    wh_track track = tracks->open[index];
    remove_open(tracks, index);
    track.closed_at = slot;
    if (track.sure_present > 0) {
        track.excess = track.sure_excess;
        track.noise = track.sure_noise;
        track.present = track.sure_present;
    }
    if (tracks->closed_count == WH_TRACKS_MAX) {
        tracks->dropped++;
        return;
    }
    tracks->closed[tracks->closed_count++] = track;
}

/* Give the oldest closed track with all its mates, if nothing can join any more. */
static bool give_one(wh_tracks *tracks, uint64_t slot, bool at_end, wh_emission_fn give, void *context)
{
    for (size_t i = 0; i < tracks->closed_count; i++) {
        const wh_track first = tracks->closed[i];
        if (!at_end && !first.cut && (slot < first.closed_at + SETTLE_SLOTS || awaits_mate(tracks, &first)))
            continue;
        wh_track emission = first;
        size_t kept = 0;
        for (size_t j = 0; j < tracks->closed_count; j++) {
            if (j == i)
                continue;
            if (mates(tracks, &first, &tracks->closed[j]))
                absorb(&emission, &tracks->closed[j]);
            else
                tracks->closed[kept++] = tracks->closed[j];
        }
        tracks->closed_count = kept;
        give(context, &emission);
        return true;
    }
    return false;
}

static void settle_slot(wh_track *track, uint64_t slot, const float *spectrum, const float *noise, wh_scan *scan)
{
    double excess, floor;
    sum_bins(track, spectrum, noise, &excess, &floor);
    /* Noise alone makes an excess of 0 +- floor / sqrt(independent powers): more than three times that is needed as well. */
    const double bins = (double)(track->high - track->low + 1);
    const double chance = SIGMAS * floor / sqrt(WH_SLOT_AVERAGES * (1.0 + (bins - 1.0) / SHARED_BINS));
    const double mean = track->present > 0 ? track->excess / (double)track->present : 0.0;
    track->recent = track->present > 0 ? track->recent + RECENT * (excess - track->recent) : excess;
    /* A loud track ends when it is gone; a weak one when it has been gone on average, for single slots of it drown in noise. */
    const bool loud = mean > LOUD * chance;
    const bool there =
        track->present > 0 && (loud ? excess >= chance && excess >= STILL_THERE * mean
                                    : track->recent >= RECENT_CHANCE * chance && track->recent >= STILL_THERE * mean);
    if (track->strong && there)
        track->last = slot;
    if (track->last != slot)
        return;
    track->excess += excess > 0.0 ? excess : 0.0;
    track->noise += floor;
    track->present++;
    if (excess >= ALIKE * mean) {
        track->sure_excess = track->excess;
        track->sure_noise = track->noise;
        track->sure_present = track->present;
    }
    if (track->strong)
        wh_scan_settle(scan, track->low, track->high);
}

/* A given-up track's bins become noise at once. One slot is a rough measure of what is noise, and a floor left too low would raise
 * alarms that keep it from rising: so no bin's floor stays below the mean around it. */
static void lift_noise(const wh_track *track, const float *spectrum, float *noise, size_t bins)
{
    for (size_t b = track->low; b <= track->high; b++) {
        const size_t from = b > LIFT_BINS ? b - LIFT_BINS : 0, to = b + LIFT_BINS < bins ? b + LIFT_BINS : bins - 1;
        float mean = 0.0f;
        for (size_t i = from; i <= to; i++)
            mean += spectrum[i] / (float)(to - from + 1);
        noise[b] = fmaxf(noise[b], fmaxf(spectrum[b], mean));
    }
}

void wh_tracks_slot(wh_tracks *tracks, uint64_t slot, const wh_island *islands, size_t count, const float *spectrum,
                    float *noise, wh_scan *scan, unsigned char *held, size_t bins, wh_emission_fn give, void *context)
{
    for (size_t i = 0; i < count; i++)
        if (!feed(tracks, slot, &islands[i]))
            open_track(tracks, slot, &islands[i]);
    memset(held, 0, bins);
    for (size_t i = 0; i < tracks->open_count;) {
        wh_track *track = &tracks->open[i];
        settle_slot(track, slot, spectrum, noise, scan);
        memset(held + track->low, 1, track->high - track->low + 1);
        if (slot - track->start >= tracks->longest_slots) {
            track->cut = true;
            lift_noise(track, spectrum, noise, bins);
            close_track(tracks, i, slot);
        } else if (slot - track->last > (track->strong ? tracks->hang_slots : tracks->hang_slots + 2)) {
            close_track(tracks, i, slot);
        } else {
            i++;
        }
    }
    while (give_one(tracks, slot, false, give, context)) {
    }
}

void wh_tracks_finish(wh_tracks *tracks, wh_emission_fn give, void *context)
{
    while (tracks->open_count)
        close_track(tracks, 0, tracks->open[0].last);
    while (give_one(tracks, 0, true, give, context)) {
    }
}

uint64_t wh_tracks_earliest(const wh_tracks *tracks, uint64_t slot)
{
    uint64_t earliest = slot;
    for (size_t i = 0; i < tracks->open_count; i++)
        earliest = tracks->open[i].start < earliest ? tracks->open[i].start : earliest;
    for (size_t i = 0; i < tracks->closed_count; i++)
        earliest = tracks->closed[i].start < earliest ? tracks->closed[i].start : earliest;
    return earliest;
}
