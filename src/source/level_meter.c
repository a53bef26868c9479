#include "level_meter.h"

#include <math.h>

#define PIECE 1024 /* samples converted at a time */

/* The end of the scale: the first and the last number of the format. */
static double clip_level(wh_iq_format format)
{
    switch (format) {
    case WH_IQ_CU8: return 1.0;
    case WH_IQ_CI8: return 127.0 / 128.0;
    case WH_IQ_CI16: return 32767.0 / 32768.0;
    default: return (double)INFINITY; /* floating point does not clip here */
    }
}

void wh_level_meter_add(wh_level_meter *meter, wh_iq_format format, const void *samples, size_t count)
{
    const double limit = clip_level(format) - 1e-6;
    const uint8_t *from = samples;
    float values[2 * PIECE];
    while (count > 0) {
        const size_t now = count < PIECE ? count : PIECE;
        wh_iq_to_float(format, from, now, values);
        for (size_t i = 0; i < now; i++) {
            const double re = (double)values[2 * i], im = (double)values[2 * i + 1];
            const double peak = fmax(fabs(re), fabs(im));
            meter->sum_i += re;
            meter->sum_q += im;
            meter->sum_squares += re * re + im * im;
            meter->clipped += peak >= limit;
            meter->largest = fmax(meter->largest, peak);
        }
        meter->samples += now;
        from += now * wh_iq_bytes(format);
        count -= now;
    }
}

/* Mean of |z|^2 less the power of the mean: the constant part is the converter's own, not the antenna's. */
static double variance(const wh_level_meter *meter)
{
    if (meter->samples == 0)
        return 0.0;
    const double n = (double)meter->samples, i = meter->sum_i / n, q = meter->sum_q / n;
    return fmax(0.0, meter->sum_squares / n - i * i - q * q);
}

double wh_level_dbfs(const wh_level_meter *meter)
{
    return 10.0 * log10(variance(meter));
}

double wh_level_steps(const wh_level_meter *meter)
{
    return sqrt(variance(meter) / 2.0) * 127.5;
}

double wh_level_clipped(const wh_level_meter *meter)
{
    return meter->samples ? (double)meter->clipped / (double)meter->samples : 0.0;
}
