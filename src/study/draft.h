/* A first descriptor from what a study found, with comments on what is certain, likely and open. */
#ifndef WH_STUDY_DRAFT_H
#define WH_STUDY_DRAFT_H

#include "field_study.h"
#include "text_buffer.h"

typedef struct wh_draft {
    const char *name; /* of the descriptor: lower case letters, digits and '-', at most 47 */
    const wh_kind_estimate *kind;
    const wh_field_study *fields;
    const wh_truth *truth;         /* may be NULL */
    const char *const *recordings; /* their names, for comments */
    size_t recording_count;
} wh_draft;

/* The YAML text. Nothing is written that the data do not tell: without a place for the ID the draft is partial, without a
 * calibration there is no pressure. WH_ERR_ARGUMENT for a bad name, WH_ERR_DATA when there is not enough for a descriptor
 * (no frames, no line code): `fix` says what to record. */
wh_status wh_draft_write(const wh_draft *draft, wh_text *out, wh_error *error);

#endif
