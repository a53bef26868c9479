/* Other IDs in the place of real ones: the same sensor always gets the same new ID, and none can be computed back. */
#ifndef WH_ID_DISGUISE_H
#define WH_ID_DISGUISE_H

#include "frame_fields.h"
#include "text_buffer.h"

#include <stdbool.h>
#include <stddef.h>

#define WH_DISGUISES_MAX 1000

typedef struct wh_disguise {
    char real[72], invented[24]; /* upper-case hex, as in readings */
} wh_disguise;

/* Zeroed it is empty. */
typedef struct wh_id_disguise {
    size_t count;
    wh_disguise *items; /* [WH_DISGUISES_MAX], owned */
} wh_id_disguise;

/* Can the descriptor's IDs be replaced? Partial ones have no ID: what tells their sensors apart is spread over the frame. */
bool wh_disguise_possible(const wh_descriptor *descriptor);
/* Put the invented ID into the frame and make the checks right. New IDs are drawn, seeded by how many there were before and
 * by nothing of the real one. WH_ERR_LIMIT, WH_ERR_MEMORY. */
wh_status wh_disguise_frame(wh_id_disguise *disguise, const wh_descriptor *descriptor, wh_frame_bits *frame,
                            wh_error *error);
void wh_disguise_free(wh_id_disguise *disguise);

/* A descriptor's text for handing on: without comments, which may say where and by whom; its examples are `examples` (YAML, from
 * the key on) in place of those it has. */
void wh_descriptor_stripped(const char *text, const char *examples, wh_text *out);

#endif
