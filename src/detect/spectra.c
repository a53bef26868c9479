#include "spectra.h"

#include "fft.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

struct wh_spectra {
    size_t size, need, have; /* samples: a slot and half a transform more */
    float *samples;          /* [2 x need] */
    float *window;           /* [2 x size], each weight twice, sum of squares 1 */
    float *power;            /* [size] */
    wh_fft *fft;
    wh_spectrum_fn give;
    void *context;
};

size_t wh_spectra_size(double sample_rate_hz)
{
    size_t size = 32;
    while ((double)size * 6400.0 < sample_rate_hz)
        size *= 2;
    return size;
}

wh_spectra *wh_spectra_create(size_t size, wh_spectrum_fn give, void *context)
{
    wh_spectra *spectra = calloc(1, sizeof *spectra);
    if (!spectra)
        return NULL;
    *spectra = (wh_spectra){.size = size, .need = (WH_SLOT_HOPS + 1) * size / 2, .give = give, .context = context};
    spectra->samples = malloc(2 * spectra->need * sizeof(float));
    spectra->window = malloc(2 * size * sizeof(float));
    spectra->power = malloc(size * sizeof(float));
    spectra->fft = wh_fft_create(size, WH_SLOT_HOPS);
    if (!spectra->samples || !spectra->window || !spectra->power || !spectra->fft) {
        wh_spectra_destroy(&spectra);
        return NULL;
    }
    for (size_t i = 0; i < size; i++) {
        /* Periodic Hann; its squares add up to 3/8 of the size. */
        const double hann = 0.5 - 0.5 * cos(2.0 * M_PI * (double)i / (double)size);
        spectra->window[2 * i] = spectra->window[2 * i + 1] = (float)(hann / sqrt(0.375 * (double)size));
    }
    return spectra;
}

void wh_spectra_destroy(wh_spectra **spectra)
{
    if (!spectra || !*spectra)
        return;
    wh_fft_destroy(&(*spectra)->fft);
    free((*spectra)->samples);
    free((*spectra)->window);
    free((*spectra)->power);
    free(*spectra);
    *spectra = NULL;
}

static void give_slot(wh_spectra *spectra, size_t hops)
{
    const size_t size = spectra->size, half = size / 2;
    float *input = (float *)wh_fft_input(spectra->fft);
    for (size_t hop = 0; hop < WH_SLOT_HOPS; hop++) {
        float *restrict to = input + 2 * size * hop;
        if (hop >= hops) {
            memset(to, 0, 2 * size * sizeof *to);
            continue;
        }
        const float *restrict from = spectra->samples + size * hop; /* size/2 complex = size floats a hop */
        const float *restrict window = spectra->window;
        for (size_t i = 0; i < 2 * size; i++)
            to[i] = from[i] * window[i];
    }
    wh_fft_execute(spectra->fft);
    float *restrict power = spectra->power;
    memset(power, 0, size * sizeof *power);
    const float scale = 1.0f / (float)hops;
    for (size_t hop = 0; hop < hops; hop++) {
        const float *restrict bins = (const float *)(wh_fft_output(spectra->fft) + size * hop);
        for (size_t b = 0; b < size; b++)
            power[b] += (bins[2 * b] * bins[2 * b] + bins[2 * b + 1] * bins[2 * b + 1]) * scale;
    }
    for (size_t b = 0; b < half; b++) { /* FFT order to order of frequency */
        const float low = power[b];
        power[b] = power[b + half];
        power[b + half] = low;
    }
    spectra->give(spectra->context, power);
}

void wh_spectra_push(wh_spectra *spectra, const float *iq, size_t count)
{
    const size_t keep = spectra->size / 2;
    while (count > 0) {
        const size_t room = spectra->need - spectra->have;
        const size_t step = count < room ? count : room;
        memcpy(spectra->samples + 2 * spectra->have, iq, 2 * step * sizeof *iq);
        spectra->have += step;
        iq += 2 * step;
        count -= step;
        if (spectra->have < spectra->need)
            return;
        give_slot(spectra, WH_SLOT_HOPS);
        memmove(spectra->samples, spectra->samples + 2 * (spectra->need - keep), 2 * keep * sizeof *iq);
        spectra->have = keep;
    }
}

void wh_spectra_finish(wh_spectra *spectra)
{
    const size_t hops = spectra->have >= spectra->size ? 2 * spectra->have / spectra->size - 1 : 0;
    if (hops >= WH_SLOT_HOPS / 2)
        give_slot(spectra, hops < WH_SLOT_HOPS ? hops : WH_SLOT_HOPS);
    spectra->have = 0;
}
