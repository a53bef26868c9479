/* What the user set once and for all: units of measure, the site, the receiver, the fleet's thresholds, his name. One YAML
 * file of 'name: value' lines, $XDG_CONFIG_HOME/wheelhark/settings.yaml; options on the command line win over it. */
#ifndef WH_SETTINGS_H
#define WH_SETTINGS_H

#include "complaint.h"
#include "search_path.h"
#include "text_buffer.h"
#include "thresholds.h"
#include "wheelhark/roster.h"
#include "wheelhark/units.h"

#define WH_SETTING_TEXT_SIZE 96 /* the longest value as text, NUL included */

typedef struct wh_settings {
    char who[WH_UNIT_NAME_SIZE]; /* technician; may be empty */
    wh_pressure_unit pressure_unit;
    wh_temperature_unit temperature_unit;
    wh_absolute site;
    double altitude_m;   /* NaN: the air pressure was set, or neither */
    double frequency_hz; /* NaN: as the command has it; so the next two */
    double gain_db;      /* NaN: automatic */
    double ppm;
    char dongle[64]; /* serial; empty: the only one there is */
    wh_thresholds thresholds;
} wh_settings;

/* One setting. Those of the thresholds come after the others. */
typedef struct wh_setting {
    const char *name;    /* as in the file: "air pressure" */
    const char *meaning; /* and what may be written */
    const char *source;  /* of the default; NULL: needs none */
} wh_setting;

size_t wh_setting_count(void);
wh_setting wh_setting_at(size_t index);
/* Index of a name in any case, or wh_setting_count() with the nearest name in the error's fix. */
size_t wh_setting_find(const char *name, wh_error *error);
/* Take a value; WH_ERR_DATA with reason and remedy. */
wh_status wh_setting_take(wh_settings *settings, size_t index, const char *value, wh_error *error);
/* The value as the file would have it; "" when there is none. Returns `text`. */
const char *wh_setting_text(const wh_settings *settings, size_t index, char text[WH_SETTING_TEXT_SIZE]);

void wh_settings_defaults(wh_settings *settings);
/* Read the file that `complaints` quotes onto the defaults; given[i] says whether setting i stands in it (may be NULL; as
 * long as wh_setting_count()). WH_ERR_DATA when there are errors in `complaints`; what was good has been taken. */
wh_status wh_settings_read(wh_settings *settings, bool *given, wh_complaints *complaints);

/* Nothing but blanks and comments: no settings, and no YAML document either. */
bool wh_settings_bare(const char *text, size_t length);

/* $XDG_CONFIG_HOME/wheelhark/settings.yaml. False when no home is known. */
bool wh_settings_path(char path[WH_PATH_MAX]);
/* The user's settings for a command to start from. Without a file: the defaults. A bad file is complained about on stderr
 * with place and caret; then WH_ERR_DATA, and the command ends with WH_EXIT_CONFIG. */
wh_status wh_settings_load(wh_settings *settings, wh_error *error);
/* The same, all told: 0 or the exit status to end with. */
int wh_settings_start(wh_settings *settings);

/* The file's text with a setting changed, added or (value NULL) taken out; everything else, comments too, stays as it is.
 * WH_ERR_DATA when the file is written in a way that is best changed by hand. */
wh_status wh_settings_edit(const char *text, size_t length, const char *name, const char *value, wh_text *out,
                           wh_error *error);

#endif
