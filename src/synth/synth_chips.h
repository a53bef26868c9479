/* Frames to the chips that go on the air. */
#ifndef WH_SYNTH_CHIPS_H
#define WH_SYNTH_CHIPS_H

#include "frame_fields.h"

/* Most chips of one frame with everything around it; longer ones are refused. */
#define WH_SYNTH_CHIPS_MAX ((size_t)1 << 20)

/* Preamble, sync, payload and end as chips, one 0/1 per byte. The level before the first chip is 0. On success *chips
 * is the caller's to free. */
wh_status wh_synth_chips(const wh_descriptor *descriptor, const wh_frame_bits *frame, uint8_t **chips, size_t *count,
                         wh_error *error);

#endif
