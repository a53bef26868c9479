/* How strong the samples of a stretch are: is there an antenna, is the receiver overloaded? */
#ifndef WH_LEVEL_METER_H
#define WH_LEVEL_METER_H

#include "wheelhark/iq.h"

typedef struct wh_level_meter {
    uint64_t samples;
    uint64_t clipped; /* with I or Q at the end of the scale; integer formats only */
    double sum_i, sum_q, sum_squares;
    double largest; /* of |I| and |Q|; 0..1 is the scale */
} wh_level_meter;

/* Begin with a meter of zeros. */
void wh_level_meter_add(wh_level_meter *meter, wh_iq_format format, const void *samples, size_t count);
/* Mean power without the constant part, in dB against full scale (|z| = 1); -INFINITY when there is none. */
double wh_level_dbfs(const wh_level_meter *meter);
/* Standard deviation of I and Q in steps of an 8 bit converter (1/127.5 of full scale). */
double wh_level_steps(const wh_level_meter *meter);
/* Share of clipped samples, 0..1. */
double wh_level_clipped(const wh_level_meter *meter);

#endif
