#include "channel_filter.h"

#include "fft.h"

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
    for (size_t b = 0; b < SIZE; b++) {
        const double hz = ((double)b - (b >= SIZE / 2 ? SIZE : 0)) * rate_hz / SIZE;
        /* The band repeats with the sample rate: a channel at the edge goes on at the other. */
        double off = fabs(hz - centre_hz);
        off = off > 0.5 * rate_hz ? rate_hz - off : off;
        const double beyond = off - half_width_hz;
        const double gain = beyond <= 0.0 ? 1.0 : beyond >= skirt ? 0.0 : 0.5 + 0.5 * cos(M_PI * beyond / skirt);
        filter->response[b] = (float)(gain / SIZE);
    }
}

void wh_channel_filter_run(wh_channel_filter *filter, const float complex *input, size_t count, double rate_hz,
                           double centre_hz, double half_width_hz, double skirt_hz, float complex *output)
{
    shape(filter, rate_hz, centre_hz, half_width_hz, skirt_hz);
    float complex *in = wh_fft_input(filter->fft);
    const float complex *out = wh_fft_output(filter->fft);
    for (size_t at = 0; at < count; at += KEPT) {
        for (size_t i = 0; i < SIZE; i++) {
            const size_t from = at + i; /* EDGE samples earlier than the kept ones */
            in[i] = from >= EDGE && from - EDGE < count ? input[from - EDGE] : 0.0f;
        }
        wh_fft_execute(filter->fft);
        /* The inverse by conjugation: one plan serves both ways. */
        for (size_t i = 0; i < SIZE; i++)
            in[i] = conjf(out[i]) * filter->response[i];
        wh_fft_execute(filter->fft);
        const size_t take = count - at < KEPT ? count - at : KEPT;
        for (size_t i = 0; i < take; i++)
            output[at + i] = conjf(out[EDGE + i]);
    }
}
