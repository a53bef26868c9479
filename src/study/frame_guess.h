/* Where preamble, sync, payload and end are, from aligned frames and a line code. */
#ifndef WH_FRAME_GUESS_H
#define WH_FRAME_GUESS_H

#include "line_rank.h"

/* Fill frame, the certainties of its parts, sync_breaks_code, common_bits and the candidate's columns of `kind` for line code
 * number `choice` of the ranking. False when no payload of 2 to 256 bits is left; frame.bits_max is then 0. */
bool wh_frame_guess(const wh_distinct_frames *frames, const wh_columns *columns, const wh_line_ranking *ranking,
                    size_t choice, wh_kind_estimate *kind);

#endif
