/* What proves that a finding is mended, kind by kind. The absence of a finding is no proof: a tire whose pressure was not read
 * is not low, but not mended either. */
#ifndef WH_VERIFY_PROOF_H
#define WH_VERIFY_PROOF_H

#include "figures.h"
#include "judge.h"

/* The seat at a position when its sensor is sure and was heard after the mark; else NULL. */
const wh_seat *wh_seat_heard_since(const wh_judge_input *after, wh_position position);
/* Is the finding as much about `other` as about `position`? */
bool wh_finding_has_two_wheels(const wh_finding *finding);

/* `before` was not found again, and its wheels were heard. *proved: mended; `text` says by what, or what is still open.
 * WH_ERR_MEMORY. */
wh_status wh_verify_proof(const wh_finding *before, const wh_judge_input *after, bool *proved, wh_phrase *text);

#endif
