/* Soft chips to soft bits. */
#ifndef WH_LINE_DECODE_H
#define WH_LINE_DECODE_H

#include "chips.h"
#include "line_code.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define WH_LINE_BITS_MAX 512

typedef struct wh_line_result {
    size_t end;          /* chip after the last bit */
    uint8_t level;       /* last chip's value, for whatever follows */
    unsigned violations; /* chips decided alone that differ from what the bits' code words say */
    float mismatch;      /* the same weighed: share of the chips' |llr| that contradicts the code words, 0..1 */
} wh_line_result;

/* Decode `bits` (1..WH_LINE_BITS_MAX) bits that begin at chip `at`. `level` is the chip before them: 0, 1, or -1 when not known.
 * soft[bits]: ln P(1)/P(0), best path against best path (max-log). False when the chips do not reach or memory is out;
 * nothing is then written. */
bool wh_line_decode(const wh_line_spec *spec, const wh_chips *chips, size_t at, int level, size_t bits, float *soft,
                    wh_line_result *result);

#endif
