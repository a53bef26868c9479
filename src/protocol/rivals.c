#include "rivals.h"

#include "bits.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

/* All patterns of flips of this many least reliable bits are looked at one by one, 255 of them; beyond, the checks are taken to let
 * wrong frames pass by luck. */
#define LISTED 8
/* Flips that make a frame less likely by this factor (a millionth) are passed over: 255 of them still weigh nothing. */
#define NEGLIGIBLE 14.0

typedef struct listed {
    unsigned count;
    unsigned place[LISTED];
    double cost[LISTED]; /* ln P(bit as in the frame) / P(flipped) */
} listed;

static double with_frame(const wh_frame_try *found, const wh_frame_bits *frame, unsigned i)
{
    const double llr = (double)found->soft[i];
    return wh_bit_get(frame->data, i) ? llr : -llr;
}

/* The least reliable of the bits that matter, least reliable first. */
static listed least_reliable(const wh_frame_try *found, const wh_frame_bits *frame, const uint8_t *marks)
{
    listed list = {0};
    for (unsigned i = 0; i < found->bits; i++) {
        const double doubt = fabs((double)found->soft[i]);
        if (!wh_bit_get(marks, i) || (list.count == LISTED && doubt >= fabs(list.cost[LISTED - 1])))
            continue;
        unsigned at = list.count < LISTED ? list.count++ : LISTED - 1;
        for (; at > 0 && fabs(list.cost[at - 1]) > doubt; at--) {
            list.place[at] = list.place[at - 1];
            list.cost[at] = list.cost[at - 1];
        }
        list.place[at] = i;
        list.cost[at] = with_frame(found, frame, i);
    }
    return list;
}

static bool passes(const wh_descriptor *descriptor, const wh_frame_bits *frame)
{
    if (wh_constants_mismatch(descriptor, frame) >= 0)
        return false;
    for (unsigned i = 0; i < descriptor->check_count; i++)
        if (!wh_check_holds(descriptor, i, frame))
            return false;
    return true;
}

/* Summed probability of the listed patterns that pass, over that of the frame itself. */
static double listed_rivals(const wh_descriptor *descriptor, const listed *list, const wh_frame_bits *frame)
{
    double sum = 0.0;
    for (unsigned pattern = 1; pattern < 1u << list->count; pattern++) {
        double cost = 0.0;
        for (unsigned i = 0; i < list->count; i++)
            cost += pattern >> i & 1u ? list->cost[i] : 0.0;
        if (cost > NEGLIGIBLE)
            continue;
        wh_frame_bits rival = *frame;
        for (unsigned i = 0; i < list->count; i++)
            if (pattern >> i & 1u)
                wh_bit_put(rival.data, list->place[i], !wh_bit_get(rival.data, list->place[i]));
        if (passes(descriptor, &rival))
            sum += exp(-cost);
    }
    return sum;
}

/* ln P(a bit is as it stands), standing with (or, negative, against) its soft value. */
static double log_standing(double with)
{
    return with > 0.0 ? -log1p(exp(-with)) : with - log1p(exp(with));
}

static bool is_listed(const listed *list, unsigned place)
{
    for (unsigned i = 0; i < list->count; i++)
        if (list->place[i] == place)
            return true;
    return false;
}

/* The same for pairs of flips of which at least one is beyond the list: two errors in one column of a sum or XOR cancel. */
static double paired_rivals(const wh_descriptor *descriptor, const listed *list, const wh_frame_try *found,
                            const wh_frame_bits *frame, const uint8_t *marks)
{
    double sum = 0.0;
    for (unsigned i = 0; i < found->bits; i++) {
        const double first = with_frame(found, frame, i);
        const bool first_listed = is_listed(list, i);
        if (!wh_bit_get(marks, i) || first > NEGLIGIBLE)
            continue;
        for (unsigned j = i + 1; j < found->bits; j++) {
            const double cost = first + with_frame(found, frame, j);
            if (!wh_bit_get(marks, j) || cost > NEGLIGIBLE || (first_listed && is_listed(list, j)))
                continue;
            wh_frame_bits rival = *frame;
            wh_bit_put(rival.data, i, !wh_bit_get(rival.data, i));
            wh_bit_put(rival.data, j, !wh_bit_get(rival.data, j));
            if (passes(descriptor, &rival))
                sum += exp(-cost);
        }
    }
    return sum;
}

/* Share of wrong frames that all checks let pass by luck. */
static double luck(const wh_descriptor *descriptor)
{
    double bits = 0.0;
    for (unsigned i = 0; i < descriptor->check_count; i++)
        bits += (double)descriptor->checks[i].width;
    return exp2(-bits);
}

static bool pairs_may_pass(const wh_descriptor *descriptor)
{
    for (unsigned i = 0; i < descriptor->check_count; i++)
        if (descriptor->checks[i].kind == WH_CHECK_CRC) /* finds all pairs in frames of this length */
            return false;
    return descriptor->check_count > 0;
}

/* Bits of unequal words are wrong together, a whole stretch of them: whatever the check, chance lets them pass. */
static wh_rivalry joint_rivals(const wh_descriptor *descriptor, double log_probability)
{
    return (wh_rivalry){log_probability, -expm1(log_probability) * luck(descriptor)};
}

wh_rivalry wh_rivals(const wh_descriptor *descriptor, const wh_frame_try *found, const wh_frame_bits *frame)
{
    if (found->is_joint)
        return joint_rivals(descriptor, (double)found->log_probability);
    uint8_t marks[WH_FRAME_BITS_MAX / 8];
    wh_bits_that_matter(descriptor, marks);
    const listed list = least_reliable(found, frame, marks);
    double inside = 0.0, all = 0.0;
    for (unsigned i = 0; i < found->bits; i++)
        if (wh_bit_get(marks, i))
            all += log_standing(with_frame(found, frame, i));
    for (unsigned i = 0; i < list.count; i++)
        inside += log_standing(list.cost[i]);
    const double beyond = fmax(inside - all, 0.0); /* errors expected beyond the list */
    double near = listed_rivals(descriptor, &list, frame), far = -expm1(-beyond);
    if (pairs_may_pass(descriptor)) {
        near += paired_rivals(descriptor, &list, found, frame, marks);
        far = fmax(0.0, 1.0 - exp(-beyond) * (1.0 + beyond + 0.5 * beyond * beyond)); /* three and more */
    }
    return (wh_rivalry){all, exp(all) * near + far * luck(descriptor)};
}
