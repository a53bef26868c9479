/* From frames to the check that guards them, with the odds of being chance.
 *
 * Two frames of one kind with the check c over the message m satisfy, whatever the start value and the final XOR,
 *     (m1 + m2) x^w + (c1 + c2) = 0  modulo the generator polynomial (over GF(2)),
 * so the greatest common divisor of such differences is the generator, or a multiple of it, and nothing has to be guessed but
 * where the check stands and what it covers. Start and final XOR follow from any one frame. Sums are linear modulo 2^w instead.
 *
 * A check is described by choosing polynomial, range, place and orders one after the other; the choices cost bits, the usual
 * ones few (cost_bits: a prefix code, so at most 2^c checks cost c bits or less). Each independent difference between frames
 * that a check explains would have been explained by chance with 2^-(bits of the check that vary by themselves). Hence
 *     chance = 2^(cost - evidence)
 * bounds how many checks at most as complicated as this would hold for the data at hand if it had none. */
#ifndef WH_CHECK_SEARCH_H
#define WH_CHECK_SEARCH_H

#include "frame_fields.h"

#include <stddef.h>

#define WH_CHECK_CHANCE_MAX                                                                                            \
    0.001 /* at least this unlikely, or it is never drafted: a wrong parity rejects every second frame */
#define WH_CHECKS_FOUND_MAX   16
#define WH_CHECK_FRAMES_MAX   64 /* different frames that are looked at; more tell nothing new about a check */
#define WH_ALGORITHM_NAME_MAX 24

typedef struct wh_check_found {
    wh_check check; /* as a descriptor has it */
    char
        algorithm[WH_ALGORITHM_NAME_MAX]; /* the public catalogue's name when start and final XOR fit too; else empty */
    bool bytes_turned;        /* holds when every group of eight bits is turned round first; `check` is in the bit */
    unsigned phase;           /* numbers after that. Groups begin at bits phase, phase + 8, ... */
    unsigned frames, holding; /* different frames looked at, and in how many of them it holds */
    unsigned independent;     /* independent differences between them: only these tell anything */
    double evidence_bits, cost_bits;
    double chance;
    unsigned alike; /* further ways to write the same check that these frames do not tell apart */
} wh_check_found;

typedef struct wh_check_search {
    unsigned count; /* most convincing first; places do not overlap, and none follows from those before it */
    wh_check_found found[WH_CHECKS_FOUND_MAX];
    unsigned rejected;       /* further ones that chance explains */
    wh_check_found doubtful; /* the best of those, when rejected > 0 */
    double tried;            /* arrangements of place, range and order looked at */
} wh_check_search;

/* `frames` (all of `columns` bits, only these are looked at) may be in any order and repeat. Frames with wrong bits are
 * tolerated as long as most are right: put the most reliable first. */
wh_status wh_check_search_run(const wh_frame_bits *frames, size_t count, unsigned columns, wh_check_search *out,
                              wh_error *error);

/* The same for frames that are all taken for right, in a fifth of the time when there is nothing to find: to see which of several
 * ways to read the bits makes sense. */
wh_status wh_check_search_quick(const wh_frame_bits *frames, size_t count, unsigned columns, wh_check_search *out,
                                wh_error *error);

/* Does it hold in this frame (in the order of arrival, whatever bytes_turned says)? */
bool wh_check_found_holds(const wh_check_found *found, const wh_frame_bits *frame);

/* The frame with every group of eight bits from bit `phase` on turned round, a last one of less than eight too. */
void wh_frame_turn_bytes(wh_frame_bits *frame, unsigned phase);

#endif
