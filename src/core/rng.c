#include "rng.h"

#include <math.h>

static uint64_t rotate(uint64_t x, int by)
{
    return x << by | x >> (64 - by);
}

void wh_rng_seed(wh_rng *rng, uint64_t seed)
{
    /* splitmix64: a Weyl sequence (step 2^64 / golden ratio) through a mixing function. */
    for (int i = 0; i < 4; i++) {
        uint64_t z = seed += UINT64_C(0x9E3779B97F4A7C15);
        z = (z ^ z >> 30) * UINT64_C(0xBF58476D1CE4E5B9);
        z = (z ^ z >> 27) * UINT64_C(0x94D049BB133111EB);
        rng->state[i] = z ^ z >> 31;
    }
}

uint64_t wh_rng_next(wh_rng *rng)
{
    uint64_t *const s = rng->state;
    const uint64_t result = rotate(s[0] + s[3], 23) + s[0];
    const uint64_t shifted = s[1] << 17;
    s[2] ^= s[0];
    s[3] ^= s[1];
    s[1] ^= s[2];
    s[0] ^= s[3];
    s[2] ^= shifted;
    s[3] = rotate(s[3], 45);
    return result;
}

double wh_rng_uniform(wh_rng *rng)
{
    return (double)(wh_rng_next(rng) >> 11) * 0x1p-53;
}

uint64_t wh_rng_below(wh_rng *rng, uint64_t bound)
{
    /* Draws in the last, incomplete multiple of `bound` are thrown away. */
    const uint64_t incomplete = (UINT64_MAX - bound + 1) % bound;
    uint64_t draw = 0;
    do
        draw = wh_rng_next(rng);
    while (draw > UINT64_MAX - incomplete);
    return draw % bound;
}

void wh_rng_gauss_pair(wh_rng *rng, double pair[2])
{
    double x = 0.0, y = 0.0, square = 0.0;
    do {
        x = 2.0 * wh_rng_uniform(rng) - 1.0;
        y = 2.0 * wh_rng_uniform(rng) - 1.0;
        square = x * x + y * y;
    } while (square >= 1.0 || square == 0.0);
    const double factor = sqrt(-2.0 * log(square) / square);
    pair[0] = x * factor;
    pair[1] = y * factor;
}
