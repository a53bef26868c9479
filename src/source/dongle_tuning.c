#include "dongle_tuning.h"

#include <math.h>
#include <stdio.h>

uint32_t wh_dongle_nearest_rate(double wanted_hz)
{
    if (!(wanted_hz > 225001.0))
        return 225001;
    if (wanted_hz <= 300000.0)
        return (uint32_t)lrint(wanted_hz);
    if (wanted_hz < 600000.5) /* half way between the two ranges */
        return 300000;
    if (wanted_hz < 900001.0)
        return 900001;
    return wanted_hz < 3200000.0 ? (uint32_t)lrint(wanted_hz) : 3200000;
}

wh_status wh_dongle_rate(double wanted_hz, uint32_t *rate, wh_error *error)
{
    *rate = wh_dongle_nearest_rate(wanted_hz);
    if (fabs(wanted_hz - *rate) <= 0.5)
        return WH_OK;
    char fix[120];
    snprintf(fix, sizeof fix, "use %u, the closest rate it can do (or 250k, 1.024M, 2.4M)", (unsigned)*rate);
    return wh_fail(error, WH_ERR_ARGUMENT, fix,
                   "a dongle cannot sample at %.15g per second, only at 225001 to 300000 and 900001 to 3200000",
                   wanted_hz);
}

int wh_dongle_nearest_gain(const int *gains, int count, double wanted_db)
{
    int best = gains[0];
    for (int i = 1; i < count; i++) {
        const double before = fabs(best - 10.0 * wanted_db), now = fabs(gains[i] - 10.0 * wanted_db);
        if (now < before || (now == before && gains[i] < best))
            best = gains[i];
    }
    return best;
}

uint32_t wh_dongle_transfer_bytes(double rate_hz)
{
    const double pieces = floor(2.0 * rate_hz * 0.02 / 16384.0);
    return 16384u * (pieces < 1.0 ? 1u : (uint32_t)pieces);
}
