#include "noise_pool.h"

#include <math.h>
#include <stdlib.h>

#define HALF  ((size_t)1 << 21) /* samples of each of the two halves; both pieces of a sum are from different ones */
#define SIGMA 2000.0            /* standard deviation of what is stored: fine beside a step, 16 sigma to the limit */

struct noise_pool {
    int16_t iq[2][2 * (HALF + NOISE_POOL_BLOCK)];
};

noise_pool *noise_pool_create(uint64_t seed)
{
    noise_pool *pool = malloc(sizeof *pool);
    if (!pool)
        return NULL;
    wh_rng rng;
    wh_rng_seed(&rng, seed);
    for (size_t half = 0; half < 2; half++)
        for (size_t i = 0; i < 2 * (HALF + NOISE_POOL_BLOCK); i += 2) {
            double pair[2];
            wh_rng_gauss_pair(&rng, pair);
            pool->iq[half][i] = (int16_t)lrint(SIGMA * pair[0]);
            pool->iq[half][i + 1] = (int16_t)lrint(SIGMA * pair[1]);
        }
    return pool;
}

void noise_pool_destroy(noise_pool **pool)
{
    free(*pool);
    *pool = NULL;
}

static float with_sign(wh_rng *rng, double scale)
{
    return (float)(wh_rng_next(rng) >> 63 ? scale : -scale);
}

static uint8_t limited(float value)
{
    const float above = value < 0.0f ? 0.0f : value, both = above > 255.0f ? 255.0f : above;
    return (uint8_t)(int)both;
}

static void add_block(const noise_pool *pool, wh_rng *rng, double steps, const float *signal, size_t count,
                      uint8_t *out)
{
    const double scale = steps / (SIGMA * sqrt(2.0));
    const int16_t *a = pool->iq[0] + 2 * wh_rng_below(rng, HALF), *b = pool->iq[1] + 2 * wh_rng_below(rng, HALF);
    const float ai = with_sign(rng, scale), aq = with_sign(rng, scale);
    const float bi = with_sign(rng, scale), bq = with_sign(rng, scale);
    /* 127.5 is zero, a half makes truncation round. */
    if (!signal) {
        for (size_t i = 0; i < 2 * count; i += 2) {
            out[i] = limited(128.0f + ai * (float)a[i] + bi * (float)b[i]);
            out[i + 1] = limited(128.0f + aq * (float)a[i + 1] + bq * (float)b[i + 1]);
        }
        return;
    }
    for (size_t i = 0; i < 2 * count; i += 2) {
        out[i] = limited(128.0f + ai * (float)a[i] + bi * (float)b[i] + 127.5f * signal[i]);
        out[i + 1] = limited(128.0f + aq * (float)a[i + 1] + bq * (float)b[i + 1] + 127.5f * signal[i + 1]);
    }
}

void noise_pool_bytes(const noise_pool *pool, wh_rng *rng, double steps, const float *signal, size_t count,
                      uint8_t *out)
{
    for (size_t at = 0; at < count; at += NOISE_POOL_BLOCK) {
        const size_t left = count - at, some = left < NOISE_POOL_BLOCK ? left : NOISE_POOL_BLOCK;
        add_block(pool, rng, steps, signal ? signal + 2 * at : NULL, some, out + 2 * at);
    }
}
