#include "measure_options.h"

#include <string.h>

int wh_take_number(wh_args *args, const char *option, const char *value, const char *unit, double least, double most,
                   double *out)
{
    double number;
    const char *blank = unit ? " " : "";
    const char *name = unit ? unit : "";
    if (!wh_number_parse(value, unit, &number))
        return wh_args_complain(args, "%s: '%s' is not a number%s%s", option, value, unit ? " of " : "", name);
    if (!(number >= least && number <= most))
        return wh_args_complain(args, "%s: '%s' is not between %.10g and %.10g%s%s", option, value, least, most, blank,
                                name);
    *out = number;
    return 0;
}

/* Air pressure as weather reports and instruments give it: Pa with a prefix, bar, psi; a bare number is kPa. */
wh_status wh_site_pressure_read(const char *value, wh_absolute *site, wh_error *error)
{
    double number, kpa;
    if (wh_number_parse(value, NULL, &number) && strspn(value, "+-.0123456789eE \t") == strlen(value))
        kpa = number;
    else if (wh_number_parse(value, "Pa", &number))
        kpa = number * 1e-3;
    else if (wh_number_parse(value, "bar", &number))
        kpa = wh_kpa_from(number, WH_BAR);
    else if (wh_number_parse(value, "psi", &number))
        kpa = wh_kpa_from(number, WH_PSI);
    else
        return wh_fail(error, WH_ERR_DATA, "write e.g. \"98.5 kPa\"", "'%.60s' is no pressure", value);
    if (!(kpa >= 50.0 && kpa <= 110.0))
        return wh_fail(error, WH_ERR_DATA, "write e.g. \"98.5 kPa\"",
                       "'%.60s' is no air pressure on earth (50 to 110 kPa)", value);
    site->kpa = kpa;
    return WH_OK;
}

wh_status wh_altitude_read(const char *value, wh_absolute *site, double *metres, wh_error *error)
{
    double number, feet;
    if (wh_number_parse(value, "ft", &feet) && strstr(value, "f"))
        number = feet * 0.3048;
    else if (!wh_number_parse(value, "m", &number))
        return wh_fail(error, WH_ERR_DATA, "write e.g. \"350 m\" or \"1200 ft\"", "'%.60s' is no height", value);
    if (!(number >= -500.0 && number <= 5500.0))
        return wh_fail(error, WH_ERR_DATA, "write e.g. \"350 m\" or \"1200 ft\"",
                       "'%.60s' is not between -500 m and 5500 m", value);
    *site = wh_site_at_altitude(number);
    *metres = number;
    return WH_OK;
}

int wh_take_site_pressure(wh_args *args, const char *value, wh_absolute *site)
{
    wh_error error;
    if (wh_site_pressure_read(value, site, &error) == WH_OK)
        return 0;
    return wh_args_complain(args, "--site-pressure: %s; %s", error.what, error.fix);
}

int wh_take_altitude(wh_args *args, const char *value, wh_absolute *site)
{
    wh_error error;
    double metres;
    if (wh_altitude_read(value, site, &metres, &error) == WH_OK)
        return 0;
    return wh_args_complain(args, "--altitude: %s; %s", error.what, error.fix);
}

int wh_take_pressure_unit(wh_args *args, const char *value, wh_pressure_unit *unit)
{
    if (wh_pressure_unit_parse(value, unit))
        return 0;
    return wh_args_complain(args, "--units: '%s' is not kPa, bar or psi", value);
}

int wh_take_temperature_unit(wh_args *args, const char *value, wh_temperature_unit *unit)
{
    if (wh_temperature_unit_parse(value, unit))
        return 0;
    return wh_args_complain(args, "--temperature: '%s' is not C or F", value);
}
