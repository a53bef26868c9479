/* Rivals: other frames that the soft values allow and that would have passed a descriptor's checks as well. */
#ifndef WH_RIVALS_H
#define WH_RIVALS_H

#include "descriptor_model.h"
#include "frame_fields.h"
#include "frame_search.h"

typedef struct wh_rivalry {
    double log_probability; /* ln P(the frame's bits are those that were sent), by the soft values alone; <= 0 */
    double rivals;          /* P(another frame was sent that passes), by the soft values alone; >= 0 */
} wh_rivalry;

/* `frame` passes the descriptor's checks and constants. Only bits that matter to a reading count: those of fields, steady bits, and
 * what checks cover. Constants do not: a frame of this kind has them. */
wh_rivalry wh_rivals(const wh_descriptor *descriptor, const wh_frame_try *found, const wh_frame_bits *frame);

#endif
