#include "line_decode.h"

#include "line_coherent.h"
#include "line_uneven.h"
#include "line_words.h"
#include "quick_math.h"
#include "wide.h"

#include <math.h>

#define NEVER        (-1e30f)
#define DOUBT        10.0f
#define SECOND_LOOKS 2
/* Share of the chips' weight that contradicts the words from which on no second look helps: what is contradicted by a quarter is refused
 * in any case, and frames at the edge of what can be decoded are by a tenth. */
#define HOPELESS 0.3f
/* However sure a chip looks, one in three thousand is hit by something that no noise explains: it must not spoil the trust in all. */
#define TRUST_BOUND 8.0f
#define TRUST_LEAST 0.05f
#define TRUST_STEPS 8

#define LANES     8                                                /* chips added up side by side */
#define CHIPS_MAX (WH_LINE_BITS_MAX * WH_LINE_PATTERN_MAX + LANES) /* of a row of bits, up to whole lanes */

/* The chips of a row of decided bits. */
typedef struct verdict {
    size_t count, lanes; /* chips, and the same up to a multiple of LANES: filled up with 0 */
    unsigned violations;
    uint8_t last;          /* value of the last chip */
    float with[CHIPS_MAX]; /* |llr|, negative where it contradicts the word */
} verdict;

static void compare_words(const wh_line_words *words, const wh_chips *chips, size_t at, int level, size_t bits,
                          const float *soft, verdict *v)
{
    unsigned state = words->states == 2 && level == 1, violations = 0;
    size_t count = 0;
    v->last = (uint8_t)(level == 1);
    for (size_t k = 0; k < bits; k++) {
        const unsigned bit = soft[k] > 0.0f, length = words->count[state][bit];
        const uint8_t *word = words->chip[state][bit];
        for (unsigned i = 0; i < length; i++, count++) {
            const float llr = chips->llr[at + count];
            v->with[count] = word[i] ? llr : -llr;
            violations += (llr > 0.0f) != (word[i] == 1);
        }
        v->last = word[length - 1];
        state = wh_line_next_state(words, state, bit);
    }
    v->count = v->lanes = count;
    v->violations = violations;
    while (v->lanes % LANES)
        v->with[v->lanes++] = 0.0f;
}

static float total(const float lane[LANES])
{
    return ((lane[0] + lane[1]) + (lane[2] + lane[3])) + ((lane[4] + lane[5]) + (lane[6] + lane[7]));
}

/* Sums of the chips' |llr|, and of what contradicts the words, no chip counting for more than `most`. */
WH_WIDE static void add_up(const float *restrict with, size_t lanes, float most, float *restrict all,
                           float *restrict against)
{
    float sum[LANES] = {0.0f}, wrong[LANES] = {0.0f};
    for (size_t i = 0; i < lanes; i += LANES)
        for (size_t l = 0; l < LANES; l++) {
            const float sure = fabsf(with[i + l]), bounded = sure < most ? sure : most;
            sum[l] += bounded;
            wrong[l] += with[i + l] < 0.0f ? bounded : 0.0f;
        }
    *all = total(sum);
    *against = total(wrong);
}

/* |llr| of the chips, bounded, that noise would turn against the truth if all were `trust` times as sure as they look; and the variance
 * of that. */
WH_WIDE static float contradiction_due(const float *restrict with, size_t lanes, float most, float trust,
                                       float *restrict variance)
{
    float sum[LANES] = {0.0f}, squares[LANES] = {0.0f};
    for (size_t i = 0; i < lanes; i += LANES)
        for (size_t l = 0; l < LANES; l++) {
            const float size = fabsf(with[i + l]), sure = size < most ? size : most;
            const float wrong = 1.0f / (1.0f + wh_quick_exp(trust * sure)), lost = sure * wrong;
            sum[l] += lost;
            squares[l] += lost * sure * (1.0f - wrong);
        }
    *variance = total(squares);
    return total(sum);
}

/* Chips whose likelihoods are honest contradict the code words as often as they say. What contradicts more, beyond a standard
 * deviation, shows likelihoods that are too sure: fading, interference, phase noise. Shrink them until the count fits. */
static float judge_trust(const verdict *v)
{
    float all, against, variance;
    add_up(v->with, v->lanes, TRUST_BOUND, &all, &against);
    if (against <= 0.0f)
        return 1.0f;
    const float due = contradiction_due(v->with, v->lanes, TRUST_BOUND, 1.0f, &variance);
    const float target = against - sqrtf(variance);
    if (target <= due)
        return 1.0f;
    float low = TRUST_LEAST, high = 1.0f;
    for (int step = 0; step < TRUST_STEPS; step++) {
        const float middle = 0.5f * (low + high);
        if (contradiction_due(v->with, v->lanes, TRUST_BOUND, middle, &variance) < target)
            high = middle;
        else
            low = middle;
    }
    return low;
}

static void judge_words(const verdict *v, wh_line_result *result)
{
    float all, against, variance;
    add_up(v->with, v->lanes, INFINITY, &all, &against);
    result->level = v->last;
    result->violations = v->violations;
    result->mismatch = all > 0.0f ? against / all : 1.0f;
    const float due = contradiction_due(v->with, v->lanes, INFINITY, 1.0f, &variance);
    result->mismatch_due = all > 0.0f ? due / all : 0.0f;
    result->trust = judge_trust(v);
}

static inline float greater(float a, float b)
{
    return a > b ? a : b;
}

/* Forward and backward best paths over at most two states (max-log BCJR). Returns the level before the first bit. */
static int best_paths(const wh_line_words *words, const wh_branch *branch, int level, size_t bits, float *soft)
{
    float forward[WH_LINE_BITS_MAX + 1][2];
    for (unsigned s = 0; s < 2; s++)
        forward[0][s] = words->states == 1 ? (s == 0 ? 0.0f : NEVER) : (level < 0 || level == (int)s ? 0.0f : NEVER);
    unsigned next[2][2];
    for (unsigned state = 0; state < words->states; state++)
        for (unsigned b = 0; b < 2; b++)
            next[state][b] = wh_line_next_state(words, state, b);
    for (size_t k = 0; k < bits; k++) {
        forward[k + 1][0] = forward[k + 1][1] = NEVER;
        for (unsigned s = 0; s < words->states; s++) {
            for (unsigned b = 0; b < 2; b++) {
                float *best = &forward[k + 1][next[s][b]];
                *best = greater(*best, forward[k][s] + branch[k].word[s][b]);
            }
        }
    }
    float backward[2] = {0.0f, words->states == 2 ? 0.0f : NEVER}, first[2][2] = {{0.0f}};
    for (size_t k = bits; k-- > 0;) {
        float best[2] = {NEVER, NEVER}, before[2] = {NEVER, NEVER};
        for (unsigned s = 0; s < words->states; s++) {
            for (unsigned b = 0; b < 2; b++) {
                const float tail = first[s][b] = branch[k].word[s][b] + backward[next[s][b]];
                best[b] = greater(best[b], forward[k][s] + tail);
                before[s] = greater(before[s], tail);
            }
        }
        soft[k] = best[1] - best[0];
        backward[0] = before[0];
        backward[1] = before[1];
    }
    /* An unknown level is chosen together with the first bit: alone, each may be open while the pair is not. */
    const unsigned bit = soft[0] > 0.0f;
    return level >= 0 ? level : words->states == 2 && first[1][bit] > first[0][bit];
}

bool wh_bits_in_doubt(const float *soft, size_t bits)
{
    for (size_t k = 0; k < bits; k++)
        if (fabsf(soft[k]) < DOUBT)
            return true;
    return false;
}

/* Do the chips contradict the decided words so much that this is another code, or another place? Words of a single chip cannot be
 * contradicted. */
static bool is_hopeless(const wh_line_words *words, const wh_chips *chips, size_t at, int level, size_t bits,
                        const float *soft)
{
    verdict v;
    float all, against;
    compare_words(words, chips, at, level, bits, soft, &v);
    add_up(v.with, v.lanes, INFINITY, &all, &against);
    return against > HOPELESS * all;
}

/* Words of equal length: each judged for itself, then twice more with the phase that its neighbours lend. */
static bool decode_even(const wh_line_words *words, const wh_chips *chips, size_t at, int level, size_t bits,
                        float *soft, int *level_used)
{
    const size_t length = words->count[0][0];
    if (at + bits * length > chips->count)
        return false;
    wh_branch branch[WH_LINE_BITS_MAX];
    for (unsigned s = 0; s < words->states; s++)
        for (unsigned b = 0; b < 2; b++) {
            float likelihood[WH_LINE_BITS_MAX];
            wh_chips_likelihoods(chips, at, words->chip[s][b], length, bits, likelihood);
            for (size_t k = 0; k < bits; k++)
                branch[k].word[s][b] = likelihood[k];
        }
    *level_used = best_paths(words, branch, level, bits, soft);
    /* What lies beyond the carrier's end has no phase. */
    const size_t reach = chips->last > at ? (chips->last - at + length - 1) / length : 0,
                 heard = reach < bits ? reach : bits;
    for (unsigned look = 0; look < SECOND_LOOKS && wh_bits_in_doubt(soft, heard); look++) {
        if (look == 0 && is_hopeless(words, chips, at, *level_used, bits, soft))
            break;
        if (!wh_line_lend_phase(words, chips, at, *level_used, bits, soft, branch))
            break;
        *level_used = best_paths(words, branch, level, bits, soft);
    }
    return true;
}

bool wh_line_decode(const wh_line_spec *spec, const wh_chips *chips, size_t at, int level, size_t bits,
                    wh_line_tail tail, float *soft, wh_line_result *result)
{
    wh_line_words words;
    wh_line_words_make(spec, &words);
    if (bits == 0 || bits > WH_LINE_BITS_MAX || at > chips->count)
        return false;
    wh_line_result made = {0};
    const bool even = words.states == 2 || words.count[0][0] == words.count[0][1];
    int used = level;
    if (even ? !decode_even(&words, chips, at, level, bits, soft, &used)
             : !wh_line_uneven_decode(&words, chips, at, bits, tail, soft))
        return false;
    if (used < 0)
        used = 0;
    verdict v;
    compare_words(&words, chips, at, used, bits, soft, &v);
    judge_words(&v, &made);
    made.end = at + v.count;
    made.is_joint = !even;
    if (made.is_joint)
        made.log_probability = wh_line_uneven_probability(&words, chips, at, bits, tail, soft, made.trust);
    if (isnan(made.log_probability))
        return false;
    *result = made;
    return true;
}
