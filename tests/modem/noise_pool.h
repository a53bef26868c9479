/* White Gaussian noise by the hour. Drawing every sample anew costs ten times as much as receiving it, so a second or two is
 * drawn once, and every block is the sum of two pieces of that from random places, with random signs of I and Q. Each
 * block is white and Gaussian. A piece comes back, but next to never beside the same other one: what is heard in one
 * sum says little about the next (two blocks that share a piece agree in half of their power). */
#ifndef NOISE_POOL_H
#define NOISE_POOL_H

#include "rng.h"

#include <stddef.h>
#include <stdint.h>

#define NOISE_POOL_BLOCK 16384u /* most samples of one sum */

typedef struct noise_pool noise_pool;

/* About 2^22 samples, 16 MiB. NULL when memory is out. */
noise_pool *noise_pool_create(uint64_t seed);
void noise_pool_destroy(noise_pool **pool);

/* Converter bytes out[2 * count] (I, Q; zero at 127.5) of noise with a standard deviation of `steps` in each of I and Q, and of
 * `signal` (interleaved, 1.0 = full scale, or NULL). Rounded, and limited to 0..255. `rng` chooses the pieces. */
void noise_pool_bytes(const noise_pool *pool, wh_rng *rng, double steps, const float *signal, size_t count,
                      uint8_t *out);

#endif
