/* Field values to a complete frame. */
#ifndef WH_SYNTH_FRAME_H
#define WH_SYNTH_FRAME_H

#include "frame_fields.h"

/* One field and its value in people's words, as wh_field_set reads them. */
typedef struct wh_synth_value {
    const char *field, *value;
} wh_synth_value;

/* A frame with the given values, constants and checks. Fields that are not given are as in the descriptor's first example,
 * or raw 0 when it has none. `bits` is the payload's length, 0 for the shortest. Fails with WH_ERR_LIMIT when the
 * descriptor has no frames of that length. */
wh_status wh_synth_frame(const wh_descriptor *descriptor, const wh_synth_value *values, size_t count, unsigned bits,
                         wh_absolute site, wh_frame_bits *frame, wh_error *error);

#endif
