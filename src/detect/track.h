/* A track: one band followed over slots, from where it most likely began to where it most likely ended. */
#ifndef WH_TRACK_H
#define WH_TRACK_H

#include "scan.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* However little tells against it, a track is over after so long. */
#define WH_TRACK_SILENT_SLOTS 32
/* A pulse shows in one slot, or two; no frame is so short. */
#define WH_TRACK_HELD 3

typedef struct wh_track {
    uint64_t start, last;             /* first and last slot with energy */
    uint64_t closed_at;               /* slot of closing */
    size_t low, high;                 /* bins */
    size_t skirt_low, skirt_high;     /* with what its keying spreads nearby */
    double excess;                    /* power above noise, summed over slots and bins from start to last */
    double noise;                     /* noise floor over the same bins, summed likewise */
    uint64_t present;                 /* number of these slots */
    double later_excess, later_noise; /* the same sums since the last slot */
    uint64_t later;
    double before[WH_TRACK_HELD - 1]; /* power over noise, less 1, of the slots before the newest */
    double held; /* the most that was reached in so many slots on end: a frame's level, of pulses nothing */
    double over; /* evidence that it has ended since, as a log-likelihood ratio */
    bool strong; /* seen within single slots */
    bool cut;    /* given up for its length */
    bool hidden_before, hidden_after; /* its ends lie beside something much stronger */
    bool given;                       /* told, and kept for those who may belong to it */
} wh_track;

/* Begin with what was found in `slot`, the newest of the scan: looks back for the beginning. */
wh_track wh_track_begin(const wh_scan *scan, uint64_t slot, const wh_island *island, const float *noise);
/* Take the newest slot: is it still there? */
void wh_track_follow(wh_track *track, uint64_t slot, const float *spectrum, const float *noise);
/* Has it been silent for so long that it is over? hang_slots: how long it may pause. */
bool wh_track_is_over(const wh_track *track, uint64_t slot, uint64_t hang_slots);
/* Does every slot of it stand out of the noise, so that its ends are known to a slot or two? */
bool wh_track_is_plain(const wh_track *track);
/* By how many slots its ends may be off. */
uint64_t wh_track_doubt(const wh_track *track);

#endif
