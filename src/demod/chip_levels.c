#include "chip_levels.h"

#include "drift.h"
#include "local_levels.h"

#include <math.h>

#define LLR_BOUND 60.0f
#define PIECE     256 /* chips weighed at a time */
#define ON_BAR                                                                                                         \
    0.35f /* of an on chip's power: half-way in likelihood between off and on, see the threshold of OOK theory */
#define COHERENT_LEAST 0.7f /* mean cosine of the phase error between chips: noise alone leaves 0.8 at 3 dB a chip */

/* Amplitude and noise from the chips of the emission, decided one by one. */
static void measure_levels(wh_chips *chips, float on_power, float noise)
{
    const size_t first = chips->first, last = chips->last < chips->count ? chips->last : chips->count;
    const float bar = ON_BAR * on_power;
    double on = 0.0, off = 0.0;
    size_t on_count = 0, off_count = 0;
    for (size_t k = first; k < last; k++) {
        const float complex a = chips->value[0][k], b = chips->value[1][k];
        const double pa = (double)(crealf(a) * crealf(a) + cimagf(a) * cimagf(a));
        const double pb = (double)(crealf(b) * crealf(b) + cimagf(b) * cimagf(b));
        if (fmax(pa, pb) > (double)(WH_CHIP_HIT * on_power))
            continue; /* by something else */
        if (chips->keyed) {
            const bool is_on = pb > (double)bar;
            on += is_on ? pb : 0.0;
            off += is_on ? 0.0 : pb;
            on_count += is_on;
            off_count += !is_on;
        } else {
            on += fmax(pa, pb);
            off += fmin(pa, pb);
            on_count++;
            off_count++;
        }
    }
    const double measured = off_count ? off / (double)off_count : 0.0;
    /* What the silent tone holds bounds the noise from below too: interference, distortion, leakage between the tones. */
    chips->noise = (float)fmax(fmax((double)noise, measured), 1e-14);
    const double power = on_count ? on / (double)on_count : 0.0;
    chips->amplitude = (float)sqrt(fmax(power - (double)chips->noise, 0.05 * power));
    chips->snr_db =
        10.0 * log10(fmax((double)chips->amplitude * (double)chips->amplitude / (double)chips->noise, 1e-3));
}

static unsigned decide(const wh_chips *chips, size_t k)
{
    return chips->llr[k] > 0.0f;
}

/* Does the phase run on from chip to chip, and by how much does it turn? Mean of the products of neighbours. */
static void measure_turns(wh_chips *chips, double radians_per_chip)
{
    float complex sum[2][2] = {{0}};
    float length[2][2] = {{0}}, coherent = 0.0f, all = 0.0f;
    for (size_t k = chips->first; k + 1 < chips->last && k + 1 < chips->count; k++) {
        const unsigned a = decide(chips, k), b = decide(chips, k + 1);
        const float complex product = chips->value[b][k + 1] * conjf(chips->value[a][k]);
        sum[a][b] += product;
        length[a][b] += wh_magnitude(product);
    }
    for (unsigned a = 0; a < 2; a++) {
        for (unsigned b = 0; b < 2; b++) {
            const float size = wh_magnitude(sum[a][b]);
            chips->turn[a][b] =
                size > 0.0f ? sum[a][b] / size : (float)cos(radians_per_chip) + (float)sin(radians_per_chip) * I;
            coherent += size;
            all += length[a][b];
        }
    }
    chips->coherent = all > 0.0f && coherent > COHERENT_LEAST * all;
}

static void weigh_chips(wh_chips *chips)
{
    static const unsigned char zero[1] = {0}, one[1] = {1};
    float silent[PIECE];
    chips->coherent = false;
    for (size_t at = 0; at < chips->count; at += PIECE) {
        const size_t count = chips->count - at < PIECE ? chips->count - at : PIECE;
        float *llr = chips->llr + at;
        wh_chips_likelihoods(chips, at, one, 1, count, llr);
        wh_chips_likelihoods(chips, at, zero, 1, count, silent);
        for (size_t k = 0; k < count; k++) {
            const float difference = llr[k] - silent[k];
            llr[k] = difference > LLR_BOUND ? LLR_BOUND : difference < -LLR_BOUND ? -LLR_BOUND : difference;
        }
    }
}

void wh_chips_judge(wh_chips *chips, float on_power, float noise, double radians_per_chip)
{
    measure_levels(chips, on_power, noise);
    wh_local_levels(chips, noise, on_power, ON_BAR * on_power);
    weigh_chips(chips);
    measure_turns(chips, radians_per_chip);
    if (wh_drift_straighten(chips))
        measure_turns(chips, radians_per_chip);
}
