#include "drift.h"

/* With chips decided, the product of two that have carrier, d apart, turned back by the mean turn from one to the other,
 *
 *     p_k = v_{k+d} conj(v_k) conj(turn),
 *
 * has phase 0 when the carrier stands still. One that moves evenly gives p_k the phase d theta (k + d/2 - c), c the middle: theta is where
 * |sum of p_k exp(-j d theta (k + d/2 - c))| is greatest, as for any frequency of a tone. The chips' own phase then is theta/2 (k - c)^2.
 * With frequency-shift keying neighbours are enough; on-off keying leaves chips out. */
/* Of two chips further apart the mean turn is no longer known well enough. */
#define APART 3
/* Sums of products that the search works on: from one to the next the phase moves by a fiftieth of a turn at most. */
#define BLOCKS 32
/* Trials on either side, and turns over the emission from one to the next. 5 kHz over a frame at 20 kchip/s are a quarter of a turn, a
 * kilohertz at 2.5 kchip/s 0.4. */
#define SIDE 10
#define STEP 0.06
/* Of the products' lengths: with less nothing is measured. */
#define LEAST_SUM 0.5f
#define SIGMAS    3.0

typedef struct products {
    unsigned apart;
    float complex sum[APART][BLOCKS];
    float length;
    double weight; /* number of products, each counted d^2 times */
} products;

static void gather(const wh_chips *chips, size_t last, products *p)
{
    const size_t all = last - chips->first;
    *p = (products){.apart = chips->keyed ? APART : 1};
    for (size_t k = chips->first; k + 1 < last; k++) {
        const unsigned a = chips->llr[k] > 0.0f;
        float complex turn = 1.0f;
        for (unsigned d = 1; d <= p->apart && k + d < last && (a || !chips->keyed); d++) {
            const unsigned b = chips->llr[k + d] > 0.0f;
            turn *= chips->keyed ? chips->turn[1][1] : chips->turn[a][b];
            const float complex product = chips->value[b][k + d] * conjf(chips->value[a][k] * turn);
            p->sum[d - 1][(k - chips->first) * BLOCKS / all] += product;
            p->length += wh_magnitude(product);
            p->weight += b || !chips->keyed ? (double)(d * d) : 0.0;
        }
    }
}

/* Sum of the blocks turned back by so many turns over the emission. */
static float turned_back(const products *p, double turns)
{
    float complex sum = 0.0f;
    for (unsigned d = 1; d <= p->apart; d++) {
        const double step = 2.0 * M_PI * turns * d / BLOCKS, first = -0.5 * (BLOCKS - 1) * step;
        const float complex by = (float)cos(step) - (float)sin(step) * I;
        float complex factor = (float)cos(first) - (float)sin(first) * I;
        for (unsigned b = 0; b < BLOCKS; b++, factor *= by)
            sum += p->sum[d - 1][b] * factor;
    }
    return wh_magnitude(sum);
}

static double best_turns(const products *p, float *best)
{
    float size[2 * SIDE + 1];
    unsigned at = 0;
    for (unsigned i = 0; i <= 2 * SIDE; i++) {
        size[i] = turned_back(p, STEP * ((double)i - SIDE));
        at = size[i] > size[at] ? i : at;
    }
    *best = size[at];
    double between = 0.0;
    if (at > 0 && at < 2 * SIDE) { /* the vertex of a parabola through three */
        const double low = (double)size[at - 1], high = (double)size[at + 1],
                     bend = low + high - 2.0 * (double)size[at];
        between = bend < 0.0 ? 0.5 * (low - high) / bend : 0.0;
    }
    return STEP * ((double)at - SIDE + between);
}

static void straighten(wh_chips *chips, double theta, double middle)
{
    for (size_t k = 0; k < chips->count; k++) {
        const double off = (double)k - middle, phase = 0.5 * theta * off * off;
        const float complex back = (float)cos(phase) - (float)sin(phase) * I;
        for (unsigned v = chips->keyed ? 1 : 0; v < 2; v++)
            chips->value[v][k] *= back;
    }
}

bool wh_drift_straighten(wh_chips *chips)
{
    const size_t last = chips->last < chips->count ? chips->last : chips->count;
    if (last < chips->first + BLOCKS)
        return false;
    products p;
    gather(chips, last, &p);
    float best;
    const double turns = best_turns(&p, &best), all = (double)(last - chips->first);
    if (!(best > LEAST_SUM * p.length))
        return false;
    /* Phases that scatter with variance s^2 have a mean direction of length exp(-s^2 / 2); the slope of a line through n of them is
     * uncertain by sqrt(12 s^2 / n) over its whole length. */
    const double variance = -2.0 * log(fmin(0.999, (double)(best / p.length)));
    const double chance = sqrt(12.0 * variance / p.weight) / (2.0 * M_PI);
    if (fabs(turns) < SIGMAS * chance)
        return false;
    straighten(chips, 2.0 * M_PI * turns / all, 0.5 * (double)(chips->first + last - 1));
    return true;
}
