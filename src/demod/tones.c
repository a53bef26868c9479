#include "tones.h"

#include <math.h>
#include <string.h>

/* Averaged periodogram, Hann, half overlap; a short burst is padded with zeros. */
bool wh_tone_map_make(wh_tone_map *map, wh_fft *fft, const wh_baseband *baseband)
{
    const size_t size = WH_TONES_FFT, half = size / 2;
    memset(map->power, 0, sizeof map->power);
    map->bin_hz = baseband->rate_hz / (double)size;
    double blocks = 0.0;
    for (size_t at = 0; at < baseband->count; at += half) {
        float complex *in = wh_fft_input(fft);
        const size_t left = baseband->count - at, take = left < size ? left : size;
        for (size_t i = 0; i < size; i++) {
            const float hann = 0.5f - 0.5f * cosf((float)(2.0 * M_PI) * ((float)i + 0.5f) / (float)size);
            in[i] = i < take ? baseband->samples[at + i] * hann : 0.0f;
        }
        wh_fft_execute(fft);
        const float complex *out = wh_fft_output(fft);
        for (size_t b = 0; b < size; b++) {
            const float complex x = out[(b + half) % size];
            map->power[b] += crealf(x) * crealf(x) + cimagf(x) * cimagf(x);
        }
        blocks += (double)take / (double)size;
        if (left <= size)
            break;
    }
    /* Scale: white noise of density n gives n x bin_hz in a bin. Window energy is 3/8 size per whole block. */
    const double scale = blocks > 0.0 ? 1.0 / (blocks * 0.375 * (double)size * (double)size) : 0.0;
    map->once[0] = 0.0;
    for (size_t b = 0; b < size; b++) {
        map->power[b] *= (float)scale;
        map->once[b + 1] = map->once[b] + (double)map->power[b];
    }
    return blocks > 0.0;
}

/* Power within +- half_hz of a frequency, whole bins. */
static double band(const wh_tone_map *map, double hz, double half_hz)
{
    const double centre = hz / map->bin_hz + WH_TONES_FFT / 2, half = half_hz / map->bin_hz;
    const double low = fmin(fmax(centre - half + 0.5, 0.0), WH_TONES_FFT), high = fmin(fmax(centre + half + 0.5, 0.0), WH_TONES_FFT);
    const size_t i = (size_t)low, j = (size_t)high;
    const double from = map->once[i] + (i < WH_TONES_FFT ? (low - (double)i) * (double)map->power[i] : 0.0);
    const double to = map->once[j] + (j < WH_TONES_FFT ? (high - (double)j) * (double)map->power[j] : 0.0);
    return to - from;
}

/* A keyed tone's spectrum is a peak about as wide as the chip rate. The sum of a narrow and a wide band weighs the middle
 * more than the flanks, so that the maximum is at the tone and not on a plateau. */
static double tone_power(const wh_tone_map *map, double hz, double width_hz, double noise_density)
{
    const double power = 0.5 * (band(map, hz, 0.25 * width_hz) + band(map, hz, 0.6 * width_hz));
    return power - noise_density * 0.85 * width_hz;
}

static double frequency(const wh_tone_map *map, double bin)
{
    return (bin - WH_TONES_FFT / 2) * map->bin_hz;
}

/* All pairs of bins whose distance the radio allows, judged by the product of their powers: both tones must be there. */
static wh_tones find_pair(wh_tone_map *map, const wh_baseband *baseband, const wh_radio *radio)
{
    const double width = fmin(radio->chip_rate_hz, 2.0 * radio->deviation_hz);
    const double noise = baseband->noise_density;
    const size_t step = (size_t)fmax(1.0, width / 24.0 / map->bin_hz), apart_step = (size_t)fmax(1.0, width / 12.0 / map->bin_hz);
    const double spread = radio->deviation_hz * radio->deviation_tolerance;
    const size_t nearest = (size_t)(2.0 * (radio->deviation_hz - spread) / map->bin_hz);
    const size_t farthest = (size_t)ceil(2.0 * (radio->deviation_hz + spread) / map->bin_hz);
    const double reach = baseband->half_width_hz + radio->deviation_hz + 0.5 * width;
    for (size_t b = 0; b < WH_TONES_FFT; b += step)
        map->tone[b] = (float)fmax(0.0, tone_power(map, frequency(map, (double)b), width, noise));
    wh_tones best = {0};
    double best_score = 0.0;
    for (size_t low = 0; low + nearest < WH_TONES_FFT; low += step) {
        if (map->tone[low] <= 0.0f)
            continue;
        for (size_t apart = nearest / step * step; apart <= farthest && low + apart < WH_TONES_FFT; apart += (apart_step + step - 1) / step * step) {
            const double deviation = 0.5 * (double)apart * map->bin_hz, score = (double)map->tone[low] * (double)map->tone[low + apart];
            const double carrier = frequency(map, (double)low + 0.5 * (double)apart);
            /* Among near equals the nominal deviation is the likelier one. */
            const double unusual = radio->deviation_tolerance > 0.0 ? fabs(deviation - radio->deviation_hz) / spread : 0.0;
            if (score * (1.0 - 0.05 * unusual) <= best_score || fabs(carrier) > reach)
                continue;
            best_score = score * (1.0 - 0.05 * unusual);
            const double one = (double)map->tone[low], other = (double)map->tone[low + apart];
            best = (wh_tones){carrier, deviation, fmin(one, other), fmin(one, other) / fmax(one, other)};
        }
    }
    best.strength /= noise * 0.85 * width;
    return best;
}

static wh_tones find_single(const wh_tone_map *map, const wh_baseband *baseband, const wh_radio *radio)
{
    const double width = radio->chip_rate_hz, noise = baseband->noise_density;
    const double reach = fmin(baseband->half_width_hz + width, 0.5 * baseband->rate_hz);
    const double step = fmax(map->bin_hz, width / 24.0);
    wh_tones best = {0};
    double best_power = -1.0;
    for (double hz = -reach; hz <= reach; hz += step) {
        const double power = tone_power(map, hz, width, noise);
        if (power > best_power) {
            best_power = power;
            best = (wh_tones){hz, 0.0, power, 1.0};
        }
    }
    best.strength /= noise * 0.85 * width;
    return best;
}

wh_tones wh_tones_find(wh_tone_map *map, const wh_baseband *baseband, const wh_radio *radio)
{
    return radio->modulation == WH_MOD_FSK ? find_pair(map, baseband, radio) : find_single(map, baseband, radio);
}
