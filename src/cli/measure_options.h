/* Options that several commands read alike: numbers, units of measure, the air at the site. Each returns 0, or an exit status
 * after complaining. */
#ifndef WH_MEASURE_OPTIONS_H
#define WH_MEASURE_OPTIONS_H

#include "command.h"
#include "wheelhark/units.h"

/* A number of at least `least` and at most `most`, in `unit`; complains and returns an exit status when it is none. */
int wh_take_number(wh_args *args, const char *option, const char *value, const char *unit, double least, double most,
                   double *out);
/* "kPa", "bar", "psi"; "C", "F". */
int wh_take_pressure_unit(wh_args *args, const char *value, wh_pressure_unit *unit);
int wh_take_temperature_unit(wh_args *args, const char *value, wh_temperature_unit *unit);
/* Air pressure, 50 to 110 kPa: a bare number is kPa, else hPa, bar, psi and so on. */
int wh_take_site_pressure(wh_args *args, const char *value, wh_absolute *site);
/* Height above the sea, -500 to 5500 m, to the standard air pressure there. */
int wh_take_altitude(wh_args *args, const char *value, wh_absolute *site);

/* The same of a text from anywhere; WH_ERR_DATA with reason and remedy. */
wh_status wh_site_pressure_read(const char *value, wh_absolute *site, wh_error *error);
wh_status wh_altitude_read(const char *value, wh_absolute *site, double *metres, wh_error *error);

#endif
