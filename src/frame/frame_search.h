/* Frames in soft chips: known beginnings found by correlation, payloads decoded behind them. */
#ifndef WH_FRAME_SEARCH_H
#define WH_FRAME_SEARCH_H

#include "chips.h"
#include "frame_spec.h"
#include "line_code.h"
#include "line_decode.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define WH_KNOWN_CHIPS_MAX 320
#define WH_PAYLOAD_MAX     256

/* A frame layout made ready for searching. */
typedef struct wh_framing {
    wh_line_spec line;
    wh_frame_spec frame;
    unsigned variants;    /* 1, or 2 when the chips depend on the level before */
    size_t known[2];      /* chips of the known beginning (end of the preamble, and the sync) */
    size_t sync_chips[2]; /* how many of them are sync: the last ones */
    uint8_t chip[2][WH_KNOWN_CHIPS_MAX];
    uint8_t level[2];                     /* last known chip */
    size_t preamble_chips;                /* of the preamble as sent, all repeats */
    size_t shortest_chips, longest_chips; /* of a whole frame, sent in full */
    unsigned zero_run;
    size_t tail_count; /* the end as chips, for codes with words of unequal length; else 0 */
    uint8_t tail[WH_PATTERN_MAX * WH_LINE_PATTERN_MAX];
} wh_framing;

/* However sure a chip looks, it is wrong once in 400 times for reasons that no model of noise knows. */
#define WH_AGAINST_BOUND 6.0f

/* A payload found. */
typedef struct wh_frame_try {
    size_t first_chip; /* where the known beginning starts */
    size_t payload_chip, end_chip;
    float sync_score; /* -1..1: share of the chips' weight that agrees minus the share that does not */
    size_t sync_chips, known_chips;
    float sync_against; /* sum of the |llr| of sync chips that contradict the sync, each bounded to WH_AGAINST_BOUND */
    bool fits;          /* the whole frame, with all of its preamble, begins and ends with the emission */
    float end_score;    /* the same for the end pattern; 0 without */
    size_t end_chips;
    unsigned bits;
    float soft[WH_PAYLOAD_MAX]; /* ln P(1)/P(0), in the order in which bits are numbered */
    unsigned violations;
    float mismatch, mismatch_due; /* see wh_line_result, these and the next */
    bool is_joint;
    float log_probability;
} wh_frame_try;

typedef enum wh_frame_verdict {
    WH_FRAME_FOUND,   /* at least one try was accepted */
    WH_FRAME_REFUSED, /* payloads were found, none accepted */
    WH_FRAME_NO_SYNC,
    WH_FRAME_CUT_SHORT,
    WH_FRAME_VIOLATIONS
} wh_frame_verdict;

typedef struct wh_frame_outcome {
    wh_frame_verdict verdict;
    float best_sync; /* best score anywhere */
    float needed_sync;
    unsigned tries;      /* payloads given to `accept` */
    float best_mismatch; /* smallest share of line code contradiction among those refused for it; 1 when none */
} wh_frame_outcome;

/* True when the frame is taken: no other try may then overlap it. */
typedef bool (*wh_frame_fn)(void *context, const wh_frame_try *found);

void wh_framing_make(const wh_line_spec *line, const wh_frame_spec *frame, wh_framing *framing);
wh_frame_outcome wh_frame_search(const wh_framing *framing, const wh_chips *chips, wh_frame_fn accept, void *context);

#endif
