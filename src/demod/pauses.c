#include "pauses.h"

#include <math.h>

bool wh_pauses_are_filled(const wh_baseband *baseband, const wh_chips *chips, double start, double chip)
{
    double sum[2] = {0.0, 0.0}, squares[2] = {0.0, 0.0}, count[2] = {0.0, 0.0};
    for (size_t k = chips->first; k < chips->last && k < chips->count; k++) {
        const double from = start + chip * (double)k;
        if (from < 0.0 || from + chip > (double)baseband->count)
            continue;
        const float *x = (const float *)(baseband->samples + (size_t)from);
        const size_t length = (size_t)chip;
        float power = 0.0f;
        for (size_t i = 0; i < 2 * length; i++)
            power += x[i] * x[i];
        const double mean = (double)power / (double)length;
        const unsigned on = chips->llr[k] > 0.0f;
        sum[on] += mean;
        squares[on] += mean * mean;
        count[on] += 1.0;
    }
    if (count[0] < 8.0 || count[1] < 8.0)
        return false;
    double variance = 0.0;
    for (unsigned on = 0; on < 2; on++) {
        const double mean = sum[on] / count[on];
        variance += fmax(0.0, squares[on] / count[on] - mean * mean) / count[on];
    }
    const double drop = sum[1] / count[1] - sum[0] / count[0],
                 own = (double)chips->amplitude * (double)chips->amplitude;
    return drop + 3.0 * sqrt(variance) < 0.5 * own;
}
