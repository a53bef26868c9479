#include "line_rank.h"

#include "check_search.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Evidence of a check counted at most. Not 40, which would be certain: half a CRC may hold in bits decoded wrongly, and only the
 * amount tells. */
#define CHECK_BITS_MOST    500.0
#define CHECK_FRAMES_LEAST 4
#define BITS_MAX           1024 /* looked at per frame */
/* Cells that contradict a code it was made with: chips are wrong once in a thousand. Random chips contradict every second cell. */
#define VIOLATIONS_MOST 0.03
#define PAIRS_LEAST     0.97 /* share of pulses that the two words of a pulse-width code must make up */
#define PAIR_CHIPS      15
#define END_CHIPS       32   /* the longest end pattern */
#define VIOLATION_BITS  9.0  /* what a contradiction costs: -log2 of about 1/500 */
#define WORDS_BITS      12.0 /* what two words chosen to fit cost */
#define END_BITS        20.0 /* what it costs when frames do not end with a bit: their common end is known to a chip */
#define HIDDEN_BITS     6.0  /* the same where a last zero may be hidden: some parities make all frames end alike */
/* How few bits change between frames is a weak hint: counters and numbers that step change fewer bits in the wrong code. */
#define DIFFERENCE_WEIGHT 0.1
/* A check that holds outweighs the bits by which the wrong code describes counters better. */
#define CHECK_WEIGHT 4.0
/* Bits of description length that make the odds 2 : 1. The frames are not independent, so that one bit would claim too much. */
#define BITS_PER_ODDS 3.0
/* Before any evidence: Manchester is the usual two-chip code. */
#define RARE_BITS 3.0

static bool two_chip(wh_line_kind kind)
{
    return kind != WH_LINE_NRZ && kind != WH_LINE_PULSE_WIDTH;
}

static unsigned read_two_chip(const wh_distinct_frames *frames, size_t f, wh_line_kind kind, long from, long stop,
                              unsigned most, unsigned char *bits, unsigned *violations, long *end)
{
    unsigned count = 0;
    *violations = 0;
    long c = from;
    for (; c + 2 <= stop && count < most; c += 2, count++) {
        const unsigned before = wh_distinct_chip(frames, f, c - 1), a = wh_distinct_chip(frames, f, c),
                       b = wh_distinct_chip(frames, f, c + 1);
        switch (kind) {
        case WH_LINE_MANCHESTER:
            bits[count] = (unsigned char)a;
            *violations += a == b;
            break;
        case WH_LINE_DIFFERENTIAL_MANCHESTER:
            bits[count] = before == a;
            *violations += a == b;
            break;
        case WH_LINE_BIPHASE_SPACE:
            bits[count] = a == b;
            *violations += before == a;
            break;
        default:
            bits[count] = a != b;
            *violations += before == a;
            break;
        }
    }
    *end = c;
    return count;
}

static bool word_fits(const wh_distinct_frames *frames, size_t f, long c, const uint8_t *word, unsigned count)
{
    for (unsigned i = 0; i < count; i++)
        if (wh_distinct_chip(frames, f, c + i) != word[i])
            return false;
    return true;
}

/* Ends at the first place where neither word fits: only then is the number of chips of the next bit unknown. The last word may reach
 * beyond the end of on-off keying by its zeros. */
static unsigned read_words(const wh_distinct_frames *frames, size_t f, const wh_line_spec *line, long from, long stop,
                           unsigned most, unsigned char *bits, unsigned *violations, long *end)
{
    unsigned count = 0;
    long c = from;
    *violations = 0;
    while (c < stop && count < most) {
        const bool one = word_fits(frames, f, c, line->one_chips, line->one_count);
        const bool zero = word_fits(frames, f, c, line->zero_chips, line->zero_count);
        /* Of words one of which begins like the other only the longer one counts when it fits. */
        const bool is_one = one && (!zero || line->one_count > line->zero_count);
        const unsigned length = is_one ? line->one_count : line->zero_count;
        if ((!one && !zero) || (!frames->keyed && c + (long)length > stop)) {
            *violations = 1;
            break;
        }
        bits[count++] = is_one;
        c += length;
    }
    *end = c;
    return count;
}

unsigned wh_line_read(const wh_distinct_frames *frames, size_t frame, const wh_line_spec *line, long from, long stop,
                      unsigned most, unsigned char *bits, unsigned *violations, long *end)
{
    if (line->kind == WH_LINE_PULSE_WIDTH)
        return read_words(frames, frame, line, from, stop, most, bits, violations, end);
    if (two_chip(line->kind))
        return read_two_chip(frames, frame, line->kind, from, stop, most, bits, violations, end);
    unsigned count = 0;
    for (long c = from; c < stop && count < most; c++)
        bits[count++] = (unsigned char)wh_distinct_chip(frames, frame, c);
    *violations = 0;
    *end = from + (long)count;
    return count;
}

/* log2 of the number of ways to choose d of n. */
static double choices_bits(unsigned n, unsigned d)
{
    return (lgamma(n + 1.0) - lgamma(d + 1.0) - lgamma(n - d + 1.0)) / M_LN2;
}

/* Bits of all frames decoded alike. */
typedef struct decoded {
    unsigned count[WH_DISTINCT_MAX], violations[WH_DISTINCT_MAX];
    long left[WH_DISTINCT_MAX]; /* chips behind the last bit */
    unsigned char bits[WH_DISTINCT_MAX][BITS_MAX];
} decoded;

static void decode_all(const wh_distinct_frames *frames, const wh_line_spec *line, long from, long common_stop,
                       decoded *d)
{
    for (size_t f = 0; f < frames->count; f++) {
        const long stop = line->kind == WH_LINE_PULSE_WIDTH ? frames->end[f] : common_stop;
        long end;
        d->count[f] = wh_line_read(frames, f, line, from, stop, BITS_MAX, d->bits[f], &d->violations[f], &end);
        d->left[f] = stop > end ? stop - end : 0;
    }
}

static unsigned usual_count(const decoded *d, size_t frames)
{
    unsigned usual = 0;
    size_t most = 0;
    for (size_t f = 0; f < frames; f++) {
        size_t alike = 0;
        for (size_t g = 0; g < frames; g++)
            alike += d->count[g] == d->count[f];
        if (alike > most) {
            most = alike;
            usual = d->count[f];
        }
    }
    return usual;
}

/* Evidence that a check holds when decoded so, -log2 of chance: only bits decoded with the right code keep a check's promise. Over the
 * frames of the usual length, filled up in front to whole bytes, which constant bits before them would do as well. `hidden`: the last
 * chip is no more than supposed, and makes the ones even in all frames by that: one bit of each difference proves nothing. */
static double check_evidence(const decoded *d, size_t frames, bool hidden)
{
    wh_frame_bits *same = calloc(frames + 1, sizeof *same);
    wh_check_search *search = malloc(sizeof *search);
    const unsigned usual = usual_count(d, frames), whole = (usual + 7) / 8 * 8, front = whole - usual;
    size_t rows = 0;
    double evidence = 0.0;
    for (size_t f = 0; f < frames && same && whole <= WH_FRAME_BITS_MAX; f++) {
        if (d->count[f] != usual)
            continue;
        same[rows].count = whole;
        for (unsigned i = 0; i < usual; i++)
            if (d->bits[f][i])
                same[rows].data[(front + i) / 8] =
                    (uint8_t)(same[rows].data[(front + i) / 8] | 0x80u >> (front + i) % 8);
        rows++;
    }
    if (same && search && rows >= CHECK_FRAMES_LEAST && usual >= 2 * 8 &&
        wh_check_search_quick(same, rows, whole, search, NULL) == WH_OK && search->count > 0) {
        const wh_check_found *found = &search->found[0];
        evidence = found->evidence_bits - found->cost_bits - (hidden ? (double)found->independent : 0.0);
        evidence = fmin(CHECK_BITS_MOST, fmax(0.0, evidence));
    }
    free(same);
    free(search);
    return evidence;
}

/* What it takes to write all frames down: the first bit by bit, each further one as its difference from the one most like it among
 * those before. The right code makes frames of one sensor differ in few bits. */
static void describe(const wh_distinct_frames *frames, const wh_line_spec *line, long from, long stop, decoded *d,
                     wh_line_candidate *candidate, double *cost)
{
    *candidate = (wh_line_candidate){.line = *line};
    *cost = 0.0;
    decode_all(frames, line, from, stop, d);
    const bool words = line->kind == WH_LINE_PULSE_WIDTH;
    double differ = 0.0;
    for (size_t f = 0; f < frames->count; f++) {
        const unsigned count = d->count[f];
        /* What stops close to the end is an end pattern. */
        const unsigned wrong = words && d->left[f] <= END_CHIPS ? 0 : d->violations[f];
        candidate->compared += count + (words ? wrong : 0);
        candidate->violations += wrong;
        candidate->columns = count > candidate->columns ? count : candidate->columns;
        unsigned least = count;
        double best = (double)count;
        for (size_t g = 0; g < f; g++) {
            const unsigned n = count < d->count[g] ? count : d->count[g];
            unsigned apart = 0;
            for (unsigned i = 0; i < n; i++)
                apart += d->bits[f][i] != d->bits[g][i];
            const double length = log2(n + 1.0) + choices_bits(n, apart) + (double)(count - n);
            if (length < best) {
                best = length;
                least = apart;
            }
        }
        /* What is left over behind the last bit must be written down as well. */
        *cost += best + VIOLATION_BITS * wrong + (double)d->left[f];
        differ += f > 0 ? least : 0.0;
    }
    candidate->varying = frames->count > 1 ? differ / (double)(frames->count - 1) : 0.0;
}

static void add(wh_line_ranking *ranking, const wh_line_candidate *candidate, long cell, long stop, double cost)
{
    if (ranking->count == WH_LINE_CANDIDATES_MAX)
        return;
    size_t i = ranking->count++;
    for (; i > 0 && ranking->cost[i - 1] > cost; i--) {
        ranking->candidate[i] = ranking->candidate[i - 1];
        ranking->cell[i] = ranking->cell[i - 1];
        ranking->stop[i] = ranking->stop[i - 1];
        ranking->cost[i] = ranking->cost[i - 1];
    }
    ranking->candidate[i] = *candidate;
    ranking->cell[i] = cell;
    ranking->stop[i] = stop;
    ranking->cost[i] = cost;
}

static void try_two_chip(const wh_distinct_frames *frames, long vary, wh_line_kind kind, decoded *d,
                         wh_line_ranking *ranking)
{
    for (long cell = vary - 1; cell <= vary; cell++) {
        const wh_line_spec line = {.kind = kind};
        wh_line_candidate candidate;
        double cost;
        const bool fits = (frames->common_end - cell) % 2 == 0;
        const long stop = frames->common_end + (!fits && frames->keyed ? 1 : 0);
        describe(frames, &line, cell, stop, d, &candidate, &cost);
        if (candidate.compared < 8 || candidate.violations > VIOLATIONS_MOST * candidate.compared)
            continue;
        add(ranking, &candidate, cell, stop, cost);
    }
}

/* Lengths of a pulse and the gap behind it (or of a gap and the pulse behind it). */
typedef struct pairs {
    unsigned count[PAIR_CHIPS + 1][PAIR_CHIPS + 1], all;
} pairs;

static void count_pairs(const wh_distinct_frames *frames, unsigned first, long vary, pairs *p)
{
    *p = (pairs){0};
    for (size_t f = 0; f < frames->count; f++) {
        long c = vary - 1; /* the last one that is the same in all */
        while (c > frames->first &&
               !(wh_distinct_chip(frames, f, c) == first && wh_distinct_chip(frames, f, c - 1) != first))
            c--;
        while (c < frames->end[f]) {
            long middle = c;
            while (middle < frames->end[f] && wh_distinct_chip(frames, f, middle) == first)
                middle++;
            long end = middle;
            while (end < frames->end[f] && wh_distinct_chip(frames, f, end) != first)
                end++;
            if (end == frames->end[f])
                break; /* the last one is cut */
            p->all++;
            if (middle - c <= PAIR_CHIPS && end - middle <= PAIR_CHIPS)
                p->count[middle - c][end - middle]++;
            c = end;
        }
    }
}

static void make_word(unsigned first, unsigned a, unsigned b, uint8_t *chips, uint8_t *count)
{
    for (unsigned i = 0; i < a + b; i++)
        chips[i] = (uint8_t)(i < a ? first : !first);
    *count = (uint8_t)(a + b);
}

/* The two commonest pairs, when they are nearly all there are. */
static bool two_words(const pairs *p, unsigned first, wh_line_spec *line)
{
    unsigned a[2] = {0, 0}, b[2] = {0, 0}, best[2] = {0, 0};
    for (unsigned i = 1; i <= PAIR_CHIPS; i++) {
        for (unsigned j = 1; j <= PAIR_CHIPS && i + j <= WH_LINE_PATTERN_MAX; j++) {
            const unsigned n = p->count[i][j];
            const unsigned place = n > best[0] ? 0 : n > best[1] ? 1 : 2;
            if (place == 0) {
                best[1] = best[0];
                a[1] = a[0];
                b[1] = b[0];
            }
            if (place < 2) {
                best[place] = n;
                a[place] = i;
                b[place] = j;
            }
        }
    }
    if (p->all < 16 || best[1] * 50 < p->all || (double)(best[0] + best[1]) < PAIRS_LEAST * p->all)
        return false;
    /* A one is the word with more carrier, whatever it means to the sensor. */
    const unsigned on[2] = {first ? a[0] : b[0], first ? a[1] : b[1]},
                   off[2] = {first ? b[0] : a[0], first ? b[1] : a[1]};
    const unsigned one = on[0] > on[1] || (on[0] == on[1] && off[0] < off[1]) ? 0 : 1;
    *line = (wh_line_spec){.kind = WH_LINE_PULSE_WIDTH};
    make_word(first, a[one], b[one], line->one_chips, &line->one_count);
    make_word(first, a[!one], b[!one], line->zero_chips, &line->zero_count);
    return true;
}

static bool try_words(const wh_distinct_frames *frames, long vary, unsigned first, decoded *d, wh_line_ranking *ranking)
{
    pairs p;
    wh_line_spec line;
    count_pairs(frames, first, vary, &p);
    if (!two_words(&p, first, &line))
        return false;
    /* A word begins with an edge before the first chip that varies, the same in all frames. */
    long cell = vary - 1;
    while (cell > frames->first &&
           !(wh_distinct_chip(frames, 0, cell) == first && wh_distinct_chip(frames, 0, cell - 1) != first))
        cell--;
    wh_line_candidate candidate;
    double cost;
    describe(frames, &line, cell, frames->common_end, d, &candidate, &cost);
    add(ranking, &candidate, cell, frames->common_end, cost + WORDS_BITS);
    return true;
}

/* The codes that make the same chips are told apart by where frames end, and by checks, whatever the rest says: counters and numbers
 * that step change fewer bits when decoded wrongly. Looking for checks takes longer than all the rest, so it is done only where
 * there is a choice. */
static void weigh_two_chip(const wh_distinct_frames *frames, decoded *d, wh_line_ranking *ranking)
{
    const wh_line_ranking before = *ranking;
    size_t alike = 0;
    double least = INFINITY;
    for (size_t i = 0; i < before.count; i++) {
        const bool counts = two_chip(before.candidate[i].line.kind);
        alike += counts;
        least = counts ? fmin(least, before.cost[i]) : least;
    }
    ranking->count = 0;
    for (size_t i = 0; i < before.count; i++) {
        wh_line_candidate candidate = before.candidate[i];
        double cost = before.cost[i];
        if (two_chip(candidate.line.kind)) {
            const bool fits = (frames->common_end - before.cell[i]) % 2 == 0;
            cost = least + DIFFERENCE_WEIGHT * (cost - least);
            cost += fits ? 0.0 : frames->keyed ? HIDDEN_BITS : END_BITS;
            cost += candidate.line.kind == WH_LINE_MANCHESTER ? 0.0 : RARE_BITS;
            decode_all(frames, &candidate.line, before.cell[i], before.stop[i], d);
            candidate.check_bits =
                alike > 1 ? check_evidence(d, frames->count, before.stop[i] != frames->common_end) : 0.0;
            cost -= CHECK_WEIGHT * candidate.check_bits;
        }
        add(ranking, &candidate, before.cell[i], before.stop[i], cost);
    }
}

bool wh_line_rank(const wh_distinct_frames *frames, long begin, long vary, wh_line_ranking *ranking)
{
    *ranking = (wh_line_ranking){0};
    if (frames->count == 0 || vary <= begin)
        return true;
    decoded *d = malloc(sizeof *d);
    if (!d)
        return false;
    if (!try_words(frames, vary, 1, d, ranking))
        try_words(frames, vary, 0, d, ranking);
    try_two_chip(frames, vary, WH_LINE_MANCHESTER, d, ranking);
    try_two_chip(frames, vary, WH_LINE_DIFFERENTIAL_MANCHESTER, d, ranking);
    try_two_chip(frames, vary, WH_LINE_BIPHASE_MARK, d, ranking);
    const wh_line_spec plain = {.kind = WH_LINE_NRZ};
    wh_line_candidate candidate;
    double cost;
    describe(frames, &plain, vary, frames->common_end, d, &candidate, &cost);
    add(ranking, &candidate, vary, frames->common_end, cost);
    weigh_two_chip(frames, d, ranking);
    free(d);
    double sum = 0.0;
    for (size_t i = 0; i < ranking->count; i++) {
        ranking->candidate[i].probability = exp2((ranking->cost[0] - ranking->cost[i]) / BITS_PER_ODDS);
        sum += ranking->candidate[i].probability;
    }
    for (size_t i = 0; i < ranking->count; i++)
        ranking->candidate[i].probability /= sum;
    return true;
}
