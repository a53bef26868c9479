#include "line_uneven.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define NEVER (-1e30f)

/* All places that any mixture of short and long words can reach: bit k may begin at chip `at + k shorter + o`, o = 0 .. width - 1. */
typedef struct places {
    const wh_chips *chips;
    size_t at, bits, shorter, extra[2], width;
    wh_line_tail tail;
    float *score[2]; /* of a word that begins at chip at + i, by bit */
} places;

/* Log-likelihood of a word against the best that any chips could do: 0 when every chip agrees, else minus what is contradicted.
 * Zero for perfect words of any length, so that a path gains nothing by merely covering more (or fewer) chips. */
static float word_score(const wh_chips *chips, size_t at, const uint8_t *word, size_t count)
{
    float sum = 0.0f;
    for (size_t i = 0; i < count; i++) {
        const float with = word[i] ? chips->llr[at + i] : -chips->llr[at + i];
        sum += with < 0.0f ? with : 0.0f;
    }
    return sum;
}

static float tail_score(const places *p, size_t at)
{
    const size_t left = p->chips->count - at;
    return word_score(p->chips, at, p->tail.chip, p->tail.count < left ? p->tail.count : left);
}

/* False when the chips do not reach or memory is out. */
static bool find_places(const wh_line_words *words, const wh_chips *chips, size_t at, size_t bits, wh_line_tail tail,
                        places *p)
{
    const size_t zero = words->count[0][0], one = words->count[0][1];
    const size_t shorter = zero < one ? zero : one, spread = zero + one - 2 * shorter;
    if (at + bits * shorter > chips->count)
        return false;
    const size_t room = chips->count - at - bits * shorter; /* chips left for longer words */
    const size_t width = (bits * spread < room ? bits * spread : room) + 1, all = bits * shorter + width;
    *p = (places){chips, at, bits, shorter, {zero - shorter, one - shorter}, width, tail, {NULL, NULL}};
    p->score[0] = malloc(2 * all * sizeof *p->score[0]);
    if (!p->score[0])
        return false;
    p->score[1] = p->score[0] + all;
    for (unsigned b = 0; b < 2; b++)
        for (size_t i = 0; i < all && at + i + words->count[0][b] <= chips->count; i++)
            p->score[b][i] = word_score(chips, at + i, words->chip[0][b], words->count[0][b]);
    return true;
}

static inline float greater(float a, float b)
{
    return a > b ? a : b;
}

/* Best paths from the first bit to every place of every bit. */
static void look_forward(const places *p, float *forward)
{
    for (size_t i = 0; i < (p->bits + 1) * p->width; i++)
        forward[i] = NEVER;
    forward[0] = 0.0f;
    for (size_t k = 0; k < p->bits; k++) {
        const float *from = forward + k * p->width;
        float *next = forward + (k + 1) * p->width;
        for (unsigned b = 0; b < 2; b++) {
            const float *score = p->score[b] + k * p->shorter;
            for (size_t o = 0; o + p->extra[b] < p->width; o++)
                if (from[o] > NEVER)
                    next[o + p->extra[b]] = greater(next[o + p->extra[b]], from[o] + score[o]);
        }
    }
}

/* And back from the tail, with what is found on the way. after, before: [width] each. */
static void look_back(const places *p, const float *forward, float *after, float *before, float *soft)
{
    for (size_t o = 0; o < p->width; o++)
        after[o] = tail_score(p, p->at + p->bits * p->shorter + o);
    for (size_t k = p->bits; k-- > 0;) {
        float best[2] = {NEVER, NEVER};
        for (size_t o = 0; o < p->width; o++)
            before[o] = NEVER;
        for (unsigned b = 0; b < 2; b++) {
            const float *score = p->score[b] + k * p->shorter, *from = forward + k * p->width;
            for (size_t o = 0; o + p->extra[b] < p->width; o++) {
                if (after[o + p->extra[b]] <= NEVER)
                    continue;
                const float rest = score[o] + after[o + p->extra[b]];
                before[o] = greater(before[o], rest);
                best[b] = greater(best[b], from[o] + rest);
            }
        }
        soft[k] = best[1] - best[0];
        float *swap = after;
        after = before;
        before = swap;
    }
}

bool wh_line_uneven_decode(const wh_line_words *words, const wh_chips *chips, size_t at, size_t bits, wh_line_tail tail,
                           float *soft)
{
    places p;
    if (!find_places(words, chips, at, bits, tail, &p))
        return false;
    float *forward = malloc((bits + 3) * p.width * sizeof *forward);
    if (forward) {
        look_forward(&p, forward);
        look_back(&p, forward, forward + (bits + 1) * p.width, forward + (bits + 2) * p.width, soft);
    }
    const bool made = forward != NULL;
    free(forward);
    free(p.score[0]);
    return made;
}

/* Probabilities of all paths that lead to a place, added up. Each chip's better value counts as 1, as in word_score; scores are bounded
 * by the chips' likelihoods, so plain numbers neither overflow nor vanish. sum: [2 width]. */
static double add_paths(const places *p, const double *const chance[2], float trust, double *sum)
{
    double *from = sum, *to = sum + p->width, all = 0.0;
    from[0] = 1.0;
    for (size_t k = 0; k < p->bits; k++) {
        memset(to, 0, p->width * sizeof *to);
        for (unsigned b = 0; b < 2; b++) {
            const double *here = chance[b] + k * p->shorter;
            for (size_t o = 0; o + p->extra[b] < p->width; o++)
                if (from[o] > 0.0)
                    to[o + p->extra[b]] += from[o] * here[o];
        }
        double *swap = from;
        from = to;
        to = swap;
    }
    for (size_t o = 0; o < p->width; o++)
        if (from[o] > 0.0)
            all += from[o] * exp((double)(trust * tail_score(p, p->at + p->bits * p->shorter + o)));
    return all;
}

float wh_line_uneven_probability(const wh_line_words *words, const wh_chips *chips, size_t at, size_t bits,
                                 wh_line_tail tail, const float *soft, float trust)
{
    places p;
    if (!find_places(words, chips, at, bits, tail, &p))
        return NAN;
    const size_t all = bits * p.shorter + p.width;
    double *room = calloc(2 * p.width + 2 * all, sizeof *room);
    if (!room) {
        free(p.score[0]);
        return NAN;
    }
    double *chance[2] = {room + 2 * p.width, room + 2 * p.width + all};
    float own = 0.0f;
    for (unsigned b = 0; b < 2; b++)
        for (size_t i = 0; i < all && at + i + words->count[0][b] <= chips->count; i++)
            chance[b][i] = exp((double)(trust * p.score[b][i]));
    size_t place = 0;
    for (size_t k = 0; k < bits; k++) {
        const unsigned bit = soft[k] > 0.0f;
        own += p.score[bit][place];
        place += words->count[0][bit];
    }
    const double paths = add_paths(&p, (const double *const *)chance, trust, room);
    const float probability = trust * (own + tail_score(&p, at + place)) - (float)log(paths);
    free(room);
    free(p.score[0]);
    return probability < 0.0f ? probability : 0.0f;
}
