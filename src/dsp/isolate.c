#include "isolate.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

/* liquid's header wants <complex.h> first. */
#include <liquid/liquid.h>

#define HALF_LENGTH 6     /* filter half-length in output samples: flat to 0.8 of the band, see WH_ISOLATED_RATE_HZ */
#define STOP_BAND_DB 60.0f

struct wh_isolator {
    double rate_hz;
    unsigned factor;
    nco_crcf mixer;
    firdecim_crcf decimator; /* NULL when factor is 1 */
    float complex *scratch;  /* [WH_ISOLATOR_STEP] */
    size_t skip;             /* outputs still to be thrown away */
};

wh_isolator *wh_isolator_create(double sample_rate_hz)
{
    if (!(sample_rate_hz >= 1.0))
        return NULL;
    wh_isolator *isolator = calloc(1, sizeof *isolator);
    if (!isolator)
        return NULL;
    isolator->rate_hz = sample_rate_hz;
    isolator->factor = (unsigned)fmax(1.0, floor(sample_rate_hz / WH_ISOLATED_RATE_HZ + 1e-9));
    isolator->scratch = malloc(WH_ISOLATOR_STEP * sizeof *isolator->scratch);
    isolator->mixer = nco_crcf_create(LIQUID_NCO);
    if (isolator->factor > 1) {
        isolator->decimator = firdecim_crcf_create_kaiser(isolator->factor, HALF_LENGTH, STOP_BAND_DB);
        /* The Kaiser decimator of liquid-dsp 1.5 has a gain of `factor` at 0 Hz. */
        if (isolator->decimator)
            firdecim_crcf_set_scale(isolator->decimator, 1.0f / (float)isolator->factor);
    }
    if (!isolator->scratch || !isolator->mixer || (isolator->factor > 1 && !isolator->decimator))
        wh_isolator_destroy(&isolator);
    return isolator;
}

void wh_isolator_destroy(wh_isolator **isolator)
{
    if (!isolator || !*isolator)
        return;
    if ((*isolator)->mixer)
        nco_crcf_destroy((*isolator)->mixer);
    if ((*isolator)->decimator)
        firdecim_crcf_destroy((*isolator)->decimator);
    free((*isolator)->scratch);
    free(*isolator);
    *isolator = NULL;
}

unsigned wh_isolator_factor(const wh_isolator *isolator)
{
    return isolator->factor;
}

size_t wh_isolator_margin(const wh_isolator *isolator)
{
    return isolator->decimator ? (size_t)HALF_LENGTH * isolator->factor : 0;
}

void wh_isolator_begin(wh_isolator *isolator, double shift_hz)
{
    double turns = fmod(shift_hz / isolator->rate_hz, 1.0); /* liquid wraps large frequencies silently */
    turns -= turns > 0.5 ? 1.0 : turns < -0.5 ? -1.0 : 0.0;
    nco_crcf_reset(isolator->mixer);
    nco_crcf_set_frequency(isolator->mixer, (float)(2.0 * M_PI * turns));
    if (isolator->decimator)
        firdecim_crcf_reset(isolator->decimator);
    /* Output k of the decimator belongs to input (k - HALF_LENGTH) * factor, and the margin is HALF_LENGTH * factor. */
    isolator->skip = isolator->decimator ? 2 * (size_t)HALF_LENGTH : 0;
}

size_t wh_isolator_feed(wh_isolator *isolator, const float complex *samples, size_t count, float complex *output)
{
    const unsigned factor = isolator->factor;
    /* liquid's inputs are not const; it does not write to them. */
    nco_crcf_mix_block_down(isolator->mixer, (float complex *)(uintptr_t)samples, isolator->scratch, (unsigned)count);
    size_t produced = 0;
    for (size_t i = 0; i + factor <= count; i += factor) {
        float complex value = isolator->scratch[i];
        if (isolator->decimator)
            firdecim_crcf_execute(isolator->decimator, isolator->scratch + i, &value);
        if (isolator->skip > 0)
            isolator->skip--;
        else
            output[produced++] = value;
    }
    return produced;
}
