/* Decision-directed second look at soft bits: neighbouring bits lend their carrier phase. */
#ifndef WH_LINE_COHERENT_H
#define WH_LINE_COHERENT_H

#include "chips.h"
#include "line_words.h"

#include <stddef.h>

/* Branch likelihoods of one trellis step: ln P of the word for [state][bit], up to a constant. */
typedef struct wh_branch {
    float word[2][2];
} wh_branch;

/* For codes whose words have equal length. soft[bits]: a first look, bit by bit. Fills branch[bits] with the likelihoods of
 * every word given the phase that its neighbours show, the neighbours taken as decided and weighed by how sure they are.
 * Returns 0 (branch untouched) when the transmitter's phase does not run on from chip to chip, so that there is nothing to
 * gain; else 1. */
int wh_line_lend_phase(const wh_line_words *words, const wh_chips *chips, size_t at, int level, size_t bits,
                       const float *soft, wh_branch *branch);

#endif
