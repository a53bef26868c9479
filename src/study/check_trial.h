/* Inside the search for checks: the frames as the searches want them, and how candidates are kept. */
#ifndef WH_CHECK_TRIAL_H
#define WH_CHECK_TRIAL_H

#include "check_search.h"
#include "poly2.h"

#define WH_RANK_MAX (WH_CHECK_FRAMES_MAX - 1)

/* Different frames, and a basis of the differences between them. */
typedef struct wh_trial_frames {
    unsigned columns, count;
    wh_frame_bits frame[WH_CHECK_FRAMES_MAX];
    unsigned rank;
    wh_frame_bits basis[WH_RANK_MAX];   /* leading ones at increasing places */
    bool leads[WH_FRAME_BITS_MAX];      /* columns at which they stand */
    unsigned first_varying;             /* columns before it are the same in all frames; `columns` when all are */
    unsigned end_varying;               /* as are those from here on */
    uint64_t column[WH_FRAME_BITS_MAX]; /* bit i: the column's bit in frame i, XOR that in frame 0 */
} wh_trial_frames;

/* Where a check might stand and what it might cover: [from, to) without the check's own bits. */
typedef struct wh_trial_range {
    unsigned from, to, place, width;
    unsigned own; /* columns of the place that vary by themselves */
    double cost;  /* bits: how unusual it is */
} wh_trial_range;

typedef struct wh_trials {
    const wh_trial_frames *frames;
    wh_check_found *kept; /* [capacity], lowest chance first */
    unsigned capacity, kept_count;
    double tried;
} wh_trials;

/* `frames` distinct ones of the list, at most WH_CHECK_FRAMES_MAX. */
void wh_trial_frames_make(wh_trial_frames *out, const wh_frame_bits *frames, size_t count, unsigned columns);
/* Keep a candidate whose check, cost and evidence are filled in. */
void wh_trials_keep(wh_trials *trials, const wh_check_found *found);
/* Columns of [place, place + width) that vary, counting those once that are equal or each other's inverse: a slowly varying
 * number has few of them, a check nearly all. */
unsigned wh_trial_own_columns(const wh_trial_frames *frames, unsigned place, unsigned width);
/* Rank over GF(2) of the differences within the columns of `over` and `at`, and within those that are 1 in `columns`. */
unsigned wh_trial_rank(const wh_trial_frames *frames, const wh_places *over, const wh_places *at);
unsigned wh_trial_rank_within(const wh_trial_frames *frames, const wh_frame_bits *columns);

/* Rank of the differences as vectors of words (of `word` bits, the last of a piece may be shorter): 10, 11 and 12 with sums to match are one relation,
 * though as bits they are two. With or without the check itself. */
unsigned wh_trial_word_rank(const wh_trial_frames *frames, const wh_check *check, unsigned word, bool with_check);

/* Calls `visit` for every range that a check of `width` bits may have. `grid`: the covered bits are a multiple of it. */
typedef void (*wh_trial_visit)(void *context, const wh_trial_range *range);
void wh_trial_ranges(const wh_trial_frames *frames, unsigned width, unsigned grid, wh_trial_visit visit, void *context);
/* The covered bits as places (one or two pieces) and the check's place. */
void wh_trial_places(const wh_trial_range *range, wh_check *check);

/* The searches proper. */
void wh_crc_trials(wh_trials *trials);
void wh_sum_trials(wh_trials *trials, bool bytes_turned, unsigned phase);
void wh_parity_trials(wh_trials *trials);

#endif
