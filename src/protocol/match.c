#include "match.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define DETAIL 160

static double expected_errors(const wh_frame_try *found)
{
    double sum = 0.0;
    for (unsigned i = 0; i < found->bits; i++)
        sum += 1.0 / (1.0 + exp(fmin(fabs((double)found->soft[i]), 700.0)));
    return sum;
}

static void hard_bits(const wh_frame_try *found, wh_frame_bits *frame)
{
    memset(frame, 0, sizeof *frame);
    frame->count = found->bits;
    for (unsigned i = 0; i < found->bits; i++)
        if (found->soft[i] > 0.0f)
            frame->data[i / 8] |= (uint8_t)(0x80u >> (i % 8));
}

wh_reason wh_match(const wh_descriptor *descriptor, const wh_frame_try *found, wh_candidate *candidate, char *detail)
{
    *candidate = (wh_candidate){.descriptor = descriptor};
    hard_bits(found, &candidate->frame);
    const double errors = expected_errors(found);
    const int constant = wh_constants_mismatch(descriptor, &candidate->frame);
    if (constant >= 0) {
        snprintf(detail, DETAIL, "field '%s' must be 0x%llX; about %.2g wrong bits expected", descriptor->fields[constant].name,
                 (unsigned long long)descriptor->fields[constant].constant, errors);
        return WH_REASON_WRONG_CONSTANT;
    }
    for (unsigned i = 0; i < descriptor->check_count; i++) {
        if (!wh_check_holds(descriptor, i, &candidate->frame)) {
            snprintf(detail, DETAIL, "'%s' does not hold; about %.2g wrong bits expected", descriptor->checks[i].name, errors);
            return WH_REASON_BAD_CHECK;
        }
    }
    wh_reading scratch = {0};
    const unsigned implausible = wh_fields_decode(descriptor, &candidate->frame, (wh_absolute){WH_STANDARD_ATMOSPHERE_KPA}, &scratch);
    candidate->evidence = (wh_evidence){
        .expected_errors = errors,
        .check_bits = wh_evidence_bits(descriptor),
        .sync_chips = (double)found->sync_chips,
        .preamble_chips = (double)(found->known_chips - found->sync_chips),
        .sync_score = (double)found->sync_score,
        .end_chips = (double)found->end_chips,
        .end_score = (double)found->end_score,
        .mismatch = (double)found->mismatch,
        .tries = 1.0,
        .implausible = implausible,
        .copies = 1,
    };
    return WH_REASON_DECODED;
}
