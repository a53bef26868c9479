#include "line_rank.h"

#include "check_witness.h"

#include <math.h>
#include <string.h>

#define BITS_MAX 1024 /* looked at per frame */
/* Cells that contradict a code it was made with: chips are wrong once in a thousand. Random chips contradict every second cell. */
#define VIOLATIONS_MOST 0.03
#define PAIRS_LEAST     0.97 /* share of pulses that the two words of a pulse-width code must make up */
#define PAIR_CHIPS      15
#define VIOLATION_BITS  9.0  /* what a contradiction costs: -log2 of about 1/500 */
#define WORDS_BITS      12.0 /* what two words chosen to fit cost */
#define END_BITS        20.0 /* what it costs when frames do not end with a bit: their common end is known to a chip */
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

/* Evidence that a check holds, over the frames of the usual length. The last pulse of on-off keyed pulse widths may be no bit. */
static double witness(size_t frames, const unsigned *count, unsigned char bits[][BITS_MAX / 2], bool last_in_doubt)
{
    unsigned char same[WH_DISTINCT_MAX][BITS_MAX / 2] = {{0}};
    unsigned usual = 0;
    size_t most = 0;
    for (size_t f = 0; f < frames; f++) {
        size_t alike = 0;
        for (size_t g = 0; g < frames; g++)
            alike += count[g] == count[f];
        if (alike > most) {
            most = alike;
            usual = count[f];
        }
    }
    size_t rows = 0;
    for (size_t f = 0; f < frames; f++)
        if (count[f] == usual)
            memcpy(same[rows++], bits[f], usual);
    double evidence = wh_check_witness(same[0], rows, BITS_MAX / 2, usual);
    if (last_in_doubt && usual > 0)
        evidence = fmax(evidence, wh_check_witness(same[0], rows, BITS_MAX / 2, usual - 1u));
    return evidence;
}

/* What it takes to write all frames down: the first bit by bit, each further one as its difference from the one most like it among
 * those before. The right code makes frames of one sensor differ in few bits. */
static void describe(const wh_distinct_frames *frames, const wh_line_spec *line, long from,
                     wh_line_candidate *candidate, double *cost)
{
    unsigned char bits[WH_DISTINCT_MAX][BITS_MAX / 2];
    unsigned count[WH_DISTINCT_MAX], violations, columns = 0;
    double differ = 0.0;
    *candidate = (wh_line_candidate){.line = *line};
    *cost = 0.0;
    for (size_t f = 0; f < frames->count; f++) {
        const bool words = line->kind == WH_LINE_PULSE_WIDTH;
        const long stop = words ? frames->end[f] : frames->common_end;
        long end;
        count[f] = wh_line_read(frames, f, line, from, stop, BITS_MAX / 2, bits[f], &violations, &end);
        candidate->compared += count[f] + (words ? violations : 0);
        candidate->violations += violations;
        columns = count[f] > columns ? count[f] : columns;
        /* What is left over behind the last bit must be written down as well. */
        *cost += VIOLATION_BITS * violations + (stop > end ? (double)(stop - end) : 0.0);
        unsigned least = count[f];
        double best = (double)count[f];
        for (size_t g = 0; g < f; g++) {
            const unsigned n = count[f] < count[g] ? count[f] : count[g];
            unsigned d = 0;
            for (unsigned i = 0; i < n; i++)
                d += bits[f][i] != bits[g][i];
            const double length = log2(n + 1.0) + choices_bits(n, d) + (double)(count[f] - n);
            if (length < best) {
                best = length;
                least = d;
            }
        }
        *cost += best;
        differ += f > 0 ? least : 0.0;
    }
    candidate->columns = columns;
    candidate->check_bits = witness(frames->count, count, bits, line->kind == WH_LINE_PULSE_WIDTH && frames->keyed);
    *cost -= candidate->check_bits;
    candidate->varying = frames->count > 1 ? differ / (double)(frames->count - 1) : 0.0;
}

static void add(wh_line_ranking *ranking, const wh_line_candidate *candidate, long cell, double cost)
{
    if (ranking->count == WH_LINE_CANDIDATES_MAX)
        return;
    size_t i = ranking->count++;
    for (; i > 0 && ranking->cost[i - 1] > cost; i--) {
        ranking->candidate[i] = ranking->candidate[i - 1];
        ranking->cell[i] = ranking->cell[i - 1];
        ranking->cost[i] = ranking->cost[i - 1];
    }
    ranking->candidate[i] = *candidate;
    ranking->cell[i] = cell;
    ranking->cost[i] = cost;
}

static void try_two_chip(const wh_distinct_frames *frames, long vary, wh_line_kind kind, wh_line_ranking *ranking)
{
    for (long cell = vary - 1; cell <= vary; cell++) {
        const wh_line_spec line = {.kind = kind};
        wh_line_candidate candidate;
        double cost;
        describe(frames, &line, cell, &candidate, &cost);
        if (candidate.compared < 8 || candidate.violations > VIOLATIONS_MOST * candidate.compared)
            continue;
        cost += (frames->common_end - cell) % 2 ? END_BITS : 0.0;
        cost += kind == WH_LINE_MANCHESTER ? 0.0 : RARE_BITS;
        add(ranking, &candidate, cell, cost);
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
        long c = vary;
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

static bool try_words(const wh_distinct_frames *frames, long vary, unsigned first, wh_line_ranking *ranking)
{
    pairs p;
    wh_line_spec line;
    count_pairs(frames, first, vary, &p);
    if (!two_words(&p, first, &line))
        return false;
    /* A word begins with an edge at or before the first chip that varies, the same in all frames. */
    long cell = vary;
    while (cell > frames->first &&
           !(wh_distinct_chip(frames, 0, cell) == first && wh_distinct_chip(frames, 0, cell - 1) != first))
        cell--;
    wh_line_candidate candidate;
    double cost;
    describe(frames, &line, cell, &candidate, &cost);
    add(ranking, &candidate, cell, cost + WORDS_BITS);
    return true;
}

void wh_line_rank(const wh_distinct_frames *frames, long begin, long vary, wh_line_ranking *ranking)
{
    *ranking = (wh_line_ranking){0};
    if (frames->count == 0 || vary <= begin)
        return;
    if (!try_words(frames, vary, 1, ranking))
        try_words(frames, vary, 0, ranking);
    try_two_chip(frames, vary, WH_LINE_MANCHESTER, ranking);
    try_two_chip(frames, vary, WH_LINE_DIFFERENTIAL_MANCHESTER, ranking);
    try_two_chip(frames, vary, WH_LINE_BIPHASE_MARK, ranking);
    const wh_line_spec plain = {.kind = WH_LINE_NRZ};
    wh_line_candidate candidate;
    double cost;
    describe(frames, &plain, vary, &candidate, &cost);
    add(ranking, &candidate, vary, cost);
    double sum = 0.0;
    for (size_t i = 0; i < ranking->count; i++) {
        ranking->candidate[i].probability = exp2((ranking->cost[0] - ranking->cost[i]) / BITS_PER_ODDS);
        sum += ranking->candidate[i].probability;
    }
    for (size_t i = 0; i < ranking->count; i++)
        ranking->candidate[i].probability /= sum;
}
