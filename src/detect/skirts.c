#include "skirts.h"

#include "spectra.h"
#include "wide.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Skirts fall off with the distance, so none is stronger than what lies between it and its emission: the least of all blocks on the way,
 * each taken at its strongest bin, because a preamble's spectrum is a comb with a tooth every chip rate or half of it. Whoever stands out
 * of that is somebody else, however weak. */
#define BLOCK_HZ 30e3
#define STRONG                                                                                                         \
    100.0f /* power over noise in a bin: at 20 dB skirts vanish in the noise 100 kHz off, where nobody is missed for them */
#define APART 100.0f /* so far above the skirt at hand a bin is another emission, with skirts of its own */
#define FAR   0.01f  /* what is not 20 dB below the strong bin may be its other tone or its main lobe */
/* Few edges make a skirt, so it is rougher than noise; and the strongest bin of a block of pure noise lies by so many deviations above
 * its mean, in the least of several blocks. Of 200 keyed bursts at 40 dB 140, 80, 60 and 51 had an outline too many with UNEVEN of 1, 1.5,
 * 2 and 3; keyed frames 30 dB below another 200 kHz off were read in 80, 72, 68 and 68 of 100 (report_impairments). */
#define UNEVEN 1.5f
#define CHANCE 1.5

bool wh_skirts_init(wh_skirts *skirts, size_t bins, double bin_hz)
{
    *skirts = (wh_skirts){.bins = bins, .block = (size_t)(BLOCK_HZ / bin_hz) + 1};
    skirts->risen = malloc(bins * sizeof *skirts->risen);
    skirts->cell = malloc((bins + skirts->block) * sizeof *skirts->cell);
    skirts->most = malloc(bins * sizeof *skirts->most);
    return skirts->risen && skirts->cell && skirts->most;
}

void wh_skirts_free(wh_skirts *skirts)
{
    free(skirts->risen);
    free(skirts->cell);
    free(skirts->most);
    *skirts = (wh_skirts){0};
}

WH_WIDE static bool any_strong(const float *restrict recent, const float *restrict noise, size_t bins)
{
    int strong = 0;
    for (size_t b = 0; b < bins; b++)
        strong |= recent[b] > STRONG * noise[b];
    return strong != 0;
}

WH_WIDE static void take_larger(const float *restrict cell, size_t bins, float *restrict most)
{
    for (size_t b = 0; b < bins; b++)
        most[b] = cell[b] > most[b] ? cell[b] : most[b];
}

/* most[b]: the strongest of the block that begins at b, with no limit where something was settled, whose power is not known. The band is
 * a ring: what is spread beyond one end of it comes back at the other. */
static void find_blocks(wh_skirts *skirts, const float *sum, const uint64_t *settled, uint64_t since)
{
    const size_t bins = skirts->bins;
    for (size_t b = 0; b < bins; b++)
        skirts->cell[b] = settled[b] > since ? INFINITY : sum[b];
    for (size_t i = 0; i < skirts->block; i++)
        skirts->cell[bins + i] = skirts->cell[i];
    memcpy(skirts->most, skirts->cell, bins * sizeof *skirts->most);
    for (size_t i = 1; i < skirts->block; i++)
        take_larger(skirts->cell + i, bins, skirts->most);
}

/* Once round from the strongest bin, upwards or downwards in frequency, outwards from whatever is strong on the way. */
static void lift_outwards(const wh_skirts *skirts, const float *sum, float slots, float usual, size_t strongest,
                          bool upwards, float *lift)
{
    const size_t bins = skirts->bins, block = skirts->block;
    float origin = 0.0f, least = INFINITY;
    size_t since = 0;
    for (size_t k = 0, b = strongest; k < bins; k++, since++, b = upwards ? (b + 1) % bins : (b + bins - 1) % bins) {
        const float risen = skirts->risen[b];
        if (risen > STRONG && (risen > origin || risen > APART * least)) {
            origin = risen;
            least = INFINITY;
            since = 0;
            continue;
        }
        if (since <= block)
            continue;
        const float most = skirts->most[upwards ? (b + bins - block) % bins : (b + 1) % bins] / slots;
        least = most < least ? most : least;
        const float here = 1.0f + UNEVEN * (least / usual - 1.0f);
        if (here > lift[b] && sum[b] < FAR * origin * slots)
            lift[b] = here;
    }
}

bool wh_skirts_lift(wh_skirts *skirts, const float *sum, unsigned slots, const float *recent, const float *noise,
                    const uint64_t *settled, uint64_t slot, float *lift)
{
    for (size_t b = 0; b < skirts->bins; b++)
        lift[b] = 1.0f;
    if (!any_strong(recent, noise, skirts->bins))
        return false;
    const float usual = 1.0f + (float)(CHANCE / sqrt(WH_SLOT_AVERAGES * slots));
    size_t strongest = 0;
    for (size_t b = 0; b < skirts->bins; b++) {
        skirts->risen[b] = recent[b] / noise[b];
        strongest = skirts->risen[b] > skirts->risen[strongest] ? b : strongest;
    }
    find_blocks(skirts, sum, settled, slot - slots);
    lift_outwards(skirts, sum, (float)slots, usual, strongest, true, lift);
    lift_outwards(skirts, sum, (float)slots, usual, strongest, false, lift);
    return true;
}
