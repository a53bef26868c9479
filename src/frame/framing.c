#include "frame_search.h"

#include <string.h>

/* Chips of preamble looked for in front of the sync. The first chips of a burst are often lost to a settling transmitter, and
 * a repeating preamble tells little about the place, so not all of a long one is used. */
#define PREAMBLE_CHIPS 40

static size_t put_pattern(const wh_line_spec *line, const wh_pattern *pattern, uint8_t *level, uint8_t *chips,
                          size_t room)
{
    if (pattern->count == 0)
        return 0;
    if (!pattern->chips)
        return wh_line_encode(line, pattern->value, pattern->count, level, chips, room);
    const size_t count = pattern->count < room ? pattern->count : room;
    memcpy(chips, pattern->value, count);
    *level = pattern->value[count - 1];
    return count;
}

static void make_variant(wh_framing *framing, unsigned variant)
{
    const wh_frame_spec *frame = &framing->frame;
    uint8_t chips[4 * WH_KNOWN_CHIPS_MAX];
    uint8_t level = (uint8_t)variant;
    size_t count = 0;
    for (unsigned i = 0; i < frame->preamble_repeats && count < PREAMBLE_CHIPS + WH_LINE_PATTERN_MAX; i++) {
        const size_t more =
            put_pattern(&framing->line, &frame->preamble, &level, chips + count, WH_KNOWN_CHIPS_MAX - count);
        if (more == 0)
            break;
        count += more;
    }
    /* At most three quarters of the preamble that is sent, and at most PREAMBLE_CHIPS of it. */
    const size_t all = frame->preamble_repeats > 0 ? count : 0;
    size_t keep = all < PREAMBLE_CHIPS ? all : PREAMBLE_CHIPS;
    if (all > 8 && keep > all - all / 4)
        keep = all - all / 4;
    memmove(chips, chips + all - keep, keep);
    const size_t sync = put_pattern(&framing->line, &frame->sync, &level, chips + keep, WH_KNOWN_CHIPS_MAX - keep);
    framing->known[variant] = keep + sync;
    framing->sync_chips[variant] = sync;
    framing->level[variant] = level;
    memcpy(framing->chip[variant], chips, keep + sync);
}

static size_t pattern_chips(const wh_pattern *pattern, unsigned per_bit)
{
    return pattern->chips ? pattern->count : (size_t)pattern->count * per_bit;
}

void wh_framing_make(const wh_line_spec *line, const wh_frame_spec *frame, wh_framing *framing)
{
    memset(framing, 0, sizeof *framing);
    framing->line = *line;
    framing->frame = *frame;
    make_variant(framing, 0);
    make_variant(framing, 1);
    const bool same =
        framing->known[0] == framing->known[1] && memcmp(framing->chip[0], framing->chip[1], framing->known[0]) == 0;
    framing->variants = same ? 1 : 2;
    const unsigned least = wh_line_chips_min(line), most = wh_line_chips_max(line);
    framing->preamble_chips = pattern_chips(&frame->preamble, most) * frame->preamble_repeats;
    framing->shortest_chips = pattern_chips(&frame->sync, least) + (size_t)frame->bits_min * least;
    framing->longest_chips = pattern_chips(&frame->preamble, most) * frame->preamble_repeats +
                             pattern_chips(&frame->sync, most) + (size_t)frame->bits_max * most +
                             pattern_chips(&frame->end, most);
    framing->zero_run = wh_line_longest_zero_run(line);
    uint8_t level = 0; /* words of unequal length do not depend on it */
    if (least != most)
        framing->tail_count = put_pattern(line, &frame->end, &level, framing->tail, sizeof framing->tail);
}
