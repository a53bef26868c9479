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

void wh_run_options_settings(wh_run_options *options, const wh_settings *settings)
{
    options->style.pressure = settings->pressure_unit;
    options->style.temperature = settings->temperature_unit;
    options->site = settings->site;
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

static int take_color(wh_run_options *options, wh_args *args, const char *value)
{
    if (strcmp(value, "auto") != 0 && strcmp(value, "always") != 0 && strcmp(value, "never") != 0)
        return wh_args_complain(args, "--color: '%s' is not auto, always or never", value);
    options->color = value;
    return 0;
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
    case WH_OPT_UNITS: return wh_take_pressure_unit(args, value, &options->style.pressure);
    case WH_OPT_TEMPERATURE: return wh_take_temperature_unit(args, value, &options->style.temperature);
    case WH_OPT_COLOR: return take_color(options, args, value);
    case WH_OPT_SITE_PRESSURE: return wh_take_site_pressure(args, value, &options->site);
    case WH_OPT_ALTITUDE: return wh_take_altitude(args, value, &options->site);
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
