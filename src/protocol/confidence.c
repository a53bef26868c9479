#include "confidence.h"

#include <math.h>

/* A preamble is what everybody sends: alternating chips and runs of one bit. A chip of it counts as a quarter. */
#define PREAMBLE_WEIGHT 0.25
/* Bits taken off for a value outside its plausible range: of sensors really heard, about one in thirty shows such a value
 * (disconnected, on the bench), of chance frames about half do. */
#define IMPLAUSIBLE_BITS 4.0
/* Bits taken off when the carrier is not where the descriptor says, one for each 50 kHz beyond, at most 6. */
#define CARRIER_BITS_PER_HZ (1.0 / 50e3)
#define CARRIER_BITS_MOST   6.0
/* Emissions of other kinds last anything from fifty to several hundred chips: one in twenty is as long as the frame to a few chips. */
#define FIT_BITS 4.0
/* Odds, before any evidence, that a burst in the band is not of the kind asked for: bits against. */
#define PRIOR_BITS 2.0

double wh_agreement_bits(double chips, double score)
{
    if (!(score > 0.0) || !(chips > 0.0))
        return 0.0;
    const double q = 0.5 * (1.0 - fmin(score, 1.0)); /* share that disagrees */
    const double entropy = q > 0.0 ? -q * log2(q) - (1.0 - q) * log2(1.0 - q) : 0.0;
    return chips * (1.0 - entropy);
}

double wh_confidence(const wh_evidence *e)
{
    /* 1. Could chance, or somebody else's transmission, look like this? */
    double bits = e->check_bits + wh_agreement_bits(e->sync_chips, e->sync_score) +
                  PREAMBLE_WEIGHT * wh_agreement_bits(e->preamble_chips, e->sync_score) +
                  wh_agreement_bits(e->end_chips, e->end_score);
    bits += e->fits ? FIT_BITS : 0.0;
    bits -= log2(fmax(e->tries, 1.0)) + PRIOR_BITS + IMPLAUSIBLE_BITS * e->implausible;
    /* Chips of the sync that say for sure that this is another sync: the price of explaining them as noise. */
    bits -= fmax(e->against, 0.0) / M_LN2;
    bits -= fmin(CARRIER_BITS_MOST, CARRIER_BITS_PER_HZ * fmax(e->carrier_excess_hz, 0.0));
    const double not_chance = 1.0 / (1.0 + exp2(-bits));
    /* 2. It is such a frame: are these its bits? The soft values say p; of other frames only those count that pass as well. */
    const double p = exp(fmin(e->log_probability, 0.0)), errors = 1.0 - p;
    double odds_wrong = fmax(e->rivals, 0.0) / fmax(p, 1e-300);
    /* A second copy with the very same bits would need the very same errors. */
    if (e->copies > 1)
        odds_wrong *= pow(fmax(errors, 1e-9), (double)(e->copies - 1)) * 0.1;
    const double no_errors = 1.0 / (1.0 + odds_wrong);
    /* 3. A line code contradicted by much more than the noise explains speaks against the frame's bits. */
    const double clean = 1.0 - fmin(1.0, fmax(0.0, e->mismatch - 0.1) * 2.0);
    return not_chance * no_errors * clean;
}
