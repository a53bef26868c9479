/* Quantities of the trade. Gauge and absolute pressure are different C types so that they cannot
 * be mixed up: tire chips measure absolute pressure, people set gauge pressure, and the difference
 * is the local atmosphere (about 101 kPa or 14.7 psi at sea level). */
#ifndef WHEELHARK_UNITS_H
#define WHEELHARK_UNITS_H

#include <stdbool.h>

typedef struct wh_gauge {
    double kpa; /* above the local atmosphere */
} wh_gauge;

typedef struct wh_absolute {
    double kpa; /* above vacuum */
} wh_absolute;

/* Standard atmosphere at sea level, 101.325 kPa (US Standard Atmosphere 1976). */
#define WH_STANDARD_ATMOSPHERE_KPA 101.325

typedef enum wh_pressure_unit { WH_KPA, WH_BAR, WH_PSI, WH_PRESSURE_UNIT_COUNT } wh_pressure_unit;
typedef enum wh_temperature_unit { WH_CELSIUS, WH_FAHRENHEIT, WH_TEMPERATURE_UNIT_COUNT } wh_temperature_unit;

/* Convert between gauge and absolute with the absolute pressure of the site's atmosphere. */
wh_gauge wh_gauge_of(wh_absolute pressure, wh_absolute site);
wh_absolute wh_absolute_of(wh_gauge pressure, wh_absolute site);

/* Standard atmosphere at an altitude in metres (-1000..11000, clamped), US Standard Atmosphere 1976. */
wh_absolute wh_site_at_altitude(double metres);

/* A pressure difference or gauge/absolute number in kPa, expressed in `unit`, and back. */
double wh_kpa_to(double kpa, wh_pressure_unit unit);
double wh_kpa_from(double value, wh_pressure_unit unit);
double wh_celsius_to(double celsius, wh_temperature_unit unit);

/* "kPa", "bar", "psi"; "C", "F" (the degree sign is the printer's business). */
const char *wh_pressure_unit_name(wh_pressure_unit unit);
const char *wh_temperature_unit_name(wh_temperature_unit unit);
/* Case-insensitive; false when `text` is no unit. */
bool wh_pressure_unit_parse(const char *text, wh_pressure_unit *unit);
bool wh_temperature_unit_parse(const char *text, wh_temperature_unit *unit);

#endif
