/* Batched complex transforms. The only place, with isolate.c's room mates, that sees FFTW. */
#ifndef WH_FFT_H
#define WH_FFT_H

#include <complex.h>
#include <stddef.h>

typedef struct wh_fft wh_fft;

/* `batch` forward transforms of `size` points (a power of two, 16..16384) at once. Planned with FFTW_ESTIMATE: a measured
 * plan may differ from run to run in the last bit, and the same samples must always give the same bytes.
 * Creating is serialised by a lock, because FFTW's planner is not thread-safe. NULL when memory is out. */
wh_fft *wh_fft_create(size_t size, size_t batch);
void wh_fft_destroy(wh_fft **fft);

/* Where to put the input, [batch x size], and where the output appears, in FFT order (bin 0 = 0 Hz). Aligned; owned by the object. */
float complex *wh_fft_input(wh_fft *fft);
const float complex *wh_fft_output(const wh_fft *fft);
void wh_fft_execute(wh_fft *fft);
size_t wh_fft_size(const wh_fft *fft);

#endif
