/* Skirts: what abrupt keying spreads far beyond the band of a strong emission, and how far it lifts the noise of others. */
#ifndef WH_SKIRTS_H
#define WH_SKIRTS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct wh_skirts {
    size_t bins, block; /* bins that are looked at together */
} wh_skirts;

wh_skirts wh_skirts_for(size_t bins, double bin_hz);
/* Is anything strong enough to have skirts above the noise? recent[bins]: the strongest of the last slots, over the noise. */
bool wh_skirts_possible(const wh_skirts *skirts, const float *recent, const float *noise);
/* lift[bins]: by how much, 1 or more, the noise of each bin is lifted by skirts. sum[bins]: power over noise, summed over `slots`
 * slots, each of WH_SLOT_AVERAGES powers. */
void wh_skirts_lift(const wh_skirts *skirts, const float *sum, unsigned slots, const float *recent, const float *noise,
                    const uint64_t *settled, uint64_t slot, float *lift);

#endif
