#include "subtract.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

void wh_known_wave_of(const wh_chips *chips, const double tone_hz[2], double rate_hz, wh_known_wave *wave)
{
    const size_t last = chips->last < chips->count ? chips->last : chips->count;
    const size_t all = last > chips->first ? last - chips->first : 0;
    wave->start = (chips->start_s + (double)chips->first * chips->chip_s) * rate_hz;
    wave->chip = chips->chip_s * rate_hz;
    wave->keyed = chips->keyed;
    wave->count = all < WH_KNOWN_WAVE_CHIPS ? all : WH_KNOWN_WAVE_CHIPS;
    for (unsigned v = 0; v < 2; v++)
        wave->turn[v] = 2.0 * M_PI * tone_hz[v] / rate_hz;
    for (size_t i = 0; i < wave->count; i++)
        wave->value[i] = chips->llr[chips->first + i] > 0.0f;
}

static void subtract_chip(float complex *samples, size_t count, double turn)
{
    const float complex step = (float)cos(turn) + (float)sin(turn) * I;
    float complex sum = 0.0f, reference = 1.0f;
    for (size_t i = 0; i < count; i++) {
        sum += samples[i] * conjf(reference);
        reference *= step;
    }
    float complex wave = sum / (float)count;
    for (size_t i = 0; i < count; i++) {
        samples[i] -= wave;
        wave *= step;
    }
}

void wh_subtract(float complex *samples, size_t count, const wh_known_wave *wave)
{
    for (size_t k = 0; k < wave->count; k++) {
        const double from = round(wave->start + wave->chip * (double)k);
        const double to = fmin(round(wave->start + wave->chip * (double)(k + 1)), (double)count);
        if (from >= 0.0 && to > from && (wave->value[k] || !wave->keyed))
            subtract_chip(samples + (size_t)from, (size_t)(to - from), wave->turn[wave->value[k]]);
    }
}

void wh_known_waves_free(wh_known_waves *waves)
{
    free(waves->left);
}

void wh_known_waves_add(wh_known_waves *waves, const wh_chips *chips, const double tone_hz[2], double rate_hz)
{
    if (waves->count < WH_KNOWN_WAVES)
        wh_known_wave_of(chips, tone_hz, rate_hz, &waves->wave[waves->count++]);
}

bool wh_known_waves_take_out(wh_known_waves *waves, wh_baseband *baseband)
{
    const size_t count = baseband->count;
    if (waves->count == 0)
        return false;
    if (baseband->samples != waves->left) {
        if (count > waves->capacity) {
            float complex *larger = realloc(waves->left, count * sizeof *larger);
            if (!larger)
                return false;
            waves->left = larger;
            waves->capacity = count;
        }
        memcpy(waves->left, baseband->samples, count * sizeof *waves->left);
        baseband->samples = waves->left;
    }
    for (size_t i = 0; i < waves->count; i++)
        wh_subtract(waves->left, count, &waves->wave[i]);
    waves->count = 0;
    return true;
}
