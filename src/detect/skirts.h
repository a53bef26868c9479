/* Skirts: what abrupt keying spreads far beyond the band of a strong emission, and how far it lifts the noise of others. */
#ifndef WH_SKIRTS_H
#define WH_SKIRTS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct wh_skirts {
    size_t bins, block;         /* bins that are looked at together */
    float *risen, *cell, *most; /* scratch, owned */
} wh_skirts;

/* False when memory is out; wh_skirts_free is needed in any case. */
bool wh_skirts_init(wh_skirts *skirts, size_t bins, double bin_hz);
void wh_skirts_free(wh_skirts *skirts);
/* lift[bins]: by how much, 1 or more, the noise of each bin is lifted by skirts. False when nothing is strong enough to have any above
 * the noise; then all are 1.
 * sum[bins]: power over noise, summed over the `slots` slots up to number `slot`, each of WH_SLOT_AVERAGES powers.
 * recent[bins]: the strongest of the last slots, above noise[bins]. settled[bins]: number of the last slot whose power was settled, and is
 * no longer in `sum`. */
bool wh_skirts_lift(wh_skirts *skirts, const float *sum, unsigned slots, const float *recent, const float *noise,
                    const uint64_t *settled, uint64_t slot, float *lift);

#endif
