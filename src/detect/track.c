#include "track.h"

#include "spectra.h"

#include <math.h>

/* A loud emission ends when it is gone. */
#define SIGMAS      3.5
#define LOUD        4.0 /* mean power over what noise reaches by chance: then no slot of the emission looks like noise */
#define STILL_THERE 0.25 /* of the mean power so far: a fade of 6 dB is still the burst, its end is not */

/* Any other one ends when the slots since speak for noise: Page's test on the log-likelihood ratio, which also dates the end. It asks for
 * SHARE of the mean power, because keying, fading and the luck of having been noticed make the mean a little too high, and for ENOUGH
 * evidence. In a burst of 100 slots at the limit of the tests the sum reaches -ENOUGH by chance with a probability of about
 * 100 exp(-ENOUGH) = 3 %; after a burst there it takes some 15 slots to reach it. From 6 to 12 as many bursts stay whole, with 4 some fall
 * apart (slowly keyed ones, test_detect_shares). */
#define SHARE  0.6
#define ENOUGH 8.0

/* The place where the evidence is greatest is off by n slots with a probability that falls like exp(-n D), where D is the evidence that a
 * slot gives in the mean: exp(-DOUBT) remains outside of DOUBT / D slots. */
#define DOUBT      5.0
#define DOUBT_MOST 8

#define SHARED_BINS 1.35 /* neighbouring bins share so much that this many count as one, see WH_SLOT_BIN_CORRELATIONS */
#define PLAIN       6.0  /* power over noise in its band that makes every slot of an emission stand out */

/* Independent powers in a slot. */
static double averages(const wh_track *track)
{
    return WH_SLOT_AVERAGES * (1.0 + (double)(track->high - track->low) / SHARED_BINS);
}

/* Log-likelihood ratio of a burst of mean power `mean` against noise alone, both over the noise, when `ratio` was seen as the mean
 * of `count` independent powers: these are gamma distributed around 1 + mean, or around 1. */
static double evidence(double ratio, double mean, double count)
{
    return count * (ratio * mean / (1.0 + mean) - log1p(mean));
}

static double mean_of(const wh_track *track)
{
    const double noise = track->noise + track->later_noise;
    return noise > 0.0 ? fmax(0.0, track->excess + track->later_excess) / noise : 0.0;
}

static double floor_of(const wh_track *track, const float *noise)
{
    double sum = 0.0;
    for (size_t b = track->low; b <= track->high; b++)
        sum += (double)noise[b];
    return sum;
}

static bool is_loud(const wh_track *track, double mean)
{
    return mean > LOUD * SIGMAS / sqrt(averages(track));
}

static void be_there(wh_track *track, uint64_t slot)
{
    track->last = slot;
    track->over = 0.0;
    track->excess += track->later_excess;
    track->noise += track->later_noise;
    track->present += track->later;
    track->later_excess = track->later_noise = 0.0;
    track->later = 0;
}

static void hold(wh_track *track, double risen)
{
    double least = risen;
    for (size_t i = WH_TRACK_HELD - 1; i-- > 0;) {
        least = fmin(least, track->before[i]);
        track->before[i] = i > 0 ? track->before[i - 1] : risen;
    }
    track->held = fmax(track->held, least);
}

/* ratio: power over noise, mean of the bins. */
static void take(wh_track *track, uint64_t slot, double ratio, double floor)
{
    hold(track, ratio - 1.0);
    const double excess = (ratio - 1.0) * floor, mean = mean_of(track);
    const bool loud = is_loud(track, mean);
    if (loud && (excess < SIGMAS / sqrt(averages(track)) * floor || ratio - 1.0 < STILL_THERE * mean))
        return;
    track->later_excess += excess;
    track->later_noise += floor;
    track->later++;
    if (!loud)
        track->over -= evidence(ratio, SHARE * mean, averages(track));
    if (loud || track->over <= 0.0)
        be_there(track, slot);
}

/* Backwards: the beginning is where the evidence for a burst of that power from there to now is greatest. */
static uint64_t slots_before(const wh_scan *scan, const wh_track *track, uint64_t slot, double mean, double *best)
{
    const double count = averages(track);
    const size_t singles = slot % 4 + 5; /* then the fours that are remembered begin */
    double sum = 0.0;
    uint64_t at = 0;
    size_t back = 0;
    *best = -INFINITY;
    for (; back < singles && sum > *best - ENOUGH; back++) {
        sum += evidence(wh_scan_past(scan, track->low, track->high, back), mean, count);
        if (sum > *best) {
            *best = sum;
            at = back;
        }
    }
    for (size_t fours = back < singles ? WH_SCAN_PAST : 2; fours <= WH_SCAN_PAST / 4 && sum > *best - ENOUGH; fours++) {
        back += 4;
        sum += 4.0 * evidence(wh_scan_past_four(scan, track->low, track->high, fours), mean, count);
        if (sum > *best) {
            *best = sum;
            at = back - 1;
        }
    }
    return at;
}

wh_track wh_track_begin(const wh_scan *scan, uint64_t slot, const wh_island *island, const float *noise)
{
    wh_track track = {.start = slot, .last = slot, .low = island->low, .high = island->high};
    track.skirt_low = track.low;
    track.skirt_high = track.high;
    track.strong = island->slots == 1;
    const double floor = floor_of(&track, noise);
    const size_t slots = island->slots < WH_SCAN_SLOTS ? island->slots : WH_SCAN_SLOTS;
    double mean = 0.0;
    for (size_t back = 0; back < slots; back++)
        mean += wh_scan_past(scan, track.low, track.high, back) - 1.0;
    mean = fmax(mean / (double)slots, 1e-6);
    /* What a single slot shows may be no more than the strongest moment; look for its half and quarter as well. */
    const int halvings = track.strong ? 2 : 0;
    double best = -INFINITY;
    for (int halves = 0; halves <= halvings; halves++) {
        const double part = ldexp(mean, -halves);
        double sum;
        const uint64_t before = slots_before(scan, &track, slot, track.strong ? part : SHARE * part, &sum);
        if (sum > best) {
            best = sum;
            track.start = slot > before ? slot - before : 0;
            track.excess = (is_loud(&track, mean) ? mean : part) * floor;
        }
    }
    track.noise = floor;
    track.present = 1;
    const double guess = track.excess;
    const uint64_t before = slot - track.start;
    for (uint64_t back = before < WH_SCAN_SLOTS ? before : WH_SCAN_SLOTS - 1; back > 0; back--)
        take(&track, slot - back, wh_scan_past(scan, track.low, track.high, (size_t)back), floor);
    if (track.present > 1) { /* what was seen, in place of what was guessed */
        track.excess -= guess;
        track.noise -= floor;
        track.present--;
    }
    return track;
}

void wh_track_follow(wh_track *track, uint64_t slot, const float *spectrum, const float *noise)
{
    const double floor = floor_of(track, noise), power = floor_of(track, spectrum);
    if (track->present == 0) {
        track->excess = fmax(0.0, power - floor);
        track->noise = floor;
        track->present = 1;
        return;
    }
    take(track, slot, power / floor, floor);
}

bool wh_track_is_over(const wh_track *track, uint64_t slot, uint64_t hang_slots)
{
    const uint64_t silent = slot - track->last;
    if (is_loud(track, mean_of(track)))
        return silent > hang_slots;
    /* The longest test sees a weak one for so long. */
    const uint64_t least = hang_slots > WH_SCAN_SLOTS ? hang_slots : WH_SCAN_SLOTS;
    return silent > least && (track->over > ENOUGH || silent > WH_TRACK_SILENT_SLOTS);
}

bool wh_track_is_plain(const wh_track *track)
{
    return track->strong && track->excess > PLAIN * track->noise;
}

uint64_t wh_track_doubt(const wh_track *track)
{
    const double mean = track->noise > 0.0 ? track->excess / track->noise : 0.0;
    const double a_slot = averages(track) * (mean - log1p(mean));
    return a_slot * DOUBT_MOST > DOUBT ? (uint64_t)ceil(DOUBT / a_slot) : DOUBT_MOST;
}
