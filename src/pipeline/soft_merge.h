/* Soft merging: copies that each fail alone are added up in their soft values until one reading comes out. */
#ifndef WH_SOFT_MERGE_H
#define WH_SOFT_MERGE_H

#include "catalog.h"
#include "match.h"

#include <stdbool.h>
#include <stddef.h>

/* A frame whose beginning was found: one that no descriptor accepted, or one accepted with bits in doubt. */
typedef struct wh_soft_frame {
    const wh_catalog_framing *framing;
    wh_frame_try found;
    double start_s, end_s;
    double carrier_hz, snr_db, level_dbfs, carrier_slack_hz;
    bool accepted;
    double tries; /* bit patterns looked at in its burst so far */
} wh_soft_frame;

typedef struct wh_soft_merge wh_soft_merge;

wh_soft_merge *wh_soft_merge_create(void); /* NULL when memory is out */
void wh_soft_merge_destroy(wh_soft_merge **merge);
/* Take one more frame, in order of time. True when, added to earlier ones that look alike, it makes a descriptor's frame: *candidate
 * is then complete but for carrier_excess_hz and confidence, and stands for all of those copies; with the next copy it comes again. */
bool wh_soft_merge_take(wh_soft_merge *merge, const wh_soft_frame *frame, wh_candidate *candidate);

/* Earliest start of copies that can still become, or become part of, a reading when nothing before `horizon_s` will come any more;
 * INFINITY when there are none. What starts there or later must wait, or its order would depend on when it was asked for. */
double wh_soft_merge_awaited_s(const wh_soft_merge *merge, double horizon_s);

#endif
