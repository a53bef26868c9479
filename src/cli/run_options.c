#include "run_options.h"

#include "wheelhark/receiver.h"

#include <string.h>
#include <unistd.h>

#define THREADS_MOST 8 /* beyond, one detector thread does not find bursts fast enough to keep them busy */

/* With one processor a second thread would only cost. */
static unsigned processors(void)
{
    const long count = sysconf(_SC_NPROCESSORS_ONLN);
    return count < 2 ? 0 : count < THREADS_MOST ? (unsigned)count : THREADS_MOST;
}

void wh_run_options_defaults(wh_run_options *options)
{
    wh_receiver_config config;
    wh_receiver_config_defaults(&config);
    *options = (wh_run_options){
        .color = "auto", .site = config.site, .minimum = config.report_minimum, .threads = processors()};
    wh_source_options_defaults(&options->source);
}

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
static int take_site_pressure(wh_run_options *options, wh_args *args, const char *value)
{
    double number;
    if (wh_number_parse(value, NULL, &number) && strspn(value, "+-.0123456789eE \t") == strlen(value))
        options->site.kpa = number;
    else if (wh_number_parse(value, "Pa", &number))
        options->site.kpa = number * 1e-3;
    else if (wh_number_parse(value, "bar", &number))
        options->site.kpa = wh_kpa_from(number, WH_BAR);
    else if (wh_number_parse(value, "psi", &number))
        options->site.kpa = wh_kpa_from(number, WH_PSI);
    else
        return wh_args_complain(args, "--site-pressure: '%s' is no pressure; write e.g. \"98.5 kPa\"", value);
    if (!(options->site.kpa >= 50.0 && options->site.kpa <= 110.0))
        return wh_args_complain(args, "--site-pressure: '%s' is no air pressure on earth (50 to 110 kPa)", value);
    return 0;
}

static int take_altitude(wh_run_options *options, wh_args *args, const char *value)
{
    double metres, feet;
    if (wh_number_parse(value, "ft", &feet) && strstr(value, "f"))
        metres = feet * 0.3048;
    else if (!wh_number_parse(value, "m", &metres))
        return wh_args_complain(args, "--altitude: '%s' is no height; write e.g. \"350 m\" or \"1200 ft\"", value);
    if (!(metres >= -500.0 && metres <= 5500.0))
        return wh_args_complain(args, "--altitude: '%s' is not between -500 m and 5500 m", value);
    options->site = wh_site_at_altitude(metres);
    return 0;
}

static int take_only(wh_run_options *options, wh_args *args, const char *value)
{
    if (options->only_count >= WH_ONLY_MAX)
        return wh_args_complain(args, "--only: no more than %d times", WH_ONLY_MAX);
    options->only[options->only_count++] = value;
    return 0;
}

static int take_format(wh_run_options *options, wh_args *args, wh_report_format format)
{
    if (options->style.format != WH_REPORT_TEXT && options->style.format != format)
        return wh_args_complain(args, "choose one of --json and --csv");
    options->style.format = format;
    return 0;
}

static int take_word(wh_run_options *options, wh_args *args, int id, const char *value)
{
    switch (id) {
    case WH_OPT_UNITS:
        if (!wh_pressure_unit_parse(value, &options->style.pressure))
            return wh_args_complain(args, "--units: '%s' is not kPa, bar or psi", value);
        return 0;
    case WH_OPT_TEMPERATURE:
        if (!wh_temperature_unit_parse(value, &options->style.temperature))
            return wh_args_complain(args, "--temperature: '%s' is not C or F", value);
        return 0;
    default:
        if (strcmp(value, "auto") != 0 && strcmp(value, "always") != 0 && strcmp(value, "never") != 0)
            return wh_args_complain(args, "--color: '%s' is not auto, always or never", value);
        options->color = value;
        return 0;
    }
}

static int take_count(wh_args *args, const char *option, const char *value, double least, double most, double *count)
{
    const int status = wh_take_number(args, option, value, NULL, least, most, count);
    if (status == 0 && *count != (double)(unsigned long long)*count)
        return wh_args_complain(args, "%s: '%s' is not a whole number", option, value);
    return status;
}

int wh_run_options_take(wh_run_options *options, wh_args *args, int id, const char *value)
{
    double number = 0;
    int status = 0;
    switch (id) {
    case WH_OPT_JSON: return take_format(options, args, WH_REPORT_JSON);
    case WH_OPT_CSV: return take_format(options, args, WH_REPORT_CSV);
    case WH_OPT_BURSTS: options->bursts = true; return 0;
    case WH_OPT_EXPLAIN: options->explain = true; return 0;
    case WH_OPT_EXPECT: options->expect = value; return 0;
    case WH_OPT_OUTPUT: options->output = value; return 0;
    case WH_OPT_UNITS:
    case WH_OPT_TEMPERATURE:
    case WH_OPT_COLOR: return take_word(options, args, id, value);
    case WH_OPT_SITE_PRESSURE: return take_site_pressure(options, args, value);
    case WH_OPT_ALTITUDE: return take_altitude(options, args, value);
    case WH_OPT_DESCRIPTORS: options->descriptors = value; return 0;
    case WH_OPT_ONLY: return take_only(options, args, value);
    case WH_OPT_MINIMUM: return wh_take_number(args, "--minimum", value, NULL, 0.0, 1.0, &options->minimum);
    case WH_OPT_SAMPLE_RATE:
        return wh_take_number(args, "--sample-rate", value, "S/s", WH_SAMPLE_RATE_MIN_HZ, WH_SAMPLE_RATE_MAX_HZ,
                              &options->source.sample_rate_hz);
    case WH_OPT_THREADS:
        status = take_count(args, "--threads", value, 0, 64, &number);
        options->threads = (unsigned)number;
        return status;
    case WH_OPT_BLOCK:
        status = take_count(args, "--block", value, 1, 16777216, &number);
        options->source.block_samples = (size_t)number;
        return status;
    case WH_OPT_QUIET: options->quiet = true; return 0;
    default: return -1;
    }
}

int wh_run_options_check(const wh_run_options *options, wh_args *args)
{
    if (options->style.format == WH_REPORT_CSV && (options->bursts || options->explain))
        return wh_args_complain(args, "CSV holds readings only: use --bursts and --explain with text or --json");
    return 0;
}
