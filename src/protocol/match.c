#include "match.h"

#include "bits.h"
#include "rivals.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define DETAIL 160

/* Repair: flips tried among this many least reliable bits, 2^4 - 1 patterns. More would let an 8-bit check be met by chance too
 * often (eight bits: 2 of 3 noise frames), and gains little: see the confidence model. */
#define REPAIR_BITS        4
#define REPAIR_DOUBT       12.0f /* bits surer than this (wrong once in 160 000) are never in doubt */
#define REPAIR_LEAST_GUARD 8
#define UNDETERMINED       0.02f /* nothing but the check can tell such a bit: what ends in silence may be long or short */
#define REPAIR_KNOWN       12    /* chips of preamble and sync that make a beginning known */
#define GAP_SLACK          1.25 /* real transmitters' pauses exceed the nominal ones a little */
#define GAP_SLACK_S        0.01

static void flip_bit(wh_frame_bits *frame, unsigned i)
{
    frame->data[i / 8] = (uint8_t)(frame->data[i / 8] ^ (0x80u >> (i % 8)));
}

static void hard_bits(const wh_frame_try *found, wh_frame_bits *frame)
{
    memset(frame, 0, sizeof *frame);
    frame->count = found->bits;
    for (unsigned i = 0; i < found->bits; i++)
        if (found->soft[i] > 0.0f)
            flip_bit(frame, i);
}

/* Soft values against a repaired constant: the frame may be of another kind. */
static double against_constants(const wh_descriptor *descriptor, const wh_frame_try *found, const wh_frame_bits *frame)
{
    uint8_t marks[WH_FRAME_BITS_MAX / 8];
    wh_constant_bits(descriptor, marks);
    double sum = 0.0;
    for (unsigned i = 0; i < found->bits; i++)
        if (wh_bit_get(marks, i) && wh_bit_get(frame->data, i) != (found->soft[i] > 0.0f))
            sum += fabs((double)found->soft[i]);
    return sum;
}

static double expected_errors(const wh_frame_try *found)
{
    double sum = 0.0;
    for (unsigned i = 0; i < found->bits; i++)
        sum += 1.0 / (1.0 + exp(fmin(fabs((double)found->soft[i]), 700.0)));
    return sum;
}

static int failing_check(const wh_descriptor *descriptor, const wh_frame_bits *frame)
{
    for (unsigned i = 0; i < descriptor->check_count; i++)
        if (!wh_check_holds(descriptor, i, frame))
            return (int)i;
    return -1;
}

/* The places of the least reliable bits, none surer than `most`, least reliable first. */
static unsigned doubtful_bits(const wh_frame_try *found, float most, unsigned place[REPAIR_BITS])
{
    unsigned count = 0;
    for (unsigned i = 0; i < found->bits; i++) {
        const float doubt = fabsf(found->soft[i]);
        if (doubt > most || (count == REPAIR_BITS && doubt >= fabsf(found->soft[place[count - 1]])))
            continue;
        unsigned at = count < REPAIR_BITS ? count++ : count - 1;
        for (; at > 0 && fabsf(found->soft[place[at - 1]]) > doubt; at--)
            place[at] = place[at - 1];
        place[at] = i;
    }
    return count;
}

/* The cheapest pattern of flips that makes everything hold. Returns the number of patterns tried; 0 flips when none does. */
static unsigned repair(const wh_descriptor *descriptor, const wh_frame_try *found, float most, wh_frame_bits *frame,
                       unsigned *flips)
{
    unsigned place[REPAIR_BITS];
    const unsigned count = doubtful_bits(found, most, place), patterns = (1u << count) - 1;
    const wh_frame_bits sent = *frame;
    float best_cost = INFINITY;
    *flips = 0;
    for (unsigned pattern = 1; pattern <= patterns; pattern++) {
        wh_frame_bits trial = sent;
        float cost = 0.0f;
        unsigned flipped = 0;
        for (unsigned i = 0; i < count; i++) {
            if (!(pattern >> i & 1u))
                continue;
            flip_bit(&trial, place[i]);
            cost += fabsf(found->soft[place[i]]);
            flipped++;
        }
        if (cost < best_cost && failing_check(descriptor, &trial) < 0 &&
            wh_constants_mismatch(descriptor, &trial) < 0) {
            best_cost = cost;
            *frame = trial;
            *flips = flipped;
        }
    }
    return patterns;
}

static wh_reason refuse(const wh_descriptor *descriptor, const wh_frame_try *found, const wh_frame_bits *frame,
                        char *detail)
{
    const double errors = expected_errors(found);
    const int constant = wh_constants_mismatch(descriptor, frame);
    if (constant >= 0) {
        snprintf(detail, DETAIL, "field '%s' must be 0x%llX; about %.2g wrong bits expected",
                 descriptor->fields[constant].name, (unsigned long long)descriptor->fields[constant].constant, errors);
        return WH_REASON_WRONG_CONSTANT;
    }
    const int check = failing_check(descriptor, frame);
    snprintf(detail, DETAIL, "'%s' does not hold; about %.2g wrong bits expected",
             check >= 0 ? descriptor->checks[check].name : "check", errors);
    return WH_REASON_BAD_CHECK;
}

wh_reason wh_match(const wh_descriptor *descriptor, const wh_frame_try *found, wh_candidate *candidate, char *detail)
{
    *candidate = (wh_candidate){.descriptor = descriptor};
    hard_bits(found, &candidate->frame);
    const unsigned guard_bits = wh_guard_bits(descriptor);
    candidate->patterns = 1;
    if (wh_constants_mismatch(descriptor, &candidate->frame) >= 0 ||
        failing_check(descriptor, &candidate->frame) >= 0) {
        /* Without a known beginning the place itself is a guess, and guesses multiply. */
        const unsigned least = found->known_chips >= REPAIR_KNOWN ? REPAIR_LEAST_GUARD : 2 * REPAIR_LEAST_GUARD;
        const float most = guard_bits >= least ? REPAIR_DOUBT : UNDETERMINED;
        candidate->patterns += repair(descriptor, found, most, &candidate->frame, &candidate->repaired_bits);
        if (candidate->repaired_bits == 0)
            return refuse(descriptor, found, &candidate->frame, detail);
    }
    wh_reading scratch = {0};
    const unsigned implausible =
        wh_fields_decode(descriptor, &candidate->frame, (wh_absolute){WH_STANDARD_ATMOSPHERE_KPA}, &scratch);
    const wh_rivalry rivalry = wh_rivals(descriptor, found, &candidate->frame);
    candidate->evidence = (wh_evidence){
        .log_probability = rivalry.log_probability,
        .rivals = rivalry.rivals,
        .check_bits = wh_evidence_bits(descriptor),
        .sync_chips = (double)found->sync_chips,
        .preamble_chips = (double)(found->known_chips - found->sync_chips),
        .sync_score = (double)found->sync_score,
        .against = (double)found->sync_against + against_constants(descriptor, found, &candidate->frame),
        .end_chips = (double)found->end_chips,
        .end_score = (double)found->end_score,
        .mismatch = fmax(0.0, (double)found->mismatch - (double)found->mismatch_due),
        .fits = found->fits,
        .tries = 1.0,
        .implausible = implausible,
        .copies = 1,
    };
    return WH_REASON_DECODED;
}

double wh_copy_window_s(const wh_descriptor *descriptor)
{
    return descriptor->gap_max_s * GAP_SLACK + GAP_SLACK_S;
}
