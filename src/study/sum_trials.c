/* Sums of words, and parities. */
#include "bits.h"
#include "check_trial.h"

#include <math.h>

#define PRIME                   65521 /* for ranks of numbers: large enough that a rank is hardly ever lost */
#define LEAST_COVERED_BY_PARITY 3

/* word[k]: `bits` bits from k on as a number; upto[k]: the sum of the words at k - bits, k - 2 bits, ... */
typedef struct sums {
    uint32_t word[WH_FRAME_BITS_MAX + 1], upto[WH_FRAME_BITS_MAX + 1];
} sums;

typedef struct search {
    wh_trials *trials;
    const wh_trial_frames *frames;
    unsigned word;
    sums of[WH_CHECK_FRAMES_MAX];
    bool bytes_turned;
    unsigned phase;
} search;

static void add_up(const wh_frame_bits *frame, unsigned columns, unsigned word, sums *out)
{
    for (unsigned k = 0; k <= columns; k++) {
        out->word[k] = k + word <= columns ? (uint32_t)wh_bits_read(frame->data, k, word) : 0;
        out->upto[k] = k >= word ? out->upto[k - word] + out->word[k - word] : 0;
    }
}

static uint32_t sum_of(const sums *of, const wh_trial_range *range)
{
    if (range->place < range->from || range->place >= range->to)
        return of->upto[range->to] - of->upto[range->from];
    return of->upto[range->place] - of->upto[range->from] + of->upto[range->to] - of->upto[range->place + range->width];
}

static uint32_t check_of(const search *s, const wh_trial_range *range, unsigned frame, bool swapped)
{
    const wh_places at = {1, {{(uint16_t)range->place, (uint16_t)range->width}}};
    return (uint32_t)wh_places_read(&s->frames->frame[frame], &at, false, swapped);
}

/* Kind and start from the constant that is left, over as many of the constant words in front as possible. */
static double choose_constants(const search *s, const wh_trial_range *first, bool minus, bool swapped, wh_check *check)
{
    const uint32_t mask = (uint32_t)wh_bits_mask(first->width);
    wh_trial_range range = *first;
    const bool in_front = range.place >= range.to;
    double tried = 0.0;
    uint32_t rest = 0;
    for (unsigned from = range.from;
         from == range.from || (in_front && from <= s->frames->first_varying && from < range.to); from += s->word) {
        range.from = from;
        const uint32_t sum = sum_of(&s->of[0], &range), held = check_of(s, &range, 0, swapped);
        const uint32_t left = (minus ? held + sum : held - sum) & mask;
        if (from == first->from)
            rest = left;
        tried += 2.0;
        check->kind = minus && left == 0 ? WH_CHECK_TWOS_SUM : WH_CHECK_SUM;
        check->final_xor = minus && left == mask ? mask : 0; /* -sum - 1 */
        check->start = 0;
        if (left == 0 || check->final_xor) {
            wh_trial_places(&range, check);
            return first->width > log2(tried) ? first->width - log2(tried) : 0.0;
        }
    }
    check->kind = minus ? WH_CHECK_TWOS_SUM : WH_CHECK_SUM;
    check->final_xor = 0;
    check->start = minus ? (0u - rest) & mask : rest;
    wh_trial_places(first, check);
    return 0.0;
}

static void consider(const search *s, const wh_trial_range *range, bool minus, bool swapped)
{
    wh_check_found found = {
        .check = {.width = (uint8_t)range->width, .word = (uint8_t)s->word, .low_byte_first = swapped},
        .bytes_turned = s->bytes_turned,
        .phase = s->phase,
        .frames = s->frames->count};
    const double constants = choose_constants(s, range, minus, swapped, &found.check);
    found.independent = wh_trial_word_rank(s->frames, &found.check, s->word, true);
    found.evidence_bits = (double)found.independent * range->own + constants;
    found.cost_bits = 2.0 + range->cost + (range->width == 8 && s->word == 8 ? 1.0 : 3.5) + (minus ? 1.5 : 0.5) +
                      (swapped ? 2.0 : 0.0) + (s->bytes_turned ? 4.0 : 0.5);
    found.chance = exp2(found.cost_bits - found.evidence_bits);
    wh_trials_keep(s->trials, &found);
}

static void try_range(void *context, const wh_trial_range *range)
{
    const search *s = context;
    const uint32_t mask = (uint32_t)wh_bits_mask(range->width);
    if (s->bytes_turned && (range->from % 8 != s->phase || range->place % 8 != s->phase))
        return;
    for (unsigned order = 0; order < 4; order++) {
        const bool minus = order & 1, swapped = order >> 1;
        if (swapped && range->width != 16)
            break;
        s->trials->tried += 1.0;
        uint32_t left = 0;
        bool same = true;
        for (unsigned i = 0; i < s->frames->count && same; i++) {
            const uint32_t sum = sum_of(&s->of[i], range), held = check_of(s, range, i, swapped);
            const uint32_t here = (minus ? held + sum : held - sum) & mask;
            same = i == 0 || here == left;
            left = here;
        }
        if (same)
            consider(s, range, minus, swapped);
    }
}

void wh_sum_trials(wh_trials *trials, bool bytes_turned, unsigned phase)
{
    static const struct {
        uint8_t word, width;
    } shapes[] = {{8, 8}, {4, 4}, {16, 16}, {8, 16}, {4, 8}};
    search s = {.trials = trials, .frames = trials->frames, .bytes_turned = bytes_turned, .phase = phase};
    for (unsigned shape = 0; shape < sizeof shapes / sizeof *shapes; shape++) {
        s.word = shapes[shape].word;
        if (bytes_turned && s.word != 8)
            continue;
        for (unsigned i = 0; i < s.frames->count; i++)
            add_up(&s.frames->frame[i], s.frames->columns, s.word, &s.of[i]);
        wh_trial_ranges(s.frames, shapes[shape].width, s.word, try_range, &s);
    }
}

static void keep_parity(wh_trials *trials, unsigned from, unsigned to, unsigned place, double cost)
{
    const wh_trial_frames *frames = trials->frames;
    const wh_trial_range range = {.from = from, .to = to, .place = place, .width = 1};
    wh_check_found found = {.check = {.kind = WH_CHECK_PARITY_EVEN, .width = 1}, .frames = frames->count};
    wh_trial_places(&range, &found.check);
    if (!wh_check_right(&found.check, &frames->frame[0]))
        found.check.kind = WH_CHECK_PARITY_ODD;
    found.independent = wh_trial_rank(frames, &found.check.over, &found.check.at);
    found.evidence_bits = found.independent;
    found.cost_bits = cost + 3.0;
    found.chance = exp2(found.cost_bits - found.evidence_bits);
    wh_trials_keep(trials, &found);
}

/* A parity bit beside the bits it covers. Columns are patterns over the frames, so a range is one XOR of two sums. */
void wh_parity_trials(wh_trials *trials)
{
    const wh_trial_frames *frames = trials->frames;
    uint64_t upto[WH_FRAME_BITS_MAX + 1] = {0};
    for (unsigned c = 0; c < frames->columns; c++)
        upto[c + 1] = upto[c] ^ frames->column[c];
    for (unsigned place = 0; place < frames->columns; place++) {
        const uint64_t own = frames->column[place];
        if (own == 0)
            continue;
        const double steps = log2(frames->columns), cost = place + 1 == frames->columns ? 1.0 : 1.0 + steps;
        for (unsigned from = 0; from + LEAST_COVERED_BY_PARITY <= place; from++) {
            trials->tried += 1.0;
            const bool whole = from == 0;
            if ((whole || frames->column[from - 1]) && (upto[place] ^ upto[from]) == own)
                keep_parity(trials, from, place, place, cost + (whole ? 1.0 : 2.0 + steps));
        }
        for (unsigned to = frames->columns; to >= place + 1 + LEAST_COVERED_BY_PARITY; to--) {
            trials->tried += 1.0;
            const bool whole = to == frames->columns;
            if ((whole || frames->column[to]) && (upto[to] ^ upto[place + 1]) == own)
                keep_parity(trials, place + 1, to, place, cost + (whole ? 3.0 : 4.0 + steps));
        }
        trials->tried += 1.0;
        if (place > 0 && place + 1 < frames->columns && upto[frames->columns] == 0)
            keep_parity(trials, 0, frames->columns, place, cost + 4.0);
    }
}
