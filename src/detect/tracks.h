/* Tracks: islands followed over slots, closed when silent, and grouped into emissions (the two tones of a frequency-shift
 * keyed burst are two islands that come and go together). */
#ifndef WH_TRACKS_H
#define WH_TRACKS_H

#include "scan.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define WH_TRACKS_MAX 96

typedef struct wh_track {
    uint64_t start, last;           /* first and last slot with energy */
    uint64_t closed_at;             /* slot of closing */
    size_t low, high;               /* bins */
    double excess;                  /* power above noise, summed over present slots and bins */
    double noise;                   /* noise floor over the same bins, summed likewise */
    double recent;                  /* running mean of the excess */
    uint64_t present;               /* slots with energy */
    double sure_excess, sure_noise; /* the same sums up to the last slot that by itself looked like the others ... */
    uint64_t sure_present;          /* ... and their number: closing takes off what only the running mean bridged */
    bool strong;                    /* seen within single slots */
    bool cut;                       /* given up for its length */
} wh_track;

typedef struct wh_tracks {
    uint64_t hang_slots, longest_slots;
    size_t mate_bins; /* tones may be this far apart */
    size_t open_count, closed_count;
    wh_track open[WH_TRACKS_MAX], closed[WH_TRACKS_MAX];
    uint64_t dropped;
} wh_tracks;

/* Does every slot of it stand out of the noise, so that its ends are known to a slot or two? */
bool wh_track_is_plain(const wh_track *track);

/* A group of tracks that make one emission: their union. */
typedef void (*wh_emission_fn)(void *context, const wh_track *emission);

void wh_tracks_init(wh_tracks *tracks, uint64_t hang_slots, uint64_t longest_slots, size_t mate_bins);
/* Take one slot's islands and spectrum. held[bins] is set to 1 where an open track lies, else 0.
 * Tracks given up for their length lift noise[] to what they are. */
void wh_tracks_slot(wh_tracks *tracks, uint64_t slot, const wh_island *islands, size_t count, const float *spectrum,
                    float *noise, wh_scan *scan, unsigned char *held, size_t bins, wh_emission_fn give, void *context);
/* Close and give everything. */
void wh_tracks_finish(wh_tracks *tracks, wh_emission_fn give, void *context);
/* Earliest start of anything not yet given; `slot` when there is nothing. */
uint64_t wh_tracks_earliest(const wh_tracks *tracks, uint64_t slot);

#endif
