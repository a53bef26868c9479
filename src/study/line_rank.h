/* Which line code made these chips? Every code that can make them is a candidate; how few bits a frame differs in from the one most
 * like it tells those apart that make the same chips. */
#ifndef WH_LINE_RANK_H
#define WH_LINE_RANK_H

#include "distinct_frames.h"
#include "kind_estimate.h"

typedef struct wh_line_ranking {
    size_t count; /* best first */
    wh_line_candidate candidate[WH_LINE_CANDIDATES_MAX];
    long cell[WH_LINE_CANDIDATES_MAX]; /* a column where a bit begins, at or before the first one that varies */
    long stop[WH_LINE_CANDIDATES_MAX]; /* column where frames end, of codes with bits of one length */
    double cost[WH_LINE_CANDIDATES_MAX];
} wh_line_ranking;

/* `vary`: first column that is not the same in all frames; the frames' common end when all are alike. False when memory is out. */
bool wh_line_rank(const wh_distinct_frames *frames, long begin, long vary, wh_line_ranking *ranking);

/* Bits of one frame decoded from a column on, and how many cells the code cannot make. At most `most` bits; *end is the column after
 * the last one. `stop`: where the frame ends. */
unsigned wh_line_read(const wh_distinct_frames *frames, size_t frame, const wh_line_spec *line, long from, long stop,
                      unsigned most, unsigned char *bits, unsigned *violations, long *end);

#endif
