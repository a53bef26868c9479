/* Isolate: one burst out of the band, shifted to 0 Hz and brought to a low sample rate (with a filter of liquid-dsp). */
#ifndef WH_ISOLATE_H
#define WH_ISOLATE_H

#include "wheelhark/iq.h"

#include <complex.h>
#include <stddef.h>

typedef struct wh_isolator wh_isolator;

/* Samples a second that isolated bursts should have at least; what is slower stays as it is. Two tones 80 kHz from the
 * centre keyed at 50 kchip/s fill +-130 kHz, and the decimator is flat to three quarters of half the rate: 400 kHz. */
#define WH_ISOLATED_RATE_HZ 400e3

/* Objects are created once and reset for every burst: creating a liquid filter costs more than using it. NULL when memory
 * is out or the rate is no rate. */
wh_isolator *wh_isolator_create(double sample_rate_hz);
void wh_isolator_destroy(wh_isolator **isolator);
/* Whole factor by which the rate is divided, >= 1. */
unsigned wh_isolator_factor(const wh_isolator *isolator);
/* Input samples before and after the wanted ones that the filter needs to see. */
size_t wh_isolator_margin(const wh_isolator *isolator);
/* Begin a burst that lies at shift_hz. */
void wh_isolator_begin(wh_isolator *isolator, double shift_hz);
/* Feed the burst's samples in order, in any number of calls, each `count` a multiple of the factor and at most
 * WH_ISOLATOR_STEP. The first sample of all must be wh_isolator_margin() before the first wanted one; output i of all
 * then stands for wanted sample i * factor. Amplitudes are kept. Returns the number of outputs written, <= count / factor. */
size_t wh_isolator_feed(wh_isolator *isolator, const float complex *samples, size_t count, float complex *output);
#define WH_ISOLATOR_STEP 16384

#endif
