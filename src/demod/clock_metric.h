/* What the clock search adds up over the chips of a trial clock (clock.h), where the difference of two tones' powers is not the best. */
#ifndef WH_CLOCK_METRIC_H
#define WH_CLOCK_METRIC_H

#include <stddef.h>

/* On-off keying: how far the level is above the bar between off and on. on_power: of a chip that is on. */
void wh_clock_metric_keyed(const float *energy, size_t count, float on_power, float *metric);

/* Weak frequency-shift keying: the likelihood of a chip whatever its value, ln of the mean of both hypotheses, which is what a
 * maximum-likelihood search of the timing adds up and is worth a decibel there. energy, difference: sum of the tones' powers, and the
 * one's less the other's, sliding over a chip; noise: variance of a chip correlation. count >= 1. */
void wh_clock_metric_weak(const float *energy, const float *difference, size_t count, float noise, float *metric);

#endif
