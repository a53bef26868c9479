#include "descriptor_model.h"
#include "sweep_walk.h"

#include <math.h>

/* Sensors and dongles are off by up to 110 kHz together; the edges of the band are the receiver's filter. */
#define MARGIN_HZ 150e3
static const double most_usual_hz = 433.92e6;

typedef struct band {
    double low_hz, high_hz; /* low > high: nothing yet */
} band;

static void widen(band *b, double hz)
{
    if (hz > 0.0) {
        b->low_hz = fmin(b->low_hz, hz);
        b->high_hz = fmax(b->high_hz, hz);
    }
}

static void widen_by_unit(band *b, const wh_unit *unit, const wh_descriptor_set *descriptors)
{
    widen(b, unit->carrier_hz);
    if (unit->carrier_hz > 0.0)
        return;
    for (unsigned i = 0; i < unit->wheel_count; i++) {
        const wh_descriptor *descriptor =
            unit->wheels[i].descriptor[0] ? wh_descriptor_set_find(descriptors, unit->wheels[i].descriptor) : NULL;
        if (descriptor)
            widen(b, descriptor->carriers_hz[0]);
    }
}

wh_status wh_sweep_band(const wh_roster *roster, const wh_sweep *sweep, const wh_descriptor_set *descriptors,
                        double usual_hz, double sample_rate_hz, double *centre_hz, wh_error *error)
{
    band b = {INFINITY, -INFINITY};
    for (size_t i = 0; i < sweep->unit_count; i++)
        widen_by_unit(&b, wh_roster_find(roster, sweep->units[i]), descriptors);
    if (b.low_hz > b.high_hz)
        b.low_hz = b.high_hz = isnan(usual_hz) ? most_usual_hz : usual_hz;
    if (b.high_hz - b.low_hz > fmax(sample_rate_hz - 2.0 * MARGIN_HZ, 0.0))
        return wh_fail(error, WH_ERR_ARGUMENT, "sweep the units of each band apart, or say --frequency",
                       "the units' sensors send between %.4g and %.4g MHz: too far apart for one dongle",
                       b.low_hz * 1e-6, b.high_hz * 1e-6);
    *centre_hz = (b.low_hz + b.high_hz) / 2.0;
    return WH_OK;
}
