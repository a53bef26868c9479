/* What the commands that show a unit (findings, sheet) have in common: which sweep, in which units of measure, judged how. */
#ifndef WH_YARD_VIEW_H
#define WH_YARD_VIEW_H

#include "measure_options.h"
#include "settings.h"
#include "text_buffer.h"
#include "yard_case.h"
#include "yard_store.h"

typedef struct wh_yard_view {
    const char *store;  /* file, or NULL: the user's own */
    const char *output; /* file; NULL or "-": standard output */
    wh_thresholds thresholds;
    wh_case_options options; /* `thresholds` points to the one above */
} wh_yard_view;

void wh_yard_view_defaults(wh_yard_view *view);
/* Then what the user set once and for all: units, the site, the fleet's thresholds. */
void wh_yard_view_settings(wh_yard_view *view, const wh_settings *settings);

enum wh_yard_view_option_id {
    WH_VIEW_STORE = 1,
    WH_VIEW_OUTPUT,
    WH_VIEW_SWEEP,
    WH_VIEW_WHOLE,
    WH_VIEW_UNITS,
    WH_VIEW_TEMPERATURE,
    WH_VIEW_SITE_PRESSURE,
    WH_VIEW_ALTITUDE,
    WH_VIEW_AMBIENT,
    WH_VIEW_OWN
};

#define WH_YARD_VIEW_ROWS                                                                                              \
    {WH_VIEW_SWEEP, 0, "sweep", "NUMBER", "Look at this sweep; default: the latest one round the unit."},              \
        {WH_VIEW_WHOLE, 0, "whole", NULL, "Count what was heard before the repair mark, too."},                        \
        {WH_VIEW_UNITS, 'u', "units", "UNIT", "Pressure in kPa (default), bar or psi."},                               \
        {WH_VIEW_TEMPERATURE, 0, "temperature", "UNIT", "Temperature in C (default) or F."},                           \
        {WH_VIEW_SITE_PRESSURE, 0, "site-pressure", "PRESSURE",                                                        \
         "Air pressure at the yard, e.g. \"98.5 kPa\". Default 101.325 kPa."},                                         \
        {WH_VIEW_ALTITUDE, 0, "altitude", "HEIGHT",                                                                    \
         "Height of the yard, e.g. \"350 m\", in place of the air pressure."},                                         \
        {WH_VIEW_AMBIENT, 0, "ambient", "CELSIUS", "Temperature of the air outside, when it was measured."},           \
        {WH_VIEW_OUTPUT, 'o', "output", "FILE", "Write to FILE instead of standard output."},                          \
        WH_STORE_OPTION_ROW(WH_VIEW_STORE)

/* Take one of the shared options. Returns 0, an exit status when its value is wrong (told), or -1 when it is none of them. */
int wh_yard_view_take(wh_yard_view *view, wh_args *args, int id, const char *value);

/* The case of one unit from the store. Errors as wh_cli_store_open and wh_yard_case_load. */
wh_status wh_yard_view_load(const wh_yard_view *view, const char *unit, wh_yard_case **out, wh_error *error);

/* Write a finished text to view->output. Returns an exit status after telling what failed. */
int wh_yard_view_write(const wh_yard_view *view, const wh_text *text);

#endif
