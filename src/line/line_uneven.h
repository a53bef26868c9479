/* Codes whose words have unequal length (pulse widths): bits are decided together with where each of them stands. */
#ifndef WH_LINE_UNEVEN_H
#define WH_LINE_UNEVEN_H

#include "chips.h"
#include "line_decode.h"
#include "line_words.h"

/* soft[bits]: ln P(1)/P(0) by the best paths over (bit, chip place). False when the chips do not reach or memory is out. */
bool wh_line_uneven_decode(const wh_line_words *words, const wh_chips *chips, size_t at, size_t bits, wh_line_tail tail,
                           float *soft);

/* ln P(the decided bits) among all rows of so many bits, the chips' likelihoods being `trust` times as sure as they look. NAN when memory
 * is out. */
float wh_line_uneven_probability(const wh_line_words *words, const wh_chips *chips, size_t at, size_t bits,
                                 wh_line_tail tail, const float *soft, float trust);

#endif
