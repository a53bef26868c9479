#include "wheelhark/units.h"

#include <math.h>
#include <strings.h>

/* NIST SP 811: 1 psi = 6.894757 kPa, 1 bar = 100 kPa. */
static const double kpa_per[WH_PRESSURE_UNIT_COUNT] = {[WH_KPA] = 1.0, [WH_BAR] = 100.0, [WH_PSI] = 6.894757};
static const char *const pressure_names[WH_PRESSURE_UNIT_COUNT] = {"kPa", "bar", "psi"};
static const char *const temperature_names[WH_TEMPERATURE_UNIT_COUNT] = {"C", "F"};

wh_gauge wh_gauge_of(wh_absolute pressure, wh_absolute site)
{
    return (wh_gauge){pressure.kpa - site.kpa};
}

wh_absolute wh_absolute_of(wh_gauge pressure, wh_absolute site)
{
    return (wh_absolute){pressure.kpa + site.kpa};
}

wh_absolute wh_site_at_altitude(double metres)
{
    /* p = p0 (1 - L h / T0)^(g M / R L), lapse 6.5 K/km up to 11 km (US Standard Atmosphere 1976). */
    const double h = fmin(fmax(metres, -1000.0), 11000.0);
    return (wh_absolute){WH_STANDARD_ATMOSPHERE_KPA * pow(1.0 - 2.25577e-5 * h, 5.25588)};
}

double wh_kpa_to(double kpa, wh_pressure_unit unit)
{
    return kpa / kpa_per[unit];
}

double wh_kpa_from(double value, wh_pressure_unit unit)
{
    return value * kpa_per[unit];
}

double wh_celsius_to(double celsius, wh_temperature_unit unit)
{
    return unit == WH_FAHRENHEIT ? celsius * 9.0 / 5.0 + 32.0 : celsius;
}

const char *wh_pressure_unit_name(wh_pressure_unit unit)
{
    return pressure_names[unit];
}

const char *wh_temperature_unit_name(wh_temperature_unit unit)
{
    return temperature_names[unit];
}

bool wh_pressure_unit_parse(const char *text, wh_pressure_unit *unit)
{
    for (int i = 0; i < WH_PRESSURE_UNIT_COUNT; i++) {
        if (strcasecmp(text, pressure_names[i]) == 0) {
            *unit = (wh_pressure_unit)i;
            return true;
        }
    }
    return false;
}

bool wh_temperature_unit_parse(const char *text, wh_temperature_unit *unit)
{
    for (int i = 0; i < WH_TEMPERATURE_UNIT_COUNT; i++) {
        if (strcasecmp(text, temperature_names[i]) == 0) {
            *unit = (wh_temperature_unit)i;
            return true;
        }
    }
    return false;
}
