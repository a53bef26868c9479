#include "skirts.h"

#include "spectra.h"

#include <math.h>

/* Skirts fall off with the distance, so none is stronger than what lies between it and its emission: the least of all blocks on the way,
 * each taken at its strongest bin, because a preamble's spectrum is a comb with a tooth every chip rate or half of it. Whoever stands out
 * of that is somebody else, however weak. */
#define BLOCK_HZ 30e3f
#define STRONG                                                                                                         \
    100.0f /* power over noise in a bin: at 20 dB skirts vanish in the noise 100 kHz off, where nobody is missed for them */
#define APART 100.0f /* so far above the skirt at hand a bin is another emission, with skirts of its own */
#define FAR   0.01f  /* what is not 20 dB below the strong bin may be its other tone or its main lobe */
/* Few edges make a skirt, so it is rougher than noise; and the strongest bin of a block of pure noise lies by so many deviations above
 * its mean, in the least of several blocks. Of 200 keyed bursts at 40 dB 140, 80, 60 and 51 had an outline too many with UNEVEN of 1, 1.5,
 * 2 and 3; keyed frames 30 dB below another 200 kHz off were read in 80, 72, 68 and 68 of 100 (report_impairments). */
#define UNEVEN 1.5f
#define CHANCE 1.5

wh_skirts wh_skirts_for(size_t bins, double bin_hz)
{
    return (wh_skirts){bins, (size_t)((double)BLOCK_HZ / bin_hz) + 1};
}

bool wh_skirts_possible(const wh_skirts *skirts, const float *recent, const float *noise)
{
    for (size_t b = 0; b < skirts->bins; b++)
        if (recent[b] > STRONG * noise[b])
            return true;
    return false;
}

/* The band is a ring: what is spread beyond one end of it comes back at the other. */
static float strongest(const wh_skirts *skirts, const float *sum, const uint64_t *settled, uint64_t since, size_t from)
{
    float most = 0.0f;
    for (size_t i = from; i < from + skirts->block; i++) {
        const size_t b = i < skirts->bins ? i : i - skirts->bins;
        if (settled[b] > since)
            return INFINITY;
        most = sum[b] > most ? sum[b] : most;
    }
    return most;
}

/* Outwards from every strong place, upwards or downwards in frequency; twice round. */
static void lift_outwards(const wh_skirts *skirts, const float *sum, float slots, float usual, const float *recent,
                          const float *noise, const uint64_t *settled, uint64_t since, bool upwards, float *lift)
{
    const size_t bins = skirts->bins, block = skirts->block;
    float origin = 0.0f, least = INFINITY;
    size_t at = 0;
    for (size_t k = 0; k < 2 * bins; k++) {
        const size_t turn = k < bins ? k : k - bins, b = upwards ? turn : bins - 1 - turn;
        const float risen = recent[b] / noise[b];
        if (risen > STRONG && (risen > origin || risen > APART * least)) {
            origin = risen;
            least = INFINITY;
            at = k;
            continue;
        }
        if (origin <= 0.0f)
            continue;
        if (k - at > block) {
            const size_t inward = upwards ? (b >= block ? b - block : b + bins - block) : (b + 1) % bins;
            const float most = strongest(skirts, sum, settled, since, inward) / slots;
            least = most < least ? most : least;
        }
        const float here = 1.0f + UNEVEN * (least / usual - 1.0f);
        if (here > lift[b] && sum[b] < FAR * origin * slots)
            lift[b] = here;
    }
}

void wh_skirts_lift(const wh_skirts *skirts, const float *sum, unsigned slots, const float *recent, const float *noise,
                    const uint64_t *settled, uint64_t slot, float *lift)
{
    const float usual = 1.0f + (float)(CHANCE / sqrt(WH_SLOT_AVERAGES * slots));
    for (size_t b = 0; b < skirts->bins; b++)
        lift[b] = 1.0f;
    lift_outwards(skirts, sum, (float)slots, usual, recent, noise, settled, slot - slots, true, lift);
    lift_outwards(skirts, sum, (float)slots, usual, recent, noise, settled, slot - slots, false, lift);
}
