#include "cold_pressure.h"

#define ZERO_CELSIUS_K 273.15

wh_gauge wh_pressure_at_temperature(wh_gauge pressure, double from_c, double to_c, wh_absolute site)
{
    const wh_absolute before = wh_absolute_of(pressure, site);
    const wh_absolute after = {before.kpa * (to_c + ZERO_CELSIUS_K) / (from_c + ZERO_CELSIUS_K)};
    return wh_gauge_of(after, site);
}

wh_tire_air wh_tire_air_of(const wh_heard *heard, double reference_c, wh_absolute site)
{
    wh_tire_air air = {.basis = WH_COLD_NONE};
    if (heard->pressure_state != WH_VALUE_OK)
        return air;
    air.pressure = heard->from_absolute ? wh_gauge_of(heard->absolute, site) : heard->pressure;
    air.cold = air.pressure;
    air.basis = WH_COLD_AS_READ;
    const double celsius = heard->temperature_c;
    if (heard->temperature_state == WH_VALUE_OK && celsius >= -60 && celsius <= 200) {
        air.basis = WH_COLD_CORRECTED;
        air.temperature_c = celsius;
        air.cold = wh_pressure_at_temperature(air.pressure, celsius, reference_c, site);
    }
    return air;
}
