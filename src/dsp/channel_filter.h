/* A channel out of a burst's baseband: keeps a band, takes away neighbours. */
#ifndef WH_CHANNEL_FILTER_H
#define WH_CHANNEL_FILTER_H

#include <complex.h>
#include <stddef.h>

typedef struct wh_channel_filter wh_channel_filter;

wh_channel_filter *wh_channel_filter_create(void); /* NULL when memory is out */
void wh_channel_filter_destroy(wh_channel_filter **filter);
/* output[count]: the samples with everything outside centre +- half_width removed; the response falls as a raised cosine over
 * `skirt_hz` beyond (at least 1/250 of the rate). No delay, gain 1. input and output must not overlap. */
void wh_channel_filter_run(wh_channel_filter *filter, const float complex *input, size_t count, double rate_hz,
                           double centre_hz, double half_width_hz, double skirt_hz, float complex *output);

#endif
