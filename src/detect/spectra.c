#include "spectra.h"

#include "iq_wide.h"
#include "power_fft.h"
#include "wide.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SAMPLE_MOST 8 /* bytes of the widest sample */

struct wh_spectra {
    size_t size, hop, need;
    unsigned char *held; /* [need] samples of an unfinished slot, in their format */
    size_t have;
    wh_iq_format format;
    float *window;      /* [size], sum of squares 1 */
    float *sum, *power; /* [size] */
    wh_power_fft *fft;
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

static size_t hop_of(size_t size)
{
    return size * 7 / 8;
}

size_t wh_spectra_slot(size_t size)
{
    return WH_SLOT_HOPS * hop_of(size);
}

wh_spectra *wh_spectra_create(size_t size, wh_spectrum_fn give, void *context)
{
    wh_spectra *spectra = calloc(1, sizeof *spectra);
    if (!spectra)
        return NULL;
    *spectra = (wh_spectra){.size = size, .hop = hop_of(size), .give = give, .context = context};
    spectra->need = (WH_SLOT_HOPS - 1) * spectra->hop + size;
    spectra->held = malloc(spectra->need * SAMPLE_MOST);
    spectra->window = malloc(size * sizeof(float));
    spectra->sum = aligned_alloc(32, size * sizeof(float));
    spectra->power = malloc(size * sizeof(float));
    spectra->fft = wh_power_fft_create(size);
    if (!spectra->held || !spectra->window || !spectra->sum || !spectra->power || !spectra->fft) {
        wh_spectra_destroy(&spectra);
        return NULL;
    }
    for (size_t i = 0; i < size; i++) {
        const double edge = 0.25 * (double)size, from_end = (double)(i < size / 2 ? i : size - 1 - i) + 0.5;
        const double rise = from_end < edge ? 0.5 - 0.5 * cos(M_PI * from_end / edge) : 1.0;
        /* The squares of a raised cosine add up to 3/8 of its length. */
        spectra->window[i] = (float)(rise / sqrt((double)size - 1.25 * edge));
    }
    return spectra;
}

void wh_spectra_destroy(wh_spectra **spectra)
{
    if (!spectra || !*spectra)
        return;
    wh_power_fft_destroy(&(*spectra)->fft);
    free((*spectra)->held);
    free((*spectra)->window);
    free((*spectra)->sum);
    free((*spectra)->power);
    free(*spectra);
    *spectra = NULL;
}

/* The mean, from FFT order to order of frequency. */
WH_WIDE static void scale_half(const float *restrict sum, size_t count, float scale, float *restrict power)
{
    for (size_t b = 0; b < count; b++)
        power[b] = sum[b] * scale;
}

/* The first `hops` transforms of a slot, one after the other: what one needs stays in the first-level cache, which saves a sixth
 * of the time of doing each step for all of them. */
static void give_slot(wh_spectra *spectra, const unsigned char *samples, size_t hops)
{
    const size_t size = spectra->size, half = size / 2, unit = wh_iq_bytes(spectra->format);
    wh_power_fft *const fft = spectra->fft;
    memset(spectra->sum, 0, size * sizeof *spectra->sum);
    for (size_t hop = 0; hop < hops; hop++) {
        wh_iq_weigh(spectra->format, samples + hop * spectra->hop * unit, size, spectra->window, wh_power_fft_real(fft),
                    wh_power_fft_imag(fft));
        wh_power_fft_add(fft, spectra->sum);
    }
    scale_half(spectra->sum + half, half, 1.0f / (float)hops, spectra->power);
    scale_half(spectra->sum, half, 1.0f / (float)hops, spectra->power + half);
    spectra->give(spectra->context, spectra->power);
}

/* Slots are taken from where the samples lie; only what is left at the end of a block is kept, until a slot across the border
 * is complete. */
void wh_spectra_push(wh_spectra *spectra, wh_iq_format format, const void *samples, size_t count)
{
    const size_t unit = wh_iq_bytes(format), slot = WH_SLOT_HOPS * spectra->hop, overlap = spectra->need - slot;
    const unsigned char *from = samples;
    spectra->format = format;
    while (count > 0) {
        if (spectra->have == 0 && count >= spectra->need) {
            give_slot(spectra, from, WH_SLOT_HOPS);
            from += slot * unit;
            count -= slot;
            continue;
        }
        const size_t room = spectra->need - spectra->have, step = count < room ? count : room;
        memcpy(spectra->held + spectra->have * unit, from, step * unit);
        spectra->have += step;
        from += step * unit;
        count -= step;
        if (spectra->have < spectra->need)
            return;
        give_slot(spectra, spectra->held, WH_SLOT_HOPS);
        if (step >= overlap) { /* the next slot lies wholly in this block */
            spectra->have = 0;
            from -= overlap * unit;
            count += overlap;
        } else {
            memmove(spectra->held, spectra->held + slot * unit, overlap * unit);
            spectra->have = overlap;
        }
    }
}

void wh_spectra_finish(wh_spectra *spectra)
{
    const size_t hops = spectra->have >= spectra->size ? (spectra->have - spectra->size) / spectra->hop + 1 : 0;
    if (hops >= WH_SLOT_HOPS / 2)
        give_slot(spectra, spectra->held, hops < WH_SLOT_HOPS ? hops : WH_SLOT_HOPS);
    spectra->have = 0;
}
