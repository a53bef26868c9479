/* Seeded random numbers: the same seed gives the same sequence on every machine. Not for secrets. */
#ifndef WH_RNG_H
#define WH_RNG_H

#include <stdint.h>

/* xoshiro256++ (Blackman and Vigna 2019), its state filled from the seed by splitmix64. */
typedef struct wh_rng {
    uint64_t state[4];
} wh_rng;

/* Any seed will do, 0 included; neighbouring seeds give unrelated sequences. */
void wh_rng_seed(wh_rng *rng, uint64_t seed);
/* All 64 bits are usable. */
uint64_t wh_rng_next(wh_rng *rng);
/* Uniform in [0, 1), 53 bits. */
double wh_rng_uniform(wh_rng *rng);
/* Uniform in 0 .. bound - 1 without bias; bound >= 1. */
uint64_t wh_rng_below(wh_rng *rng, uint64_t bound);
/* Two independent Gaussian numbers of mean 0 and variance 1 (Marsaglia's polar method). */
void wh_rng_gauss_pair(wh_rng *rng, double pair[2]);

#endif
