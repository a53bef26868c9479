/* CRCs and XORs: generators by greatest common divisors. */
#include "bits.h"
#include "check_trial.h"
#include "crc_names.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define WIDTH_LEAST 4
#define WIDTH_MOST  32
#define SPARE       8 /* degrees by which what divides all differences may exceed the generator: more, and they are too few */
#define DIVISORS    8

/* The differences as polynomials, in the order in which a register takes the bits, and as sent. */
typedef struct view {
    unsigned rank;
    wh_poly2 taken[WH_RANK_MAX], sent[WH_RANK_MAX];
    wh_poly2 frame_taken, frame_sent; /* one whole frame */
} view;

typedef struct search {
    wh_trials *trials;
    const wh_trial_frames *frames;
    view views[9]; /* as sent; each byte low bit first, bytes beginning at bit 0, 1, ... 7 and every eight bits */
    bool mirrored;
    wh_trial_range range;
    bool reflect_out, swapped;
} search;

static void make_view(view *out, const wh_trial_frames *frames, int phase)
{
    wh_trial_frames turned;
    wh_frame_bits rows[WH_CHECK_FRAMES_MAX];
    for (unsigned i = 0; i < frames->count; i++) {
        rows[i] = frames->frame[i];
        if (phase >= 0)
            wh_frame_turn_bytes(&rows[i], (unsigned)phase);
    }
    wh_trial_frames_make(&turned, rows, frames->count, frames->columns);
    out->rank = turned.rank;
    for (unsigned i = 0; i < turned.rank; i++) {
        out->taken[i] = wh_poly2_of_bits(turned.basis[i].data, frames->columns);
        wh_frame_bits back = turned.basis[i];
        if (phase >= 0)
            wh_frame_turn_bytes(&back, (unsigned)phase);
        out->sent[i] = wh_poly2_of_bits(back.data, frames->columns);
    }
    out->frame_taken = wh_poly2_of_bits(rows[0].data, frames->columns);
    out->frame_sent = wh_poly2_of_bits(frames->frame[0].data, frames->columns);
}

/* The covered bits as a polynomial, m. */
static wh_poly2 covered(const wh_poly2 *taken, unsigned columns, const wh_trial_range *range)
{
    wh_poly2 m = wh_poly2_down(taken, columns - range->to);
    m = wh_poly2_low(&m, range->to - range->from);
    if (range->place < range->from || range->place >= range->to)
        return m;
    const unsigned behind = range->to - range->place - range->width;
    const wh_poly2 low = wh_poly2_low(&m, behind);
    wh_poly2 high = wh_poly2_down(&m, behind + range->width);
    high = wh_poly2_up(&high, behind);
    return wh_poly2_add(&high, &low);
}

static unsigned covered_bits(const wh_trial_range *range)
{
    const bool around = range->place >= range->from && range->place < range->to;
    return range->to - range->from - (around ? range->width : 0);
}

static uint64_t swap_bytes(uint64_t value, unsigned width)
{
    uint64_t swapped = 0;
    for (unsigned i = 0; i < width; i += 8)
        swapped = swapped << 8 | (value >> i & 0xFF);
    return swapped;
}

/* What the register held, from the check as it was sent (before final XOR). */
static uint64_t register_of(const search *s, const wh_poly2 *sent)
{
    const unsigned width = s->range.width;
    const wh_poly2 down = wh_poly2_down(sent, s->frames->columns - s->range.place - width);
    uint64_t value = down.word[0] & wh_bits_mask(width);
    if (s->swapped)
        value = swap_bytes(value, width);
    return s->reflect_out ? wh_bits_reverse(value, width) : value;
}

/* m x^width + check: a multiple of the generator when it is a difference of two frames. */
static wh_poly2 codeword(const search *s, const wh_poly2 *taken, const wh_poly2 *sent)
{
    const wh_poly2 m = covered(taken, s->frames->columns, &s->range);
    wh_poly2 word = wh_poly2_up(&m, s->range.width);
    word.word[0] ^= register_of(s, sent);
    return word;
}

/* What divides all differences, without powers of x (a generator has the constant term 1); 0 when nothing of the width does. */
static uint64_t common_divisor(const search *s, const view *v)
{
    wh_poly2 divisor = {{0}};
    int degree = -1;
    for (unsigned i = v->rank; i-- > 0;) { /* the last have the lowest degree: short work */
        const wh_poly2 word = codeword(s, &v->taken[i], &v->sent[i]);
        if (wh_poly2_degree(&word) < 0)
            continue;
        divisor = wh_poly2_gcd(&divisor, &word);
        degree = wh_poly2_degree(&divisor);
        if (degree < (int)s->range.width)
            return 0;
    }
    if (degree < 0)
        return 0;
    unsigned powers = 0;
    while (!(divisor.word[powers / 64] >> powers % 64 & 1))
        powers++;
    divisor = wh_poly2_down(&divisor, powers);
    degree -= (int)powers;
    if (degree < (int)s->range.width || degree > (int)s->range.width + SPARE)
        return 0;
    return divisor.word[0];
}

/* value x^count modulo the generator. */
static uint64_t shift_register(uint64_t value, unsigned count, uint64_t generator, unsigned width)
{
    for (unsigned i = 0; i < count; i++) {
        value <<= 1;
        if (value >> width & 1)
            value ^= generator;
    }
    return value;
}

/* Start and final XOR that give the right check: those with a name or of the usual kind, over as much of the constant bits in
 * front as possible; else the start is 0 and the final XOR what remains. Returns the bits of evidence that the values give. */
static double choose_constants(const search *s, const view *v, uint64_t generator, wh_check_found *found)
{
    const unsigned width = s->range.width;
    const uint64_t ones = wh_bits_mask(width);
    wh_trial_range range = s->range;
    wh_check *check = &found->check;
    const uint64_t held = register_of(s, &v->frame_sent);
    double tried = 0.0;
    const bool in_front = range.from < s->frames->first_varying && range.place >= range.to;
    const unsigned latest = in_front ? s->frames->first_varying : range.from, step = 8, aligned = range.to % step;
    uint64_t rest = 0;
    /* All there is, and whole bytes. */
    for (unsigned from = range.from; from <= latest; from += from % step == aligned ? step : 1) {
        if (from != s->range.from && from % step != aligned)
            continue;
        range.from = from;
        const unsigned count = covered_bits(&range);
        if (count == 0)
            break;
        const wh_poly2 m = covered(&v->frame_taken, s->frames->columns, &range);
        const wh_poly2 shifted = wh_poly2_up(&m, width), divisor = {{generator}};
        const wh_poly2 left = wh_poly2_mod(&shifted, &divisor);
        const uint64_t constant = left.word[0] ^ held; /* start x^count + final XOR */
        if (from == s->range.from)
            rest = constant;
        for (size_t i = 0; i < wh_crc_name_count() + 4; i++) {
            const bool named = i < wh_crc_name_count();
            const size_t usual = i - wh_crc_name_count();
            const wh_crc crc = named ? wh_crc_name_at(i)->crc
                                     : (wh_crc){width,
                                                (uint32_t)(generator & ones),
                                                usual == 1 || usual == 2 ? (uint32_t)ones : 0,
                                                usual >= 2 ? (uint32_t)ones : 0,
                                                s->mirrored,
                                                s->reflect_out};
            if (crc.width != width || crc.polynomial != (generator & ones) || crc.reflect_in != s->mirrored ||
                crc.reflect_out != s->reflect_out)
                continue;
            tried += 1.0;
            const uint64_t final_xor = crc.reflect_out ? wh_bits_reverse(crc.final_xor, width) : crc.final_xor;
            if ((shift_register(crc.start, count, generator, width) ^ final_xor) != constant)
                continue;
            check->start = crc.start;
            check->final_xor = crc.final_xor;
            wh_trial_places(&range, check);
            if (named)
                snprintf(found->algorithm, sizeof found->algorithm, "%s", wh_crc_name_at(i)->name);
            return width > log2(tried) ? width - log2(tried) : 0.0;
        }
    }
    check->start = 0;
    check->final_xor = (uint32_t)(s->reflect_out ? wh_bits_reverse(rest, width) : rest);
    wh_trial_places(&s->range, check);
    return 0.0;
}

static double width_cost(unsigned width)
{
    return width == 8 ? 1.5 : width == 16 ? 2.0 : width == 4 ? 4.0 : width % 8 == 0 ? 5.0 : 7.0;
}

static double order_cost(const search *s)
{
    if (s->reflect_out != s->mirrored)
        return 6.0;
    if (s->mirrored)
        return s->range.width > 8 ? 3.0 : 2.0;
    return s->swapped ? 4.0 : 1.0;
}

static double polynomial_cost(uint64_t generator, unsigned width)
{
    for (size_t i = 0; i < wh_crc_name_count(); i++) {
        const wh_crc *crc = &wh_crc_name_at(i)->crc;
        if (crc->width == width && crc->polynomial == (generator & wh_bits_mask(width)))
            return 1.0 + log2(wh_crc_named_polynomials(width));
    }
    return 1.0 + (width - 1); /* the constant term is 1 */
}

/* x^w + 1: the XOR of all words of w bits; then there is no more to it than that. */
static bool as_xor(const search *s, wh_check_found *found)
{
    wh_check *check = &found->check;
    wh_trial_range range = s->range;
    const unsigned width = range.width;
    if (s->mirrored || s->reflect_out || s->swapped)
        return false; /* the same again */
    if (range.to == range.place && range.place >= range.from)
        range.from = range.to % width <= s->frames->first_varying && range.from < width ? range.to % width : range.from;
    if (covered_bits(&range) % width != 0)
        return false;
    wh_trial_places(&range, check);
    check->kind = WH_CHECK_XOR;
    check->word = (uint8_t)width;
    check->polynomial = 0;
    check->reflect_in = check->reflect_out = false;
    check->start = check->final_xor = 0;
    const wh_frame_bits *frame = &s->frames->frame[0];
    check->start = (uint32_t)wh_places_read(frame, &check->at, false, false) ^ wh_check_value(check, frame);
    return true;
}

static void consider(const search *s, const view *v, uint64_t generator)
{
    const unsigned width = s->range.width;
    wh_check_found found = {.check = {.kind = WH_CHECK_CRC,
                                      .width = (uint8_t)width,
                                      .polynomial = (uint32_t)(generator & wh_bits_mask(width)),
                                      .reflect_in = s->mirrored,
                                      .reflect_out = s->reflect_out,
                                      .low_byte_first = s->swapped},
                            .frames = s->frames->count};
    double constants = 0.0, cost = 1.0 + width_cost(width) + s->range.cost;
    if (found.check.polynomial == 1) {
        if (!as_xor(s, &found))
            return;
        cost += 1.0;
        constants = found.check.start == 0 ? width : 0.0;
    } else {
        constants = choose_constants(s, v, generator, &found);
        cost += polynomial_cost(generator, width) + order_cost(s);
    }
    found.independent = wh_trial_rank(s->frames, &found.check.over, &found.check.at);
    /* A number that rises with another repeats one relation, which as bits looks like several. A check is no such number: as
     * one it is independent of what it covers. */
    const unsigned word = found.check.word ? found.check.word : 8;
    const unsigned words = wh_trial_word_rank(s->frames, &found.check, word, true);
    if (words == wh_trial_word_rank(s->frames, &found.check, word, false) && words < found.independent)
        found.independent = words;
    found.evidence_bits = (double)found.independent * s->range.own + constants;
    found.cost_bits = cost;
    found.chance = exp2(cost - found.evidence_bits);
    wh_trials_keep(s->trials, &found);
}

/* Is there a sum of differences that is nothing before the place, and something in it? A linear check of what stands before it
 * would be nothing, too. Rules most places out without a division. */
static bool moves_by_itself(const wh_trial_frames *frames, const wh_trial_range *range)
{
    bool any = false;
    for (unsigned c = range->place; c < range->place + range->width && range->place >= range->to; c++)
        any |= frames->leads[c];
    return any;
}

static void try_range(void *context, const wh_trial_range *range)
{
    search *s = context;
    const unsigned width = range->width;
    const unsigned phase = range->from % 8;
    const view *v = &s->views[s->mirrored ? 1 + phase : 0];
    s->range = *range;
    /* Not even with known start and final XOR could chance be ruled out. */
    const double most = (double)s->frames->rank * range->own + width;
    if (exp2(1.0 + width_cost(width) + range->cost - most) > WH_CHECK_CHANCE_MAX || moves_by_itself(s->frames, range))
        return;
    for (unsigned order = 0; order < 4; order++) {
        s->reflect_out = order & 1;
        s->swapped = order >> 1;
        if (s->swapped && (width % 8 != 0 || width == 8))
            break;
        s->trials->tried += 1.0;
        const uint64_t divisor = common_divisor(s, v);
        if (divisor == 0)
            continue;
        uint64_t generators[DIVISORS];
        const unsigned count = wh_poly2_divisors(divisor, width, generators, DIVISORS);
        for (unsigned i = 0; i < count; i++)
            consider(s, v, generators[i]);
    }
}

void wh_crc_trials(wh_trials *trials)
{
    static const wh_trial_range none = {0};
    search s = {.trials = trials, .frames = trials->frames, .range = none};
    for (int i = 0; i < 9; i++)
        make_view(&s.views[i], trials->frames, i - 1);
    for (int mirrored = 0; mirrored < 2; mirrored++) {
        s.mirrored = mirrored;
        for (unsigned width = WIDTH_LEAST; width <= WIDTH_MOST; width++)
            wh_trial_ranges(trials->frames, width, mirrored ? 8 : 1, try_range, &s);
    }
}
