/* Match: a framed payload against a descriptor. */
#ifndef WH_MATCH_H
#define WH_MATCH_H

#include "confidence.h"
#include "descriptor_model.h"
#include "frame_fields.h"
#include "frame_search.h"

#define WH_SPANS_MAX 16

typedef struct wh_air_span {
    double start_s, end_s;
} wh_air_span;

/* A frame that fits a descriptor. */
typedef struct wh_candidate {
    const wh_descriptor *descriptor;
    wh_frame_bits frame;
    unsigned repaired_bits; /* flipped so that the checks hold */
    unsigned patterns;      /* bit patterns tried on this frame, >= 1; also set when the match fails */
    wh_evidence evidence;   /* `tries` and `copies` are the caller's to complete */
    unsigned merged;        /* copies whose soft values were added up to make this frame; 0 when it stands alone */
    wh_air_span span[WH_SPANS_MAX]; /* [min(merged, WH_SPANS_MAX)] where those copies are, in order of time */
    double start_s, end_s;          /* of the frame (with its sync), from the start of the recording */
    double carrier_hz, snr_db, level_dbfs;
    unsigned
        beneath; /* rounds of transmissions that were taken out of the burst before this one showed; set by the caller */
    double confidence; /* set by the caller, who knows the tries */
} wh_candidate;

/* Hard bits, constants, checks, values. WH_REASON_DECODED: *candidate has frame and evidence set. Else the reason, with figures
 * in detail[160]. */
wh_reason wh_match(const wh_descriptor *descriptor, const wh_frame_try *found, wh_candidate *candidate, char *detail);

/* How long after a frame's end another copy of it may begin, in seconds: the descriptor's longest pause and some slack. */
double wh_copy_window_s(const wh_descriptor *descriptor);

#endif
