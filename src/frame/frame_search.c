#include "frame_search.h"

#include "wide.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define TRIES_MAX     32 /* places tried per emission, best first: sixteen copies in one emission, and as many doubts */
#define LENGTHS_MAX   4  /* lengths tried per place when the layout leaves it open */
#define START_PENALTY 0.0005f
#define START_FAR     100.0f
#define FITS_CHIPS    3 /* ends of an emission are known to two or three chips */
#define BLIND_BEFORE                                                                                                   \
    3 /* without any known chips: places tried before the emission's start (a frame may begin with the carrier off), */
#define BLIND_PLACES 16    /* and in all. Each is one more chance for a check to hold by luck */
#define WEIGHT_BOUND 12.0f /* one very sure chip must not outvote the others */
#define LEAST_WEIGHT 0.7f  /* fading to half the power over a whole sync still passes */
#define MISMATCH_MOST                                                                                                  \
    0.25f /* pure noise contradicts a two-chip code by about 0.2 after the decoder has had its choice of bits;
                                 random chips at good level by 0.25 to 0.5; a weak true frame (10 % chip errors) by less than 0.1 */
#define END_LEAST 0.5f
#define PLACES    256 /* judged at a time */

typedef struct place {
    size_t at; /* first known chip */
    unsigned variant;
    float score;
} place;

static float weight(float llr)
{
    return llr > WEIGHT_BOUND ? WEIGHT_BOUND : llr < -WEIGHT_BOUND ? -WEIGHT_BOUND : llr;
}

/* Weight that a chip of this emission has on average. */
static float usual_weight(const wh_chips *chips)
{
    float sum = 0.0f;
    size_t count = 0;
    for (size_t i = chips->first; i < chips->last && i < chips->count; i++, count++)
        sum += fabsf(weight(chips->llr[i]));
    return count ? sum / (float)count : 0.0f;
}

/* Of so many chips: sum of signed weights over the sum of weights, the latter taken as at least LEAST_WEIGHT of what so many chips
 * usually weigh: half a pattern that fits and half a pattern of silence is no match. */
static float share(float with, float all, float usual, size_t count)
{
    const float least = LEAST_WEIGHT * usual * (float)count;
    all = all > least ? all : least;
    return all > 0.0f ? with / all : 0.0f;
}

/* Agreement of chips with a pattern. */
static float agreement(const wh_chips *chips, float usual, size_t at, const uint8_t *pattern, size_t count)
{
    float with = 0.0f, all = 0.0f;
    for (size_t i = 0; i < count; i++) {
        const float w = weight(chips->llr[at + i]);
        with += pattern[i] ? w : -w;
        all += fabsf(w);
    }
    return share(with, all, usual, count);
}

WH_WIDE static void add_chip(const float *restrict w, float sign, size_t places, float *restrict with,
                             float *restrict all)
{
    for (size_t k = 0; k < places; k++) {
        with[k] += sign * w[k];
        all[k] += fabsf(w[k]);
    }
}

/* The same at PLACES places from `at` on (or as many as there are): chip by chip over all places, which vector registers can do;
 * place by place took five times as long. Returns how many places there were. */
static size_t agreements(const wh_chips *chips, float usual, size_t at, const uint8_t *pattern, size_t count,
                         float score[PLACES])
{
    float w[PLACES + WH_KNOWN_CHIPS_MAX], with[PLACES] = {0.0f}, all[PLACES] = {0.0f};
    const size_t left = chips->count + 1 - count - at, places = left < PLACES ? left : PLACES;
    for (size_t i = 0; i + 1 < places + count; i++)
        w[i] = weight(chips->llr[at + i]);
    for (size_t i = 0; i < count; i++)
        add_chip(w + i, pattern[i] ? 1.0f : -1.0f, places, with, all);
    for (size_t k = 0; k < places; k++)
        score[k] = share(with[k], all[k], usual, count);
    return places;
}

/* Random chips agree by 0 +- 1/sqrt(n): four times that is rare (3e-5), but more than 0.75 is never asked of a short pattern
 * (its check must do the rest) and at least 0.4 of a long one. */
static float score_needed(size_t known)
{
    return fminf(0.75f, fmaxf(0.4f, 4.0f / sqrtf((float)known)));
}

static int better(const void *a, const void *b)
{
    const place *x = a, *y = b;
    if (x->score != y->score)
        return x->score < y->score ? 1 : -1;
    return (x->at > y->at) - (x->at < y->at);
}

/* Insert into a list sorted best first; the worst falls off. */
static size_t keep_best(place *best, size_t count, place candidate)
{
    size_t i = count;
    while (i > 0 && better(&best[i - 1], &candidate) > 0)
        i--;
    if (i == TRIES_MAX)
        return count;
    const size_t moved = (count < TRIES_MAX ? count : TRIES_MAX - 1) - i;
    memmove(&best[i + 1], &best[i], moved * sizeof *best);
    best[i] = candidate;
    return count < TRIES_MAX ? count + 1 : count;
}

/* Chips between the emission's start and where the whole preamble of a frame would begin whose known chips begin at `at`. */
static size_t from_start(const wh_framing *framing, const wh_chips *chips, unsigned variant, size_t at)
{
    const size_t payload = at + framing->known[variant], head = framing->preamble_chips + framing->sync_chips[variant];
    const size_t expected = chips->first + head;
    return payload > expected ? payload - expected : expected - payload;
}

static size_t find_places(const wh_framing *framing, const wh_chips *chips, place *best, wh_frame_outcome *outcome)
{
    size_t count = 0;
    outcome->best_sync = 0.0f;
    outcome->needed_sync = score_needed(framing->known[0]);
    const float usual = usual_weight(chips);
    for (unsigned v = 0; v < framing->variants; v++) {
        const size_t known = framing->known[v];
        float scores[PLACES];
        for (size_t at = 0, from = 0, places = 0; at + known <= chips->count; at++) {
            if (at == from + places) {
                from = at;
                places = agreements(chips, usual, at, framing->chip[v], known, scores);
            }
            float score = scores[at - from];
            outcome->best_sync = fmaxf(outcome->best_sync, score);
            if (score < outcome->needed_sync)
                continue;
            /* Of places that fit alike (a preamble fits itself, shifted) the one is likelier whose preamble begins the emission. */
            const float off = (float)from_start(framing, chips, v, at);
            score -= START_PENALTY * (off < START_FAR ? off : START_FAR);
            count = keep_best(best, count, (place){at, v, score});
        }
    }
    return count;
}

/* Nothing known to look for: the payload starts where the carrier does, give or take the edges. */
static size_t blind_places(const wh_chips *chips, place *best)
{
    size_t count = 0;
    const size_t from = chips->first > BLIND_BEFORE ? chips->first - BLIND_BEFORE : 0;
    for (size_t i = 0; i < BLIND_PLACES && from + i < chips->last; i++) {
        const float off = fabsf((float)(from + i) - (float)chips->first);
        count = keep_best(best, count, (place){from + i, 0, -0.001f * off});
    }
    return count;
}

/* Undo "least significant bit of each byte first". */
static void turn_bytes(const float *in, size_t bits, float *out)
{
    for (size_t byte = 0; byte < bits; byte += 8) {
        const size_t count = bits - byte < 8 ? bits - byte : 8;
        for (size_t i = 0; i < count; i++)
            out[byte + i] = in[byte + count - 1 - i];
    }
}

static wh_line_tail tail_of(const wh_framing *framing)
{
    return (wh_line_tail){framing->tail_count, framing->tail};
}

/* Score of the end pattern behind a payload, as chips after the payload's last level. */
static float end_agreement(const wh_framing *framing, const wh_chips *chips, const wh_line_result *line,
                           size_t *end_chips)
{
    const wh_pattern *end = &framing->frame.end;
    uint8_t pattern[WH_PATTERN_MAX * WH_LINE_PATTERN_MAX];
    size_t count = end->count;
    uint8_t level = line->level;
    if (end->chips)
        memcpy(pattern, end->value, count);
    else
        count = wh_line_encode(&framing->line, end->value, end->count, &level, pattern, sizeof pattern);
    *end_chips = count;
    if (line->end + count > chips->count)
        return -1.0f;
    return agreement(chips, usual_weight(chips), line->end, pattern, count);
}

typedef struct length_choice {
    unsigned bits;
    float score;
} length_choice;

/* Lengths worth trying at a place, likeliest first: the end pattern's agreement, or how near the carrier's end is. */
static size_t choose_lengths(const wh_framing *framing, const wh_chips *chips, size_t payload, int level,
                             length_choice *choices)
{
    const wh_frame_spec *frame = &framing->frame;
    size_t count = 0;
    for (unsigned bits = frame->bits_min; bits <= frame->bits_max; bits += frame->bits_step ? frame->bits_step : 1) {
        float soft[WH_PAYLOAD_MAX], score;
        wh_line_result line;
        if (!wh_line_decode(&framing->line, chips, payload, level, bits, tail_of(framing), soft, &line))
            break;
        if (frame->end.count) {
            size_t end_chips;
            score = end_agreement(framing, chips, &line, &end_chips);
            if (score < END_LEAST)
                continue;
        } else {
            const float off = fabsf((float)line.end - (float)chips->last);
            if (off > 6.0f)
                continue;
            score = 1.0f - off / 12.0f;
        }
        score -= line.mismatch;
        if (count == LENGTHS_MAX && choices[count - 1].score >= score)
            continue;
        size_t i = count < LENGTHS_MAX ? count++ : count - 1;
        for (; i > 0 && choices[i - 1].score < score; i--)
            choices[i] = choices[i - 1];
        choices[i] = (length_choice){bits, score};
    }
    return count;
}

static float contradiction(const wh_chips *chips, size_t at, const uint8_t *pattern, size_t count)
{
    float sum = 0.0f;
    for (size_t i = 0; i < count; i++)
        if ((chips->llr[at + i] > 0.0f) != (pattern[i] == 1))
            sum += fminf(fabsf(chips->llr[at + i]), WH_AGAINST_BOUND);
    return sum;
}

static bool fill_try(const wh_framing *framing, const wh_chips *chips, const place *p, unsigned bits,
                     wh_frame_try *found)
{
    const size_t known = framing->known[p->variant];
    const int level = known ? framing->level[p->variant] : -1;
    float soft[WH_PAYLOAD_MAX];
    wh_line_result line;
    if (!wh_line_decode(&framing->line, chips, p->at + known, level, bits, tail_of(framing), soft, &line))
        return false;
    for (unsigned i = 0; i < bits; i++)
        soft[i] *= line.trust;
    *found = (wh_frame_try){.first_chip = p->at,
                            .payload_chip = p->at + known,
                            .end_chip = line.end,
                            .sync_score = known ? p->score : 0.0f,
                            .sync_chips = framing->sync_chips[p->variant],
                            .known_chips = known,
                            .bits = bits,
                            .violations = line.violations,
                            .mismatch = line.mismatch,
                            .mismatch_due = line.mismatch_due,
                            .is_joint = line.is_joint,
                            .log_probability = line.log_probability};
    const size_t sync = framing->sync_chips[p->variant];
    const size_t last =
        line.end + (framing->frame.end.chips ? framing->frame.end.count
                                             : framing->frame.end.count * wh_line_chips_min(&framing->line));
    found->fits = from_start(framing, chips, p->variant, p->at) <= FITS_CHIPS && last + FITS_CHIPS >= chips->last &&
                  last <= chips->last + FITS_CHIPS + framing->zero_run;
    found->sync_against = contradiction(chips, p->at + known - sync, framing->chip[p->variant] + known - sync, sync);
    if (framing->frame.end.count)
        found->end_score = end_agreement(framing, chips, &line, &found->end_chips);
    if (framing->frame.low_bit_first)
        turn_bytes(soft, bits, found->soft);
    else
        memcpy(found->soft, soft, bits * sizeof *soft);
    return true;
}

typedef struct search {
    const wh_framing *framing;
    const wh_chips *chips;
    wh_frame_fn accept;
    void *context;
    wh_frame_outcome outcome;
    size_t taken_count;
    size_t taken[TRIES_MAX][2]; /* chips of accepted frames, sync and payload */
} search;

static bool overlaps_taken(const search *s, size_t from, size_t to)
{
    for (size_t i = 0; i < s->taken_count; i++)
        if (from < s->taken[i][1] && s->taken[i][0] < to)
            return true;
    return false;
}

static void raise_verdict(wh_frame_outcome *outcome, wh_frame_verdict verdict)
{
    /* The furthest any place got: no sync < cut short < violations < refused < found. */
    static const int order[] = {[WH_FRAME_NO_SYNC] = 0,
                                [WH_FRAME_CUT_SHORT] = 1,
                                [WH_FRAME_VIOLATIONS] = 2,
                                [WH_FRAME_REFUSED] = 3,
                                [WH_FRAME_FOUND] = 4};
    if (order[verdict] > order[outcome->verdict])
        outcome->verdict = verdict;
}

static void try_place(search *s, const place *p)
{
    const wh_frame_spec *frame = &s->framing->frame;
    const size_t known = s->framing->known[p->variant];
    length_choice choices[LENGTHS_MAX] = {{frame->bits_min, 0.0f}};
    size_t count = 1;
    /* Decoding is most of the work on a place: not for one that begins within what is taken. */
    const size_t begins = p->at + known - s->framing->sync_chips[p->variant];
    if (overlaps_taken(s, begins, begins + 1))
        return;
    if (frame->bits_min != frame->bits_max)
        count =
            choose_lengths(s->framing, s->chips, p->at + known, known ? s->framing->level[p->variant] : -1, choices);
    if (count == 0)
        raise_verdict(&s->outcome, WH_FRAME_CUT_SHORT);
    for (size_t i = 0; i < count; i++) {
        wh_frame_try found;
        if (!fill_try(s->framing, s->chips, p, choices[i].bits, &found)) {
            raise_verdict(&s->outcome, WH_FRAME_CUT_SHORT);
            continue;
        }
        const size_t from = found.payload_chip - found.sync_chips;
        if (overlaps_taken(s, from, found.end_chip))
            return;
        if (found.mismatch > MISMATCH_MOST) {
            s->outcome.best_mismatch = fminf(s->outcome.best_mismatch, found.mismatch);
            raise_verdict(&s->outcome, WH_FRAME_VIOLATIONS);
            continue;
        }
        s->outcome.tries++;
        raise_verdict(&s->outcome, WH_FRAME_REFUSED);
        if (!s->accept(s->context, &found))
            continue;
        raise_verdict(&s->outcome, WH_FRAME_FOUND);
        if (s->taken_count < TRIES_MAX) {
            s->taken[s->taken_count][0] = from;
            s->taken[s->taken_count++][1] = found.end_chip;
        }
        return;
    }
}

wh_frame_outcome wh_frame_search(const wh_framing *framing, const wh_chips *chips, wh_frame_fn accept, void *context)
{
    search s = {.framing = framing, .chips = chips, .accept = accept, .context = context};
    s.outcome.verdict = WH_FRAME_NO_SYNC;
    s.outcome.best_mismatch = 1.0f;
    place best[TRIES_MAX];
    const size_t count = framing->known[0] ? find_places(framing, chips, best, &s.outcome) : blind_places(chips, best);
    for (size_t i = 0; i < count; i++)
        try_place(&s, &best[i]);
    return s.outcome;
}
