/* Short-time spectra: samples in, one averaged power spectrum per slot out. */
#ifndef WH_SPECTRA_H
#define WH_SPECTRA_H

#include "wheelhark/iq.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Transforms per slot, 7/8 of their size apart. The window is flat but for a quarter at either end, where it falls as a raised cosine:
 * at this distance the windows together weigh samples so evenly that 86 % of the information in their energy is used. Hann windows
 * reach 82 % at 5/8 of their size, with two fifths more transforms. In exchange lines are broader: 24 dB down three bins off and 53 dB
 * six bins off, where Hann has 42 and 58 dB. Tapers of an eighth use 99 %, but what is 30 dB over the noise is then twenty bins wide. */
#define WH_SLOT_HOPS 5
/* Effectively independent powers in a slot: windows at this hop share next to nothing. */
#define WH_SLOT_AVERAGES 5.0
/* Neighbouring bins, and next ones, correlate by so much in power: the squared transform of the squared window. */
#define WH_SLOT_BIN_CORRELATIONS                                                                                       \
    {                                                                                                                  \
        0.137, 0.033                                                                                                   \
    }

typedef struct wh_spectra wh_spectra;

/* `spectrum`: [size] mean powers in order of frequency (bin size/2 = 0 Hz), scaled so that white noise of variance v per
 * complex sample gives v in every bin. Slot n starts at sample n * wh_spectra_slot(size). */
typedef void (*wh_spectrum_fn)(void *context, const float *spectrum);

/* Transform size for a sample rate: bins of 3 to 6 kHz, which is best in cost and in time resolution for bursts of
 * 5 to 20 ms (detection of an 8 ms burst differs by less than 0.5 dB between 256 and 2048 points at 2.4 MS/s). */
size_t wh_spectra_size(double sample_rate_hz);
/* Samples from slot to slot, about a millisecond. */
size_t wh_spectra_slot(size_t size);
wh_spectra *wh_spectra_create(size_t size, wh_spectrum_fn give, void *context);
void wh_spectra_destroy(wh_spectra **spectra);
/* The format may change only after wh_spectra_finish(). Spectra come as soon as their samples are there. */
void wh_spectra_push(wh_spectra *spectra, wh_iq_format format, const void *samples, size_t count);
/* Give the last slot if at least half of its transforms have their samples; start anew. */
void wh_spectra_finish(wh_spectra *spectra);

#endif
