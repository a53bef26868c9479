#include "soft_merge.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define GROUPS_MAX 64
/* Soft bits of two copies agree by (1 - 2p)^2 on average, 0.6 at 10 % bit errors; those of unlike frames by 0 +- 1/sqrt(bits). */
#define ALIKE_SIGMAS 3.5f
#define SOFT_BOUND   24.0f /* per copy: no single copy outvotes the others */

/* Copies added up so far. */
typedef struct group {
    wh_soft_frame sum; /* found.soft: sums; times of first start and last end; the rest of the strongest copy */
    unsigned copies;
    double agreement; /* summed sync scores */
    double against;
    wh_air_span span[WH_SPANS_MAX];
} group;

struct wh_soft_merge {
    size_t count;
    group groups[GROUPS_MAX]; /* oldest first */
};

wh_soft_merge *wh_soft_merge_create(void)
{
    return calloc(1, sizeof(wh_soft_merge));
}

void wh_soft_merge_destroy(wh_soft_merge **merge)
{
    if (merge) {
        free(*merge);
        *merge = NULL;
    }
}

static double window_s(const wh_catalog_framing *framing)
{
    double longest = 0.0;
    for (size_t i = 0; i < framing->descriptor_count; i++)
        longest = fmax(longest, wh_copy_window_s(framing->descriptors[i]));
    return longest;
}

/* Mean product of the bits' expected signs. */
static float likeness(const wh_frame_try *a, const wh_frame_try *b)
{
    float sum = 0.0f;
    for (unsigned i = 0; i < a->bits; i++)
        sum += tanhf(0.5f * a->soft[i]) * tanhf(0.5f * b->soft[i]);
    return sum / (float)a->bits;
}

static bool belongs(const group *g, const wh_soft_frame *frame)
{
    if (g->sum.framing != frame->framing || g->sum.found.bits != frame->found.bits)
        return false;
    if (frame->start_s < g->sum.end_s || frame->start_s > g->sum.end_s + window_s(frame->framing))
        return false;
    if (fabs(frame->carrier_hz - g->sum.carrier_hz) > frame->carrier_slack_hz)
        return false;
    return likeness(&g->sum.found, &frame->found) > ALIKE_SIGMAS / sqrtf((float)frame->found.bits);
}

static float bounded(float llr)
{
    return llr > SOFT_BOUND ? SOFT_BOUND : llr < -SOFT_BOUND ? -SOFT_BOUND : llr;
}

static void remove_group(wh_soft_merge *merge, size_t index)
{
    memmove(&merge->groups[index], &merge->groups[index + 1], (merge->count - index - 1) * sizeof merge->groups[0]);
    merge->count--;
}

static void add(group *g, const wh_soft_frame *frame)
{
    wh_soft_frame *sum = &g->sum;
    for (unsigned i = 0; i < sum->found.bits; i++)
        sum->found.soft[i] += bounded(frame->found.soft[i]);
    if (frame->snr_db > sum->snr_db) {
        sum->snr_db = frame->snr_db;
        sum->level_dbfs = frame->level_dbfs;
        sum->carrier_hz = frame->carrier_hz;
    }
    if (g->copies < WH_SPANS_MAX)
        g->span[g->copies] = (wh_air_span){frame->start_s, frame->end_s};
    sum->end_s = frame->end_s;
    sum->tries += frame->tries;
    g->copies++;
    g->agreement += (double)frame->found.sync_score;
    g->against += (double)frame->found.sync_against;
}

static void begin(wh_soft_merge *merge, const wh_soft_frame *frame)
{
    if (merge->count == GROUPS_MAX)
        remove_group(merge, 0);
    group *g = &merge->groups[merge->count++];
    *g = (group){.sum = *frame,
                 .copies = 1,
                 .agreement = (double)frame->found.sync_score,
                 .against = (double)frame->found.sync_against};
    g->span[0] = (wh_air_span){frame->start_s, frame->end_s};
    g->sum.found.is_joint = false; /* sums of soft bits have no common path */
    for (unsigned i = 0; i < frame->found.bits; i++)
        g->sum.found.soft[i] = bounded(frame->found.soft[i]);
}

static bool try_group(group *g, wh_candidate *candidate)
{
    const wh_catalog_framing *framing = g->sum.framing;
    for (size_t i = 0; i < framing->descriptor_count; i++) {
        const wh_descriptor *descriptor = framing->descriptors[i];
        char detail[160];
        const wh_reason reason = wh_match(descriptor, &g->sum.found, candidate, detail);
        g->sum.tries += candidate->patterns;
        if (reason != WH_REASON_DECODED)
            continue;
        candidate->start_s = g->sum.start_s;
        candidate->end_s = g->sum.end_s;
        candidate->carrier_hz = g->sum.carrier_hz;
        candidate->snr_db = g->sum.snr_db;
        candidate->level_dbfs = g->sum.level_dbfs;
        /* Every copy had its own sync to find; what contradicted it adds up the same way, but is noise once the copies agree. */
        candidate->evidence.sync_chips *= g->copies;
        candidate->evidence.preamble_chips *= g->copies;
        candidate->evidence.sync_score = g->agreement / g->copies;
        candidate->evidence.against += g->against / g->copies - (double)g->sum.found.sync_against;
        candidate->evidence.tries = fmax(1.0, g->sum.tries);
        candidate->evidence.copies = 1; /* the sums already count every copy */
        candidate->merged = g->copies;
        memcpy(candidate->span, g->span, sizeof candidate->span);
        return true;
    }
    return false;
}

bool wh_soft_merge_take(wh_soft_merge *merge, const wh_soft_frame *frame, wh_candidate *candidate)
{
    for (size_t i = 0; i < merge->count;) {
        const group *g = &merge->groups[i];
        if (frame->start_s > g->sum.end_s + window_s(g->sum.framing) + 1.0)
            remove_group(merge, i); /* long past: nothing can join it */
        else
            i++;
    }
    for (size_t i = 0; i < merge->count; i++) {
        if (!belongs(&merge->groups[i], frame))
            continue;
        add(&merge->groups[i], frame);
        return try_group(&merge->groups[i], candidate);
    }
    begin(merge, frame);
    return false;
}

double wh_soft_merge_awaited_s(const wh_soft_merge *merge, double horizon_s)
{
    double awaited = INFINITY;
    for (size_t i = 0; i < merge->count; i++) {
        const wh_soft_frame *sum = &merge->groups[i].sum;
        if (sum->end_s + window_s(sum->framing) >= horizon_s)
            awaited = fmin(awaited, sum->start_s);
    }
    return awaited;
}
