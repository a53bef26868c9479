#include "yard_view.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

void wh_yard_view_defaults(wh_yard_view *view)
{
    *view = (wh_yard_view){.options = {.site = {WH_STANDARD_ATMOSPHERE_KPA}}};
    wh_thresholds_defaults(&view->thresholds);
}

void wh_yard_view_settings(wh_yard_view *view, const wh_settings *settings)
{
    view->thresholds = settings->thresholds;
    view->options.site = settings->site;
    view->options.pressure_unit = settings->pressure_unit;
    view->options.temperature_unit = settings->temperature_unit;
}

static int take_sweep(wh_yard_view *view, wh_args *args, const char *value)
{
    double number;
    const int status = wh_take_number(args, "--sweep", value, NULL, 1.0, 9e15, &number);
    if (status != 0)
        return status;
    view->options.sweep = (int64_t)number;
    if ((double)view->options.sweep != number)
        return wh_args_complain(args, "--sweep: '%s' is not a whole number", value);
    return 0;
}

int wh_yard_view_take(wh_yard_view *view, wh_args *args, int id, const char *value)
{
    wh_case_options *options = &view->options;
    switch (id) {
    case WH_VIEW_STORE: view->store = value; return 0;
    case WH_VIEW_OUTPUT: view->output = value; return 0;
    case WH_VIEW_SWEEP: return take_sweep(view, args, value);
    case WH_VIEW_WHOLE: options->whole = true; return 0;
    case WH_VIEW_UNITS: return wh_take_pressure_unit(args, value, &options->pressure_unit);
    case WH_VIEW_TEMPERATURE: return wh_take_temperature_unit(args, value, &options->temperature_unit);
    case WH_VIEW_SITE_PRESSURE: return wh_take_site_pressure(args, value, &options->site);
    case WH_VIEW_ALTITUDE: return wh_take_altitude(args, value, &options->site);
    case WH_VIEW_AMBIENT:
        options->has_ambient = true;
        return wh_take_number(args, "--ambient", value, "C", -60.0, 60.0, &options->ambient_c);
    default: return -1;
    }
}

wh_status wh_yard_view_load(const wh_yard_view *view, const char *unit, wh_yard_case **out, wh_error *error)
{
    wh_store *store;
    *out = NULL;
    wh_status status = wh_cli_store_open(view->store, WH_STORE_READ, &store, error);
    if (status != WH_OK)
        return status;
    wh_case_options options = view->options;
    options.thresholds = &view->thresholds;
    status = wh_yard_case_load(store, unit, &options, out, error);
    wh_store_close(&store);
    return status;
}

static int write_failed(const char *where, int exit_status)
{
    wh_error error;
    wh_fail(&error, WH_ERR_IO, exit_status == WH_EXIT_CANT_CREATE ? "choose another --output" : NULL,
            "%s: cannot be written: %s", where, strerror(errno));
    wh_exit_for(&error);
    return exit_status;
}

int wh_yard_view_write(const wh_yard_view *view, const wh_text *text)
{
    if (text->failed) {
        wh_error error;
        wh_fail(&error, WH_ERR_MEMORY, NULL, "out of memory");
        return wh_exit_for(&error);
    }
    const bool to_file = view->output && strcmp(view->output, "-") != 0;
    FILE *out = to_file ? fopen(view->output, "wb") : stdout;
    if (!out)
        return write_failed(view->output, WH_EXIT_CANT_CREATE);
    bool good = fwrite(text->data ? text->data : "", 1, text->length, out) == text->length;
    if (to_file) {
        good &= fclose(out) == 0;
        if (!good)
            return write_failed(view->output, WH_EXIT_IO);
    }
    return 0; /* standard output is looked after at the end of the program */
}
