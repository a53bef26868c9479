/* The parts of a draft that are written by themselves. */
#ifndef WH_DRAFT_IMPL_H
#define WH_DRAFT_IMPL_H

#include "draft.h"
#include "field_value.h"
#include "study_text.h"

/* radio, line, frame, copies. */
void wh_draft_signal(const wh_draft *draft, wh_text *out);
/* checks, fields or steady, examples. */
void wh_draft_meaning(const wh_draft *draft, wh_text *out);
/* "{from: 8, bits: 32}", or a list of such. */
void wh_draft_places(const wh_places *places, wh_text *out);

#endif
