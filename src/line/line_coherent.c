#include "line_coherent.h"

#include "quick_math.h"
#include "special.h"
#include "wide.h"

#include <complex.h>
#include <math.h>
#include <string.h>

/* A neighbour's phase fades with distance, in chips: frequency errors and phase noise make it stale. A short memory first, which
 * stands errors of the turns; each memory's lag then corrects the turns for the next. */
static const float memories[] = {4.0f, 8.0f};
#define PILOT_CHIPS    32 /* known chips before the payload that lend their phase as well */
#define COHERENT_LEAST 0.35f
#define BITS_MAX       512

/* Phases over the frame for a given row of tentative bits, per state of the code. */
typedef struct phases {
    const wh_line_words *words;
    const wh_chips *chips;
    size_t at, bits, length;
    const float *soft;
    float weight[BITS_MAX];          /* how sure the tentative bits are, and the chips before the payload, */
    float pilot_weight[PILOT_CHIPS]; /* the last one last */
    float keep;                      /* what a chip's distance leaves of a phase reference */
    float complex turn[2][2];
    float complex before[BITS_MAX + 1][2]; /* reference at the last chip before bit k, in state s */
    float complex after[BITS_MAX + 1][2];  /* reference at the first chip of bit k entered in state s */
    unsigned char last[BITS_MAX + 1];      /* single-state codes: value of the chip before bit k */
} phases;

static unsigned tentative(const phases *p, size_t k)
{
    return p->soft[k] > 0.0f;
}

static unsigned chip_before(const phases *p, size_t k, unsigned state)
{
    return p->words->states == 2 ? state : p->last[k];
}

/* How sure tentative bits are: the mean of their signs, tanh(|llr| / 2). */
WH_WIDE static void find_sureness(const float *restrict llr, size_t count, float *restrict sureness)
{
    for (size_t i = 0; i < count; i++) {
        const float e = wh_quick_exp(-fabsf(llr[i]));
        sureness[i] = (1.0f - e) / (1.0f + e);
    }
}

/* Mean turn from a chip of value a to one of value b, over the tentative words. Returns how well the phase runs on, 0..1. */
static float measure_turns(phases *p, int level)
{
    float complex sum[2][2] = {{0}};
    float all = 0.0f, together = 0.0f;
    unsigned state = p->words->states == 2 && level == 1, before = 2;
    for (size_t k = 0; k < p->bits; k++) {
        const unsigned bit = tentative(p, k);
        const uint8_t *word = p->words->chip[state][bit];
        for (size_t i = 0; i < p->length; i++) {
            const size_t t = p->at + k * p->length + i;
            if (before < 2 && (i > 0 || k > 0)) {
                const float complex product = p->chips->value[word[i]][t] * conjf(p->chips->value[before][t - 1]);
                sum[before][word[i]] += product;
                all += wh_magnitude(product);
            }
            before = word[i];
        }
        state = wh_line_next_state(p->words, state, bit);
    }
    for (unsigned a = 0; a < 2; a++) {
        for (unsigned b = 0; b < 2; b++) {
            const float size = wh_magnitude(sum[a][b]);
            p->turn[a][b] = size > 0.0f ? sum[a][b] / size : p->chips->turn[a][b];
            together += size;
        }
    }
    /* On-off keying: only neighbours that are both on show the turn, and the carrier turns on alike while it is off. */
    if (p->chips->keyed)
        p->turn[0][0] = p->turn[0][1] = p->turn[1][0] = p->turn[1][1];
    return all > 0.0f ? together / all : 0.0f;
}

/* The reference that the chips before the payload give: sync and preamble, decided chip by chip. */
static float complex pilot(const phases *p)
{
    float complex reference = 0.0f;
    const size_t from = p->at > PILOT_CHIPS ? p->at - PILOT_CHIPS : 0;
    for (size_t t = from; t < p->at; t++) {
        const unsigned value = p->chips->llr[t] > 0.0f, before = t > 0 && p->chips->llr[t - 1] > 0.0f;
        reference =
            reference * p->keep * p->turn[before][value] + p->pilot_weight[t - from] * p->chips->value[value][t];
    }
    return reference;
}

static void look_forward(phases *p, int level)
{
    const unsigned states = p->words->states;
    for (unsigned s = 0; s < states; s++)
        p->before[0][s] = states == 1 || level < 0 || (unsigned)level == s ? pilot(p) : 0.0f;
    p->last[0] = p->at > 0 && p->chips->llr[p->at - 1] > 0.0f;
    for (size_t k = 0; k < p->bits; k++) {
        const unsigned bit = tentative(p, k);
        const float weight = p->weight[k];
        for (unsigned s = 0; s < states; s++) {
            const uint8_t *word = p->words->chip[s][bit];
            float complex reference = p->before[k][s];
            unsigned before = chip_before(p, k, s);
            for (size_t i = 0; i < p->length; i++) {
                reference = reference * p->keep * p->turn[before][word[i]] +
                            weight * p->chips->value[word[i]][p->at + k * p->length + i];
                before = word[i];
            }
            p->before[k + 1][wh_line_next_state(p->words, s, bit)] = reference;
            p->last[k + 1] = word[p->length - 1];
        }
    }
}

/* References that lag behind their bits by a steady angle show a common error of the turns: spread it over the lag. One correction
 * by what a long memory accumulates is worth far more than the products of neighbours alone. */
static void correct_turns(phases *p, int level, float memory)
{
    float complex sum = 0.0f;
    unsigned state = p->words->states == 2 && level == 1;
    for (size_t k = 0; k < p->bits; k++) {
        const unsigned bit = tentative(p, k);
        const uint8_t *word = p->words->chip[state][bit];
        float complex reference = p->before[k][state], own = 0.0f;
        unsigned before = chip_before(p, k, state);
        for (size_t i = 0; i < p->length; i++) {
            const float complex turn = p->turn[before][word[i]];
            reference *= turn;
            own = own * turn + p->chips->value[word[i]][p->at + k * p->length + i];
            before = word[i];
        }
        sum += p->weight[k] * own * conjf(reference);
        state = wh_line_next_state(p->words, state, bit);
    }
    const float lag = memory + 0.5f * (float)p->length;
    const float angle = cargf(sum) / lag;
    const float complex turn = cosf(angle) + sinf(angle) * I;
    for (unsigned a = 0; a < 2; a++)
        for (unsigned b = 0; b < 2; b++)
            p->turn[a][b] *= turn;
}

/* The reference behind bit k as seen from its last chip, of value `chip`, when the code then is in state `next`. */
static float complex from_behind(const phases *p, size_t k, unsigned chip, unsigned next)
{
    if (k + 1 >= p->bits)
        return 0.0f;
    const unsigned first = p->words->chip[next][tentative(p, k + 1)][0];
    return p->after[k + 1][next] * p->keep * conjf(p->turn[chip][first]);
}

static void look_back(phases *p)
{
    for (size_t k = p->bits; k-- > 0;) {
        const unsigned bit = tentative(p, k);
        const float weight = p->weight[k];
        for (unsigned s = 0; s < p->words->states; s++) {
            const uint8_t *word = p->words->chip[s][bit];
            float complex reference = from_behind(p, k, word[p->length - 1], wh_line_next_state(p->words, s, bit));
            for (size_t i = p->length; i-- > 0;) {
                reference += weight * p->chips->value[word[i]][p->at + k * p->length + i];
                if (i > 0)
                    reference *= p->keep * conjf(p->turn[word[i - 1]][word[i]]);
            }
            p->after[k][s] = reference;
        }
    }
}

/* ln P(word | what its neighbours' phase says) for every bit. The neighbours are part of one long waveform of unknown phase: ln I0 of
 * the whole sum. In codes with memory the neighbours' own share is taken off, because other branches of the path count it already. */
static void judge_word(const phases *p, unsigned state, unsigned bit, wh_branch *branch)
{
    const float scale = 2.0f * p->chips->amplitude / p->chips->noise;
    const uint8_t *word = p->words->chip[state][bit];
    const unsigned next = wh_line_next_state(p->words, state, bit);
    float whole[BITS_MAX], share[BITS_MAX];
    for (size_t k = 0; k < p->bits; k++) {
        float complex with = p->before[k][state], without = with;
        unsigned before = chip_before(p, k, state);
        float cost = 0.0f;
        for (size_t i = 0; i < p->length; i++) {
            const float complex turn = p->keep * p->turn[before][word[i]];
            without *= turn;
            with = with * turn + p->chips->value[word[i]][p->at + k * p->length + i];
            before = word[i];
            cost += p->chips->cost[word[i]][p->at + k * p->length + i];
        }
        const float complex behind = from_behind(p, k, before, next);
        whole[k] = scale * wh_magnitude(with + behind);
        share[k] = scale * wh_magnitude(without + behind);
        branch[k].word[state][bit] = -cost;
    }
    wh_ln_bessel_i0s(whole, p->bits);
    wh_ln_bessel_i0s(share, p->bits);
    for (size_t k = 0; k < p->bits; k++)
        branch[k].word[state][bit] += whole[k] - share[k];
}

int wh_line_lend_phase(const wh_line_words *words, const wh_chips *chips, size_t at, int level, size_t bits,
                       const float *soft, wh_branch *branch)
{
    if (bits > BITS_MAX)
        return 0;
    phases p; /* too large to be cleared for every frame */
    p.words = words;
    p.chips = chips;
    p.at = at;
    p.bits = bits;
    p.length = words->count[0][0];
    p.soft = soft;
    if (measure_turns(&p, level) < COHERENT_LEAST)
        return 0;
    const size_t pilots = at < PILOT_CHIPS ? at : PILOT_CHIPS;
    find_sureness(soft, bits, p.weight);
    find_sureness(chips->llr + at - pilots, pilots, p.pilot_weight);
    for (size_t i = 0; i < sizeof memories / sizeof memories[0]; i++) {
        p.keep = 1.0f - 1.0f / memories[i];
        look_forward(&p, level);
        correct_turns(&p, level, memories[i]);
    }
    look_forward(&p, level);
    look_back(&p);
    for (unsigned s = 0; s < words->states; s++)
        for (unsigned b = 0; b < 2; b++)
            judge_word(&p, s, b, branch);
    return 1;
}
