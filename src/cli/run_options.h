/* What decode and listen have in common: how to decode and what to show. */
#ifndef WH_RUN_OPTIONS_H
#define WH_RUN_OPTIONS_H

#include "command.h"
#include "measure_options.h"
#include "report.h"
#include "settings.h"
#include "source.h"

#define WH_ONLY_MAX 64

typedef struct wh_run_options {
    wh_report_style style;
    const char *color;  /* "auto", "always" or "never" */
    const char *output; /* file; NULL or "-": stdout */
    const char *expect; /* file of expected readings, or NULL */
    bool bursts, explain, quiet;
    const char *descriptors; /* first place to look for descriptors, or NULL */
    const char *only[WH_ONLY_MAX];
    size_t only_count; /* 0: all descriptors */
    wh_absolute site;
    double minimum; /* confidence */
    unsigned threads;
    wh_source_options source;
    bool live;         /* lines go out at once; a device, not a recording */
    const char *record;      /* live: NAME of a recording to make, or NULL */
    bool record_everything;  /* else bursts, with so much before them: */
    double record_before_s;
    double duration_s; /* live: signal time after which to end; 0: never */
} wh_run_options;

void wh_run_options_defaults(wh_run_options *options);
/* Then what the user set once and for all: units and the site. */
void wh_run_options_settings(wh_run_options *options, const wh_settings *settings);

/* Ids of the shared options; a command's own begin at WH_OPT_OWN. */
enum wh_run_option_id {
    WH_OPT_JSON = 1,
    WH_OPT_CSV,
    WH_OPT_BURSTS,
    WH_OPT_EXPLAIN,
    WH_OPT_EXPECT,
    WH_OPT_OUTPUT,
    WH_OPT_UNITS,
    WH_OPT_TEMPERATURE,
    WH_OPT_SITE_PRESSURE,
    WH_OPT_ALTITUDE,
    WH_OPT_DESCRIPTORS,
    WH_OPT_ONLY,
    WH_OPT_MINIMUM,
    WH_OPT_SAMPLE_RATE,
    WH_OPT_THREADS,
    WH_OPT_BLOCK,
    WH_OPT_COLOR,
    WH_OPT_QUIET,
    WH_OPT_OWN
};

/* Their rows of a command's option table. */
#define WH_RUN_OPTION_ROWS                                                                                             \
    {WH_OPT_JSON, 'j', "json", NULL, "Write JSON Lines: one record a line, kPa and degrees Celsius."},                 \
        {WH_OPT_CSV, 0, "csv", NULL, "Write readings as CSV."},                                                        \
        {WH_OPT_OUTPUT, 'o', "output", "FILE", "Write to FILE instead of standard output."},                           \
        {WH_OPT_UNITS, 'u', "units", "UNIT", "Pressure in kPa (default), bar or psi; text and CSV."},                  \
        {WH_OPT_TEMPERATURE, 0, "temperature", "UNIT", "Temperature in C (default) or F; text and CSV."},              \
        {WH_OPT_SITE_PRESSURE, 0, "site-pressure", "PRESSURE",                                                         \
         "Air pressure at this place, e.g. \"98.5 kPa\". Sensors measure against vacuum;\n"                            \
         "gauge pressure is what they say less this. Default 101.325 kPa (sea level)."},                               \
        {WH_OPT_ALTITUDE, 0, "altitude", "HEIGHT",                                                                     \
         "Height above the sea, e.g. \"350 m\" or \"1200 ft\", in place of the air pressure."},                        \
        {WH_OPT_DESCRIPTORS, 'd', "descriptors", "PLACE",                                                              \
         "A descriptor file, or a folder of them, that comes before your own folder\n"                                 \
         "and the ones that came with the program."},                                                                  \
        {WH_OPT_ONLY, 0, "only", "NAME", "Use this descriptor alone; may be given again for more."},                   \
        {WH_OPT_MINIMUM, 0, "minimum", "CONFIDENCE",                                                                   \
         "Leave out readings less certain than this, 0 to 1. Default 0.5."},                                           \
        {WH_OPT_BURSTS, 'b', "bursts", NULL, "Also show every burst that was heard, decoded or not, and why not."},    \
        {WH_OPT_EXPLAIN, 'x', "explain", NULL, "Also show how far each descriptor got with each burst."},              \
        {WH_OPT_THREADS, 0, "threads", "COUNT",                                                                        \
         "Worker threads, 0 for none; by default one per processor. Changes no result."},                              \
        {WH_OPT_BLOCK, 0, "block", "SAMPLES", "Most samples handled at a time. Changes no result."},                   \
        {WH_OPT_COLOR, 0, "color", "WHEN", "auto (default: on a terminal, unless NO_COLOR is set), always or never."}, \
    {                                                                                                                  \
        WH_OPT_QUIET, 'q', "quiet", NULL, "No summary, no progress, no notes: errors only on standard error."          \
    }

/* Take one of the shared options. Returns 0, an exit status when its value is wrong (told on stderr), or -1 when the
 * id is none of the shared ones. */
int wh_run_options_take(wh_run_options *options, wh_args *args, int id, const char *value);
/* After the last option: do they fit together? 0 or an exit status. */
int wh_run_options_check(const wh_run_options *options, wh_args *args);

#endif
