/* Soft chips to soft bits. */
#ifndef WH_LINE_DECODE_H
#define WH_LINE_DECODE_H

#include "chips.h"
#include "line_code.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define WH_LINE_BITS_MAX 512

/* Is any bit in doubt: less sure than wrong once in 20 000 (|llr| < 10)? What is not needs no second look and no further copies. */
bool wh_bits_in_doubt(const float *soft, size_t bits);

typedef struct wh_line_result {
    size_t end;          /* chip after the last bit */
    uint8_t level;       /* last chip's value, for whatever follows */
    unsigned violations; /* chips decided alone that differ from what the bits' code words say */
    float mismatch;      /* the same weighed: share of the chips' |llr| that contradicts the code words, 0..1 */
    float mismatch_due;  /* share that noise as strong as the chips' likelihoods say would contradict, 0..0.5 */
    float
        trust; /* 0..1: the likelihoods are so many times as sure as they look, by what contradicts the code; `soft` is not yet
                    multiplied by it */
    bool is_joint; /* the bits hang together: with words of unequal length one wrong chip shifts all bits behind it */
    float log_probability; /* then: ln P(all bits are right), at most 0 */
} wh_line_result;

/* Chips known to follow the last bit: with words of unequal length they tell where it ends, and so what all the bits are. */
typedef struct wh_line_tail {
    size_t count; /* 0: not known */
    const uint8_t *chip;
} wh_line_tail;

/* Decode `bits` (1..WH_LINE_BITS_MAX) bits that begin at chip `at`. `level` is the chip before them: 0, 1, or -1 when not known.
 * `tail` counts for words of unequal length only. soft[bits]: ln P(1)/P(0), best path against best path (max-log). False when the
 * chips do not reach, nothing is then written, or when memory is out. */
bool wh_line_decode(const wh_line_spec *spec, const wh_chips *chips, size_t at, int level, size_t bits,
                    wh_line_tail tail, float *soft, wh_line_result *result);

#endif
