/* Soft chips: what the demodulator makes of a burst and the line decoder reads. */
#ifndef WH_CHIPS_H
#define WH_CHIPS_H

#include <complex.h>
#include <math.h>
#include <stdbool.h>
#include <stddef.h>

/* Chips of one contiguous emission. Index 1 stands for chip value 1 (the higher tone, or carrier on), 0 for value 0.
 * value[v][k] is the correlation of chip k with the waveform of value v, mean over the chip, phase taken at the chip's start; a
 * clean chip has magnitude `amplitude` in one of the two. In on-off keying value[0] is all zero. */
typedef struct wh_chips {
    size_t count, capacity;
    float *llr;              /* [count] ln P(1)/P(0) of each chip alone */
    float complex *value[2]; /* [count] each */
    float *cost[2];  /* [count] each: power over noise of a chip of value v; what its ln P falls by when it is silent */
    bool keyed;      /* on-off keying: a 0 has no carrier */
    float amplitude; /* of a chip that is on, full scale 1 */
    float noise;     /* variance of the noise in a correlation */
    bool coherent;   /* does the phase run on from chip to chip? */
    float complex
        turn[2][2];         /* unit factor by which the phase advances from a chip of value a to the next of value b */
    double start_s, chip_s; /* start of chip 0 after the first baseband sample (may be < 0); length of a chip */
    size_t first, last;     /* first chip of the emission and one past its last; around it there is padding */
    double carrier_hz, deviation_hz; /* estimates; carrier relative to the baseband's centre */
    double snr_db;                   /* power of an on chip over noise in a band as wide as the chip rate */
    double rate_error;               /* (estimated - nominal chip rate) / nominal */
} wh_chips;

/* Plain square root: cabsf guards against overflow that correlations of full-scale samples cannot reach. */
static inline float wh_magnitude(float complex z)
{
    return sqrtf(crealf(z) * crealf(z) + cimagf(z) * cimagf(z));
}

bool wh_chips_reserve(wh_chips *chips, size_t count); /* false when memory is out; contents are then unchanged */
void wh_chips_free(wh_chips *chips);
/* All chips alike: cost from keyed, amplitude and noise. */
void wh_chips_even_costs(wh_chips *chips);

/* ln P(pattern) up to a constant common to all patterns of `length` chips, for the best carrier phase: coherent over the pattern when
 * chips->coherent, else chip by chip. likelihood[k] is that of the pattern at chip at + k length, k = 0 .. count - 1, all of which must
 * be inside: at + count length <= chips->count. */
void wh_chips_likelihoods(const wh_chips *chips, size_t at, const unsigned char *pattern, size_t length, size_t count,
                          float *likelihood);

/* Of one place. */
static inline float wh_chips_likelihood(const wh_chips *chips, size_t at, const unsigned char *pattern, size_t length)
{
    float likelihood;
    wh_chips_likelihoods(chips, at, pattern, length, 1, &likelihood);
    return likelihood;
}

#endif
