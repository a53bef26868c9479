#include "line_decode.h"

#include "line_coherent.h"
#include "line_words.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

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

/* How well the words of the decided bits explain the chips. */
static void compare_words(const wh_line_words *words, const wh_chips *chips, size_t at, int level, size_t bits,
                          const float *soft, wh_line_result *result)
{
    unsigned state = words->states == 2 && level == 1, violations = 0;
    float against = 0.0f, all = 0.0f, due = 0.0f;
    uint8_t last = (uint8_t)(level == 1);
    for (size_t k = 0; k < bits; k++) {
        const unsigned bit = soft[k] > 0.0f;
        for (unsigned i = 0; i < words->count[state][bit]; i++, at++) {
            const float llr = chips->llr[at];
            last = words->chip[state][bit][i];
            all += fabsf(llr);
            due += fabsf(llr) / (1.0f + expf(fabsf(llr)));
            if ((llr > 0.0f) != (last == 1)) {
                against += fabsf(llr);
                violations++;
            }
        }
        state = wh_line_next_state(words, state, bit);
    }
    result->end = at;
    result->level = last;
    result->violations = violations;
    result->mismatch = all > 0.0f ? against / all : 1.0f;
    result->mismatch_due = all > 0.0f ? due / all : 0.0f;
}

/* |llr| of chips first..last, bounded, that noise would turn against the truth if all were `trust` times as sure as they look; and the
 * variance of that. */
static float contradiction_due(const wh_chips *chips, size_t first, size_t last, float trust, float *variance)
{
    float sum = 0.0f;
    *variance = 0.0f;
    for (size_t i = first; i < last; i++) {
        const float sure = fminf(fabsf(chips->llr[i]), TRUST_BOUND), wrong = 1.0f / (1.0f + expf(trust * sure));
        sum += sure * wrong;
        *variance += sure * sure * wrong * (1.0f - wrong);
    }
    return sum;
}

/* Chips whose likelihoods are honest contradict the code words as often as they say. What contradicts more, beyond a standard
 * deviation, shows likelihoods that are too sure: fading, interference, phase noise. Shrink them until the count fits. */
static float judge_trust(const wh_line_words *words, const wh_chips *chips, size_t at, int level, size_t bits,
                         const float *soft)
{
    unsigned state = words->states == 2 && level == 1;
    const size_t first = at;
    float against = 0.0f, variance;
    for (size_t k = 0; k < bits; k++) {
        const unsigned bit = soft[k] > 0.0f;
        for (unsigned i = 0; i < words->count[state][bit]; i++, at++)
            if ((chips->llr[at] > 0.0f) != (words->chip[state][bit][i] == 1))
                against += fminf(fabsf(chips->llr[at]), TRUST_BOUND);
        state = wh_line_next_state(words, state, bit);
    }
    if (against <= 0.0f)
        return 1.0f;
    const float due = contradiction_due(chips, first, at, 1.0f, &variance);
    const float target = against - sqrtf(variance);
    if (target <= due)
        return 1.0f;
    float low = TRUST_LEAST, high = 1.0f;
    for (int step = 0; step < TRUST_STEPS; step++) {
        const float middle = 0.5f * (low + high);
        if (contradiction_due(chips, first, at, middle, &variance) < target)
            high = middle;
        else
            low = middle;
    }
    return low;
}

/* Forward and backward best paths over at most two states (max-log BCJR). Returns the level before the first bit. */
static int best_paths(const wh_line_words *words, const wh_branch *branch, int level, size_t bits, float *soft)
{
    float forward[WH_LINE_BITS_MAX + 1][2];
    for (unsigned s = 0; s < 2; s++)
        forward[0][s] = words->states == 1 ? (s == 0 ? 0.0f : NEVER) : (level < 0 || level == (int)s ? 0.0f : NEVER);
    for (size_t k = 0; k < bits; k++) {
        forward[k + 1][0] = forward[k + 1][1] = NEVER;
        for (unsigned s = 0; s < words->states; s++) {
            for (unsigned b = 0; b < 2; b++) {
                const unsigned n = wh_line_next_state(words, s, b);
                forward[k + 1][n] = fmaxf(forward[k + 1][n], forward[k][s] + branch[k].word[s][b]);
            }
        }
    }
    float backward[2] = {0.0f, words->states == 2 ? 0.0f : NEVER}, first[2][2] = {{0.0f}};
    for (size_t k = bits; k-- > 0;) {
        float best[2] = {NEVER, NEVER}, before[2] = {NEVER, NEVER};
        for (unsigned s = 0; s < words->states; s++) {
            for (unsigned b = 0; b < 2; b++) {
                const float tail = first[s][b] = branch[k].word[s][b] + backward[wh_line_next_state(words, s, b)];
                best[b] = fmaxf(best[b], forward[k][s] + tail);
                before[s] = fmaxf(before[s], tail);
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
    unsigned state = words->states == 2 && level == 1;
    const size_t length = words->count[0][0];
    float against = 0.0f, all = 0.0f;
    for (size_t k = 0; k < bits; k++) {
        const unsigned bit = soft[k] > 0.0f;
        const uint8_t *word = words->chip[state][bit];
        for (size_t i = 0; i < length; i++, at++) {
            const float llr = chips->llr[at], with = word[i] ? llr : -llr;
            all += fabsf(llr);
            against += with < 0.0f ? -with : 0.0f;
        }
        state = wh_line_next_state(words, state, bit);
    }
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
    for (size_t k = 0; k < bits; k++)
        for (unsigned s = 0; s < words->states; s++)
            for (unsigned b = 0; b < 2; b++)
                branch[k].word[s][b] = wh_chips_likelihood(chips, at + k * length, words->chip[s][b], length);
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

/* Log-likelihood of a word against the best that any chips could do: 0 when every chip agrees, else minus what is contradicted.
 * Zero for perfect words of any length, so that a path gains nothing by merely covering more (or fewer) chips. */
static float word_score(const wh_chips *chips, size_t at, const uint8_t *word, size_t count)
{
    float sum = 0.0f;
    for (size_t i = 0; i < count; i++)
        sum += fminf(0.0f, word[i] ? chips->llr[at + i] : -chips->llr[at + i]);
    return sum;
}

static float tail_score(const wh_chips *chips, size_t at, wh_line_tail tail)
{
    const size_t left = chips->count - at;
    return word_score(chips, at, tail.chip, tail.count < left ? tail.count : left);
}

/* Words of unequal length: ln P(the decided bits) among all rows of so many bits, which take in different stretches of chips. Each
 * chip's better value counts as 1, as in word_score; scores are bounded by the chips' likelihoods, so plain numbers neither overflow
 * nor vanish. NAN when memory is out. */
static float path_probability(const wh_line_words *words, const wh_chips *chips, size_t at, size_t bits,
                              wh_line_tail tail, const float *soft, float trust)
{
    const size_t zero = words->count[0][0], one = words->count[0][1];
    const size_t shorter = zero < one ? zero : one, spread = zero + one - 2 * shorter;
    const size_t room = chips->count - at - bits * shorter;
    const size_t width = (bits * spread < room ? bits * spread : room) + 1;
    double *sum = calloc(2 * width, sizeof *sum), *from = sum, *to = sum + width, all = 0.0;
    if (!sum)
        return NAN;
    from[0] = 1.0;
    for (size_t k = 0; k < bits; k++) {
        memset(to, 0, width * sizeof *to);
        for (size_t o = 0; o < width; o++) {
            for (unsigned b = 0; from[o] > 0.0 && b < 2; b++) {
                const size_t next = o + words->count[0][b] - shorter;
                if (next >= width)
                    continue; /* longer words than there are chips */
                const float score = word_score(chips, at + k * shorter + o, words->chip[0][b], words->count[0][b]);
                to[next] += from[o] * exp((double)(trust * score));
            }
        }
        double *swap = from;
        from = to;
        to = swap;
    }
    for (size_t o = 0; o < width; o++)
        if (from[o] > 0.0)
            all += from[o] * exp((double)(trust * tail_score(chips, at + bits * shorter + o, tail)));
    free(sum);
    float own = 0.0f;
    for (size_t k = 0; k < bits; k++) {
        const unsigned bit = soft[k] > 0.0f;
        own += word_score(chips, at, words->chip[0][bit], words->count[0][bit]);
        at += words->count[0][bit];
    }
    return fminf(0.0f, trust * (own + tail_score(chips, at, tail)) - (float)log(all));
}

/* Words of unequal length: the same over (bit, chip place), places reachable by any mixture of short and long words. */
static bool decode_uneven(const wh_line_words *words, const wh_chips *chips, size_t at, size_t bits, wh_line_tail tail,
                          float *soft)
{
    const size_t zero = words->count[0][0], one = words->count[0][1];
    const size_t shorter = zero < one ? zero : one, extra[2] = {zero - shorter, one - shorter};
    const size_t spread = extra[0] + extra[1];
    if (at + bits * shorter > chips->count)
        return false;
    const size_t room = chips->count - at - bits * shorter; /* chips left for longer words */
    const size_t width = (bits * spread < room ? bits * spread : room) + 1;
    float *forward = malloc((bits + 1) * width * sizeof *forward), *backward = malloc(2 * width * sizeof *backward);
    if (!forward || !backward) {
        free(forward);
        free(backward);
        return false;
    }
    for (size_t i = 0; i < (bits + 1) * width; i++)
        forward[i] = NEVER;
    forward[0] = 0.0f;
    for (size_t k = 0; k < bits; k++) {
        for (size_t o = 0; o < width; o++) {
            if (forward[k * width + o] <= NEVER)
                continue;
            for (unsigned b = 0; b < 2; b++) {
                const size_t to = o + extra[b];
                if (to >= width)
                    continue;
                const float value = forward[k * width + o] +
                                    word_score(chips, at + k * shorter + o, words->chip[0][b], words->count[0][b]);
                float *best = &forward[(k + 1) * width + to];
                *best = fmaxf(*best, value);
            }
        }
    }
    float *after = backward, *before = backward + width;
    for (size_t o = 0; o < width; o++)
        after[o] = tail_score(chips, at + bits * shorter + o, tail);
    for (size_t k = bits; k-- > 0;) {
        float best[2] = {NEVER, NEVER};
        for (size_t o = 0; o < width; o++) {
            before[o] = NEVER;
            for (unsigned b = 0; b < 2; b++) {
                const size_t to = o + extra[b];
                if (to >= width || after[to] <= NEVER)
                    continue;
                const float rest =
                    word_score(chips, at + k * shorter + o, words->chip[0][b], words->count[0][b]) + after[to];
                before[o] = fmaxf(before[o], rest);
                best[b] = fmaxf(best[b], forward[k * width + o] + rest);
            }
        }
        soft[k] = best[1] - best[0];
        float *swap = after;
        after = before;
        before = swap;
    }
    free(forward);
    free(backward);
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
             : !decode_uneven(&words, chips, at, bits, tail, soft))
        return false;
    if (used < 0)
        used = 0;
    compare_words(&words, chips, at, used, bits, soft, &made);
    made.trust = judge_trust(&words, chips, at, used, bits, soft);
    made.is_joint = !even;
    if (made.is_joint)
        made.log_probability = path_probability(&words, chips, at, bits, tail, soft, made.trust);
    if (isnan(made.log_probability))
        return false;
    *result = made;
    return true;
}
