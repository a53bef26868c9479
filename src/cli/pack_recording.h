/* One recording of a pack, and what it must decode to. */
#ifndef WH_PACK_RECORDING_H
#define WH_PACK_RECORDING_H

#include "id_disguise.h"
#include "source.h"
#include "text_buffer.h"

typedef struct wh_pack_job {
    const wh_descriptor *descriptor;
    wh_id_disguise *disguise;   /* NULL: real IDs */
    const wh_reading *readings; /* [count], of the recording, in order of time */
    size_t count;
} wh_pack_job;

/* Bursts made anew with other IDs, at the same strength and carrier, one after the other, marked synthetic. BASE.sigmf-data and
 * BASE.sigmf-meta; `expected` becomes JSON Lines. */
wh_status wh_pack_made_anew(const wh_pack_job *job, const char *base, wh_text *expected, wh_error *error);
/* The samples themselves, cut around the bursts of the readings. */
wh_status wh_pack_cut(const wh_pack_job *job, const wh_source_options *source, const char *base, wh_text *expected,
                      wh_error *error);
/* The frame of a reading as it is packed, and what it says. */
wh_status wh_pack_frame(const wh_pack_job *job, size_t index, wh_frame_bits *frame, wh_reading *shown, wh_error *error);
/* Name of the field that holds the ID; "" when there is none. */
const char *wh_pack_sensor_name(const wh_descriptor *descriptor);

#endif
