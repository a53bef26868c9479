#include "tracks.h"

#include <math.h>
#include <string.h>

#define NEAR_BINS       2    /* an island this close to a track is the same emission wandering */
#define MATE_SLOTS      3    /* tones of one burst start and end together, within a slot or two of quantisation */
#define MATE_RATIO      12.0 /* 11 dB between the tones' powers: unbalanced data and a fading channel together */
#define WEAK_MATE_SLOTS 10   /* as far as the ends of a weak one may be off */
/* 10 dB: so far below its emission is the first side lobe of keying at most (13 dB by theory, and the slots in which it begins and ends
 * know its power badly: with 13 dB eight times as many side lobes are told). */
#define SKIRT      10.0
#define LIFT_BINS  2 /* to either side: about as far as a steady carrier reaches anyway */
#define EDGE_SLOTS 2 /* by so much ends of emissions are off */
#define REMEMBER_SLOTS                                                                                                 \
    48 /* what was given is remembered for weak ones beside it, which close later by WH_TRACK_SILENT_SLOTS */
#define SETTLE_SLOTS 4 /* after closing, wait this long for mates to close */

void wh_tracks_init(wh_tracks *tracks, uint64_t hang_slots, uint64_t longest_slots, size_t mate_bins, size_t skirt_bins,
                    size_t cover_bins)
{
    memset(tracks, 0, sizeof *tracks);
    tracks->hang_slots = hang_slots;
    tracks->longest_slots = longest_slots;
    tracks->mate_bins = mate_bins;
    tracks->skirt_bins = skirt_bins;
    tracks->cover_bins = cover_bins;
}

static bool touches(const wh_track *track, const wh_island *island)
{
    return (size_t)island->low <= track->high + NEAR_BINS && track->low <= (size_t)island->high + NEAR_BINS;
}

static uint64_t distance(uint64_t a, uint64_t b)
{
    return a > b ? a - b : b - a;
}

static double share_of(double slots, const wh_track *track)
{
    return track->present > 0 ? slots / (double)track->present : 1.0;
}

static void absorb(wh_track *into, const wh_track *other)
{
    /* What single slots show dates a beginning best. */
    if (into->strong == other->strong)
        into->start = other->start < into->start ? other->start : into->start;
    else if (other->strong)
        into->start = other->start;
    into->last = other->last > into->last ? other->last : into->last;
    into->low = other->low < into->low ? other->low : into->low;
    into->high = other->high > into->high ? other->high : into->high;
    into->skirt_low = other->skirt_low < into->skirt_low ? other->skirt_low : into->skirt_low;
    into->skirt_high = other->skirt_high > into->skirt_high ? other->skirt_high : into->skirt_high;
    /* Powers add up, whatever the number of slots in which each was measured; the stronger one's number is the better known. */
    const double slots = (double)(other->excess > into->excess ? other : into)->present;
    const double own = share_of(slots, into), others = share_of(slots, other);
    into->excess = own * into->excess + others * other->excess;
    into->noise = own * into->noise + others * other->noise;
    into->present = (uint64_t)slots;
    into->later_excess += other->later_excess;
    into->later_noise += other->later_noise;
    into->later = other->later > into->later ? other->later : into->later;
    into->held = fmax(into->held, other->held);
    into->over = fmin(into->over, other->over);
    into->strong = into->strong || other->strong;
}

static void remove_open(wh_tracks *tracks, size_t index)
{
    memmove(&tracks->open[index], &tracks->open[index + 1], (tracks->open_count - index - 1) * sizeof tracks->open[0]);
    tracks->open_count--;
}

static size_t width_of(const wh_track *track)
{
    return track->high - track->low + 1;
}

/* What follows is compared with what was measured: over the same bins, which held noise before too. */
static void take_width(wh_track *track, size_t width_before)
{
    const double more = (double)width_of(track) / (double)width_before;
    track->noise *= more;
    track->later_noise *= more;
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
                const size_t widths = width_of(&tracks->open[i]) + width_of(other);
                absorb(&tracks->open[i], other);
                take_width(&tracks->open[i], widths);
                remove_open(tracks, j);
            } else {
                j++;
            }
        }
    }
}

static void widen(size_t *low, size_t *high, const wh_island *island)
{
    *low = island->low < *low ? island->low : *low;
    *high = island->high > *high ? island->high : *high;
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
        if (island->slots == 1) {
            track->strong = true;
            track->last = slot;
        }
    }
    if (touched == 1 && (!only->strong || island->slots == 1)) {
        const size_t before = width_of(only);
        widen(&only->low, &only->high, island);
        widen(&only->skirt_low, &only->skirt_high, island);
        take_width(only, before);
    }
    return touched > 0;
}

static double power_of(const wh_track *track)
{
    return track->present > 0 ? track->excess / (double)track->present : 0.0;
}

static bool is_beside(const wh_track *strong, size_t low, size_t high, size_t reach)
{
    return low <= strong->high + reach && strong->low <= high + reach;
}

/* Both powers over the slots in which the island was seen: the strong one may have been there for a part of them only. */
static bool has_skirt(const wh_tracks *tracks, const wh_track *strong, uint64_t slot, const wh_island *island)
{
    const uint64_t first = slot + 1 > island->slots ? slot + 1 - island->slots : 0;
    const uint64_t from = strong->start > first ? strong->start : first, to = strong->last < slot ? strong->last : slot;
    const double share = to < from ? 0.0 : (double)(to - from + 1) / island->slots;
    return strong->strong && share * power_of(strong) > SKIRT * island->power &&
           is_beside(strong, island->low, island->high, tracks->skirt_bins);
}

/* Is the island no more than what a much stronger emission beside it spreads? Then that emission has it in its outline, where what is
 * weaker is looked for in any case. The longer tests see such things for a while after. */
static bool is_skirt(wh_tracks *tracks, uint64_t slot, const wh_island *island)
{
    wh_track *best = NULL;
    for (size_t i = 0; i < tracks->open_count; i++) {
        wh_track *track = &tracks->open[i];
        if (has_skirt(tracks, track, slot, island) && (!best || power_of(track) > power_of(best)))
            best = track;
    }
    if (best)
        widen(&best->skirt_low, &best->skirt_high, island);
    bool spread = best != NULL;
    for (size_t i = 0; i < tracks->closed_count && !spread; i++)
        spread = has_skirt(tracks, &tracks->closed[i], slot, island);
    return spread;
}

static void open_track(wh_tracks *tracks, const wh_scan *scan, uint64_t slot, const wh_island *island,
                       const float *noise)
{
    if (tracks->open_count == WH_TRACKS_MAX) {
        tracks->dropped++;
        return;
    }
    tracks->open[tracks->open_count++] = wh_track_begin(scan, slot, island, noise);
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
    return power_of(a) <= MATE_RATIO * power_of(b) && power_of(b) <= MATE_RATIO * power_of(a);
}

/* Is there something much stronger between them? Then they are its skirts, or one of them is. */
static bool divides(const wh_track *c, const wh_track *a, const wh_track *b)
{
    const bool between = a->low < b->low ? c->low > a->low && c->high < b->high : c->low > b->low && c->high < a->high;
    return between && power_of(c) > SKIRT * fmax(power_of(a), power_of(b)) && c->start <= a->last &&
           c->last >= a->start;
}

static bool divided(const wh_tracks *tracks, const wh_track *a, const wh_track *b)
{
    for (size_t i = 0; i < tracks->open_count; i++)
        if (divides(&tracks->open[i], a, b))
            return true;
    for (size_t i = 0; i < tracks->closed_count; i++)
        if (divides(&tracks->closed[i], a, b))
            return true;
    return false;
}

static bool mates(const wh_tracks *tracks, const wh_track *a, const wh_track *b)
{
    const uint64_t slack = tolerance(a, b);
    return !a->cut && !b->cut && alike(a, b) && distance(a->start, b->start) <= slack &&
           distance(a->last, b->last) <= slack && near_in_band(tracks, a, b) && !divided(tracks, a, b);
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

static void forget_given(wh_tracks *tracks, uint64_t slot)
{
    size_t kept = 0;
    for (size_t i = 0; i < tracks->closed_count; i++)
        if (!tracks->closed[i].given || slot < tracks->closed[i].closed_at + REMEMBER_SLOTS)
            tracks->closed[kept++] = tracks->closed[i];
    tracks->closed_count = kept;
}

static void close_track(wh_tracks *tracks, size_t index, uint64_t slot)
{
    wh_track track = tracks->open[index];
    remove_open(tracks, index);
    track.closed_at = slot;
    if (tracks->closed_count == WH_TRACKS_MAX)
        forget_given(tracks, UINT64_MAX);
    if (tracks->closed_count == WH_TRACKS_MAX) {
        tracks->dropped++;
        return;
    }
    tracks->closed[tracks->closed_count++] = track;
}

/* A weak emission beside a much stronger one can often be read only after the stronger one was taken out of the samples: then both must
 * be in one outline. */
static bool is_covered(const wh_tracks *tracks, const wh_track *strong, const wh_track *weak)
{
    return strong->strong && power_of(strong) > SKIRT * power_of(weak) &&
           is_beside(strong, weak->low, weak->high, tracks->cover_bins) && weak->start <= strong->last + EDGE_SLOTS &&
           weak->last + EDGE_SLOTS >= strong->start;
}

static bool awaits_covered(const wh_tracks *tracks, const wh_track *closed, uint64_t slot)
{
    for (size_t i = 0; i < tracks->open_count && slot < closed->closed_at + WH_TRACKS_COVER_SLOTS; i++)
        if (is_covered(tracks, closed, &tracks->open[i]))
            return true;
    return false;
}

/* The weak ones are given for themselves as well: the strong one may be what no descriptor reads. */
static void cover(const wh_tracks *tracks, wh_track *emission)
{
    const wh_track strong = *emission;
    const uint64_t earliest = strong.start > WH_TRACKS_COVER_SLOTS ? strong.start - WH_TRACKS_COVER_SLOTS : 0;
    const uint64_t latest = strong.last + WH_TRACKS_COVER_SLOTS;
    for (size_t i = 0; i < tracks->closed_count; i++) {
        const wh_track *weak = &tracks->closed[i];
        if (!is_covered(tracks, &strong, weak))
            continue;
        const uint64_t start = weak->start > earliest ? weak->start : earliest;
        const uint64_t last = weak->last < latest ? weak->last : latest;
        emission->start = start < emission->start ? start : emission->start;
        emission->last = last > emission->last ? last : emission->last;
        emission->skirt_low = weak->low < emission->skirt_low ? weak->low : emission->skirt_low;
        emission->skirt_high = weak->high > emission->skirt_high ? weak->high : emission->skirt_high;
    }
}

static void look_behind(const wh_tracks *tracks, wh_track *emission, const wh_track *other)
{
    if (power_of(other) <= SKIRT * power_of(emission) || !near_in_band(tracks, emission, other))
        return;
    const bool began = emission->start + EDGE_SLOTS >= other->start && emission->start <= other->last + EDGE_SLOTS;
    const bool ended = emission->last + EDGE_SLOTS >= other->start && emission->last <= other->last + EDGE_SLOTS;
    emission->hidden_before = emission->hidden_before || began;
    emission->hidden_after = emission->hidden_after || ended;
}

/* Beside a much stronger emission a weak one is seen late and lost early: its ends are in doubt when they lie there. */
static void mark_hidden(const wh_tracks *tracks, wh_track *emission)
{
    for (size_t i = 0; i < tracks->open_count; i++)
        look_behind(tracks, emission, &tracks->open[i]);
    for (size_t i = 0; i < tracks->closed_count; i++)
        look_behind(tracks, emission, &tracks->closed[i]);
}

/* Give the oldest closed track with all its mates, if nothing can join any more. */
static bool give_one(wh_tracks *tracks, uint64_t slot, bool at_end, wh_emission_fn give, void *context)
{
    for (size_t i = 0; i < tracks->closed_count; i++) {
        wh_track *first = &tracks->closed[i];
        if (first->given)
            continue;
        if (!at_end && !first->cut &&
            (slot < first->closed_at + SETTLE_SLOTS || awaits_mate(tracks, first) ||
             awaits_covered(tracks, first, slot)))
            continue;
        wh_track emission = *first;
        first->given = true;
        for (size_t j = 0; j < tracks->closed_count; j++) {
            if (tracks->closed[j].given || !mates(tracks, first, &tracks->closed[j]))
                continue;
            absorb(&emission, &tracks->closed[j]);
            tracks->closed[j].given = true;
        }
        mark_hidden(tracks, &emission);
        cover(tracks, &emission);
        give(context, &emission);
        return true;
    }
    return false;
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

/* Strongest first, so that what it spreads is known for what it is. */
static void sort_by_power(wh_island *islands, size_t count)
{
    for (size_t i = 1; i < count; i++) {
        const wh_island island = islands[i];
        size_t at = i;
        for (; at > 0 && islands[at - 1].power < island.power; at--)
            islands[at] = islands[at - 1];
        islands[at] = island;
    }
}

void wh_tracks_slot(wh_tracks *tracks, uint64_t slot, wh_island *islands, size_t count, const float *spectrum,
                    float *noise, wh_scan *scan, unsigned char *held, size_t bins, wh_emission_fn give, void *context)
{
    sort_by_power(islands, count);
    for (size_t i = 0; i < count; i++)
        if (!feed(tracks, slot, &islands[i]) && !is_skirt(tracks, slot, &islands[i]))
            open_track(tracks, scan, slot, &islands[i], noise);
    memset(held, 0, bins);
    for (size_t i = 0; i < tracks->open_count;) {
        wh_track *track = &tracks->open[i];
        wh_track_follow(track, slot, spectrum, noise);
        if (track->strong && track->last == slot)
            wh_scan_settle(scan, track->skirt_low, track->skirt_high);
        memset(held + track->low, 1, track->high - track->low + 1);
        if (slot - track->start >= tracks->longest_slots) {
            track->cut = true;
            lift_noise(track, spectrum, noise, bins);
            close_track(tracks, i, slot);
        } else if (wh_track_is_over(track, slot, tracks->hang_slots)) {
            close_track(tracks, i, slot);
        } else {
            i++;
        }
    }
    while (give_one(tracks, slot, false, give, context)) {
    }
    forget_given(tracks, slot);
}

void wh_tracks_finish(wh_tracks *tracks, wh_emission_fn give, void *context)
{
    while (tracks->open_count)
        close_track(tracks, 0, tracks->open[0].last);
    while (give_one(tracks, 0, true, give, context)) {
    }
    tracks->closed_count = 0;
}

uint64_t wh_tracks_earliest(const wh_tracks *tracks, uint64_t slot)
{
    uint64_t earliest = slot;
    for (size_t i = 0; i < tracks->open_count; i++)
        earliest = tracks->open[i].start < earliest ? tracks->open[i].start : earliest;
    for (size_t i = 0; i < tracks->closed_count; i++)
        if (!tracks->closed[i].given && tracks->closed[i].start < earliest)
            earliest = tracks->closed[i].start;
    return earliest;
}
