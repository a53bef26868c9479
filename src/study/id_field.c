/* With K sensors every bit of an ID is 0 or 1 in each of them by a coin, so a column of it is alike in all with 2^(1 - K). A
 * place [at, at + bits) is as likely as
 *     how usual its length and its start on a byte are (common practice, no source)
 *     x 2^(1 - K) for each column in it that is alike in all sensors, 1 - 2^(1 - K) for each that is not
 *     x for each column outside that is steady: that it differs from sensor to sensor though it is no ID (`outside`), or is alike. */
#include "id_field.h"

#include "bits.h"

#include <math.h>
#include <string.h>

#define BITS_LEAST 12
#define BITS_MOST  48
#define OUTSIDE    0.04 /* a steady column that is not the ID differs between sensors: high bits of numbers, options */
#define UNSEEN                                                                                                         \
    0.5 /* and one of a number that happened not to change, with few frames: over 1 + pairs of frames a sensor */

static double log_prior(unsigned at, unsigned bits, unsigned grid)
{
    const double length = bits == 32                 ? 0.35
                          : bits == 24               ? 0.25
                          : bits == 28               ? 0.15
                          : bits == 16 || bits == 20 ? 0.06
                          : bits % 8 == 0            ? 0.03
                          : bits % 4 == 0            ? 0.01
                                                     : 0.001;
    const unsigned begin = (at + 8 - grid) % 8, end = (at + bits + 8 - grid) % 8;
    /* On a byte boundary at either side, or else in half bytes. */
    const double place = begin == 0 ? 0.6 : end == 0 ? 0.3 : begin % 4 == 0 ? 0.08 : 0.002;
    return log(length) + log(place);
}

static double log_likelihood(const wh_columns *columns, const wh_frame_bits *taken, unsigned at, unsigned bits)
{
    const double alike = exp2(1.0 - columns->sensors);
    const double outside = OUTSIDE + UNSEEN / (1.0 + (double)columns->column[0].pairs / columns->sensors);
    double sum = 0.0;
    for (unsigned c = 0; c < columns->count; c++) {
        const bool inside = c >= at && c < at + bits;
        const wh_column_kind kind = columns->column[c].kind;
        if (wh_bit_get(taken->data, c) || kind > WH_COLUMN_SENSOR) {
            if (inside)
                return -INFINITY;
            continue;
        }
        if (kind == WH_COLUMN_SENSOR)
            sum += log(inside ? 1.0 - alike : outside);
        else
            sum += log(inside ? alike : 1.0 - outside);
    }
    return sum;
}

static void keep(wh_id_search *out, const wh_id_candidate *candidate)
{
    unsigned at = 0;
    while (at < out->count && out->candidate[at].probability >= candidate->probability)
        at++;
    if (at == WH_ID_CANDIDATES_MAX)
        return;
    if (out->count < WH_ID_CANDIDATES_MAX)
        out->count++;
    for (unsigned i = out->count - 1; i > at; i--)
        out->candidate[i] = out->candidate[i - 1];
    out->candidate[at] = *candidate;
}

void wh_id_search_run(const wh_columns *columns, const wh_frame_bits *taken, unsigned grid, wh_id_search *out)
{
    memset(out, 0, sizeof *out);
    if (columns->sensors < 2)
        return;
    double best = -INFINITY, sum = 0.0;
    for (int pass = 0; pass < 2; pass++)
        for (unsigned at = 0; at + BITS_LEAST <= columns->count; at++)
            for (unsigned bits = BITS_LEAST; bits <= BITS_MOST && at + bits <= columns->count; bits++) {
                const double fit = log_prior(at, bits, grid) + log_likelihood(columns, taken, at, bits);
                if (pass == 0) {
                    best = fmax(best, fit);
                    continue;
                }
                if (!(fit > best - 40.0))
                    continue;
                const wh_id_candidate candidate = {at, bits, exp(fit - best)};
                sum += candidate.probability;
                keep(out, &candidate);
            }
    double shown = 0.0;
    for (unsigned i = 0; i < out->count; i++) {
        out->candidate[i].probability /= sum;
        shown += out->candidate[i].probability;
    }
    out->rest = fmax(0.0, 1.0 - shown);
}
