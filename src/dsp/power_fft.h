/* Powers of a transform, for the one transform that runs on every sample. All others go through fft.h. */
#ifndef WH_POWER_FFT_H
#define WH_POWER_FFT_H

#include <stddef.h>

/* One forward transform of `size` points (a power of two, 64..512) whose powers are added to a sum. Our own rather than FFTW's:
 * FFTW would write the transform out for the powers to be read in again, and a plan made without measuring, which gives
 * the same bytes in every run, is not its fastest. Together that makes a slot's spectra a third cheaper. The same bytes on every
 * processor, too: eight lanes side by side, however many of them a register holds. NULL when memory is out. */
typedef struct wh_power_fft wh_power_fft;

wh_power_fft *wh_power_fft_create(size_t size);
void wh_power_fft_destroy(wh_power_fft **fft);
/* Where the input goes, [size] each; lost when the transform is made. Owned by the object. */
float *wh_power_fft_real(wh_power_fft *fft);
float *wh_power_fft_imag(wh_power_fft *fft);
/* Makes the transform: sum[b] += |X[b]|^2 with X[b] = sum of x[n] exp(-2 pi i b n / size); `sum`: [size], aligned to 32 bytes. */
void wh_power_fft_add(const wh_power_fft *fft, float *sum);
/* The same with the loops for registers of 4 floats only, whatever the processor has: tests compare. */
void wh_power_fft_add_narrow(const wh_power_fft *fft, float *sum);

#endif
