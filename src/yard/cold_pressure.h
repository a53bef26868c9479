/* Cold pressure: what a tire would show at the reference temperature.
 *
 * Gay-Lussac's law for a rigid tire holds for absolute pressure: p2 = p1 T2 / T1 in kPa absolute and kelvin. People read gauge
 * pressure, which is absolute less the atmosphere at the site: p2g = (p1g + pa) T2 / T1 - pa. Without the pa, 690 kPa gauge
 * taken from 20 to 60 C would come out 14 kPa (2 psi) too low. */
#ifndef WH_COLD_PRESSURE_H
#define WH_COLD_PRESSURE_H

#include "wheelhark/sweep.h"
#include "wheelhark/units.h"

/* A gauge pressure at `from_c` brought to `to_c`, both above -273.15, with the atmosphere of the site. */
wh_gauge wh_pressure_at_temperature(wh_gauge pressure, double from_c, double to_c, wh_absolute site);

typedef enum wh_cold_basis {
    WH_COLD_NONE,      /* no pressure was read */
    WH_COLD_AS_READ,   /* no temperature was read: `cold` is the pressure as read */
    WH_COLD_CORRECTED, /* brought to the reference temperature from the temperature the sensor read */
} wh_cold_basis;

typedef struct wh_tire_air {
    wh_cold_basis basis;
    wh_gauge pressure; /* as read; from the absolute pressure and the site where the sensor measures that */
    wh_gauge cold;
    double temperature_c; /* of the air in the tire; holds when `basis` is WH_COLD_CORRECTED */
} wh_tire_air;

/* What a reading says about the air in the tire. The sensor sits in the tire, so its temperature is that of the air, warm
 * from driving or not; a reading outside -60..200 C counts as none. */
wh_tire_air wh_tire_air_of(const wh_heard *heard, double reference_c, wh_absolute site);

#endif
