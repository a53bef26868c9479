/* Tracks: islands followed over slots, closed when silent, and grouped into emissions (the two tones of a frequency-shift
 * keyed burst are two islands that come and go together). */
#ifndef WH_TRACKS_H
#define WH_TRACKS_H

#include "track.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define WH_TRACKS_MAX 96
/* An emission reaches so much further to cover a weaker one, and waits so long for it. */
#define WH_TRACKS_COVER_SLOTS 32

typedef struct wh_tracks {
    uint64_t hang_slots, longest_slots;
    size_t mate_bins;  /* tones may be this far apart */
    size_t skirt_bins; /* and side lobes from what they belong to */
    size_t cover_bins; /* and a weak emission from the strong one in whose outline it is */
    size_t open_count, closed_count;
    wh_track open[WH_TRACKS_MAX], closed[WH_TRACKS_MAX];
    uint64_t dropped;
} wh_tracks;

/* A group of tracks that make one emission: their union. */
typedef void (*wh_emission_fn)(void *context, const wh_track *emission);

void wh_tracks_init(wh_tracks *tracks, uint64_t hang_slots, uint64_t longest_slots, size_t mate_bins, size_t skirt_bins,
                    size_t cover_bins);
/* Take one slot's islands, which are put in order of power, and spectrum. held[bins] is set to 1 where an open track lies, else 0.
 * Tracks given up for their length lift noise[] to what they are. */
void wh_tracks_slot(wh_tracks *tracks, uint64_t slot, wh_island *islands, size_t count, const float *spectrum,
                    float *noise, wh_scan *scan, unsigned char *held, size_t bins, wh_emission_fn give, void *context);
/* Close and give everything. */
void wh_tracks_finish(wh_tracks *tracks, wh_emission_fn give, void *context);
/* Earliest start of anything not yet given; `slot` when there is nothing. */
uint64_t wh_tracks_earliest(const wh_tracks *tracks, uint64_t slot);

#endif
