/* Confidence: the probability that a reading is right, from the evidence alone. One pure function; the model is explained
 * in DEVELOPERS.md. */
#ifndef WH_CONFIDENCE_H
#define WH_CONFIDENCE_H

#include <stdbool.h>
#include <stddef.h>

typedef struct wh_evidence {
    double
        log_probability; /* ln P(the frame's bits are those that were sent), by the soft values alone; <= 0. With copies: of the
                                  best one. Repaired bits enter with what their flip cost */
    double
        rivals; /* P(another frame was sent that passes the checks as well), by the soft values alone: see rivals.h */
    double check_bits;     /* bits of checks and constants that held */
    double sync_chips;     /* chips of the sync that were compared ... */
    double preamble_chips; /* ... and of the preamble */
    double sync_score;     /* agreement, -1..1 */
    double against; /* summed |llr| of the sync's chips, and of constant bits, that contradict what they must be */
    double end_chips, end_score;
    double mismatch;          /* share of the line code contradicted beyond what the noise explains, 0..1 */
    double tries;             /* bit patterns looked at in this burst, over all descriptors, places and repairs; >= 1 */
    bool fits;                /* the frame is exactly as long as the emission that it fills */
    unsigned implausible;     /* values outside their plausible range */
    double carrier_excess_hz; /* how far beyond the descriptor's tolerance the carrier lies; 0 inside or unknown */
    unsigned copies;          /* frames with the same bits; >= 1 */
} wh_evidence;

/* 0..1. Never falls when a check is wider, the sync longer or better or less contradicted, a copy more is heard, or the soft values are surer. */
double wh_confidence(const wh_evidence *evidence);

/* Bits of evidence in n chips of which a share agrees: -log2 of the chance that random chips agree as well (Chernoff bound
 * n (1 - H2(share))); 0 when they agree no better than chance. score = 2 share - 1. */
double wh_agreement_bits(double chips, double score);

#endif
