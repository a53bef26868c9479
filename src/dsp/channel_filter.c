#include "channel_filter.h"

#include "fft.h"
#include "wide.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Overlap-save: of each transform the outer quarters are thrown away, where the response's tails wrap around. A raised cosine
 * of 1/250 of the rate rings for about 250 samples to either side, half of the quarter. Blocks of four times the size took twice as
 * long for bursts of some ten thousand samples. */
#define SIZE      2048
#define NARROWEST (1.0 / 250.0)
#define EDGE      (SIZE / 4)
#define KEPT      (SIZE / 2)

struct wh_channel_filter {
    wh_fft *fft;
    float response[SIZE];
};

wh_channel_filter *wh_channel_filter_create(void)
{
    wh_channel_filter *filter = calloc(1, sizeof *filter);
    if (!filter)
        return NULL;
    filter->fft = wh_fft_create(SIZE, 1);
    if (!filter->fft)
        wh_channel_filter_destroy(&filter);
    return filter;
}

void wh_channel_filter_destroy(wh_channel_filter **filter)
{
    if (!filter || !*filter)
        return;
    wh_fft_destroy(&(*filter)->fft);
    free(*filter);
    *filter = NULL;
}

static void shape(wh_channel_filter *filter, double rate_hz, double centre_hz, double half_width_hz, double skirt_hz)
{
    const double skirt = fmax(skirt_hz, NARROWEST * rate_hz);
    /* The band repeats with the sample rate: a channel at the edge goes on at the other. From the centre outwards, in bins: */
    const double bin_hz = rate_hz / SIZE, first = ceil((centre_hz - 0.5 * rate_hz) / bin_hz);
    for (size_t i = 0; i < SIZE; i++) {
        const double bin = first + (double)i, beyond = fabs(bin * bin_hz - centre_hz) - half_width_hz;
        const double gain = beyond <= 0.0 ? 1.0 : beyond >= skirt ? 0.0 : 0.5 + 0.5 * cos(M_PI * beyond / skirt);
        filter->response[(size_t)((long)bin & (SIZE - 1))] = (float)(gain / SIZE);
    }
}

/* The inverse transform by conjugation: one plan serves both ways. */
WH_WIDE static void apply(const float *restrict spectrum, const float *restrict response, float *restrict conjugated)
{
    for (size_t i = 0; i < SIZE; i++) {
        conjugated[2 * i] = spectrum[2 * i] * response[i];
        conjugated[2 * i + 1] = -spectrum[2 * i + 1] * response[i];
    }
}

WH_WIDE static void conjugate(const float *restrict in, size_t count, float *restrict out)
{
    for (size_t i = 0; i < count; i++) {
        out[2 * i] = in[2 * i];
        out[2 * i + 1] = -in[2 * i + 1];
    }
}

void wh_channel_filter_run(wh_channel_filter *filter, const float complex *input, size_t count, double rate_hz,
                           double centre_hz, double half_width_hz, double skirt_hz, float complex *output)
{
    shape(filter, rate_hz, centre_hz, half_width_hz, skirt_hz);
    float complex *in = wh_fft_input(filter->fft);
    const float complex *out = wh_fft_output(filter->fft);
    for (size_t at = 0; at < count; at += KEPT) {
        /* From EDGE samples before the kept ones on, zeros where there are none. */
        const size_t before = at < EDGE ? EDGE - at : 0, from = at + before - EDGE;
        const size_t there = count - from < SIZE - before ? count - from : SIZE - before;
        memset(in, 0, before * sizeof *in);
        memcpy(in + before, input + from, there * sizeof *in);
        memset(in + before + there, 0, (SIZE - before - there) * sizeof *in);
        wh_fft_execute(filter->fft);
        apply((const float *)out, filter->response, (float *)in);
        wh_fft_execute(filter->fft);
        conjugate((const float *)(out + EDGE), count - at < KEPT ? count - at : KEPT, (float *)(output + at));
    }
}
