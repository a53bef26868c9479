#include "settings.h"

#include "command.h"
#include "measure_options.h"
#include "nearest_word.h"
#include "schema_value.h"
#include "utf8.h"
#include "yaml_tree.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

typedef enum own_setting {
    WHO,
    PRESSURE,
    TEMPERATURE,
    ALTITUDE,
    AIR_PRESSURE,
    FREQUENCY,
    GAIN,
    PPM,
    DONGLE,
    OWN_COUNT
} own_setting;

static const wh_setting own_settings[OWN_COUNT] = {
    [WHO] = {"who", "your name, for sweeps and work sheets", NULL},
    [PRESSURE] = {"pressure", "unit of pressures: kPa, bar or psi", NULL},
    [TEMPERATURE] = {"temperature", "unit of temperatures: C or F", NULL},
    [ALTITUDE] = {"altitude", "height of the yard above the sea, e.g. 350 m or 1200 ft", NULL},
    [AIR_PRESSURE] = {"air pressure", "at the yard, in place of the altitude, e.g. 98.5 kPa",
                      "US Standard Atmosphere 1976, sea level"},
    [FREQUENCY] = {"frequency", "where your sensors send, e.g. 433.92 MHz or 315 MHz", NULL},
    [GAIN] = {"gain", "of the dongle, in dB, or auto", NULL},
    [PPM] = {"ppm", "correction of the dongle's frequency in parts per million", NULL},
    [DONGLE] = {"dongle", "serial of the dongle to use, in quotes", NULL},
};

size_t wh_setting_count(void)
{
    return OWN_COUNT + wh_threshold_row_count;
}

wh_setting wh_setting_at(size_t index)
{
    if (index < OWN_COUNT)
        return own_settings[index];
    const wh_threshold_row *row = &wh_threshold_rows[index - OWN_COUNT];
    return (wh_setting){row->name, row->meaning, row->source};
}

enum { SETTINGS_MOST = 64 };

static size_t list_names(const char *names[SETTINGS_MOST])
{
    size_t count = 0;
    for (; count < wh_setting_count() && count < SETTINGS_MOST - 1; count++)
        names[count] = wh_setting_at(count).name;
    return count;
}

size_t wh_setting_find(const char *name, wh_error *error)
{
    const char *names[SETTINGS_MOST];
    const size_t count = list_names(names);
    for (size_t i = 0; i < count; i++) {
        if (strcasecmp(name, names[i]) == 0)
            return i;
    }
    const char *nearest = wh_nearest_word(name, names, count);
    char fix[80];
    snprintf(fix, sizeof fix, nearest ? "did you mean '%s'?" : "'wheelhark settings' lists them",
             nearest ? nearest : "");
    wh_fail(error, WH_ERR_NOT_FOUND, fix, "there is no setting '%.60s'", name);
    return wh_setting_count();
}

/* Units a threshold may be written in beside its own, as figure = (number - zero) x scale. */
static const struct {
    const char *row_unit, *unit;
    double zero, scale;
} other_units[] = {
    {"kPa", "bar", 0, 100},         {"kPa", "psi", 0, 6.894757}, /* NIST SP 811 */
    {"kPa/day", "bar/day", 0, 100}, {"kPa/day", "psi/day", 0, 6.894757}, {"C", "degC", 0, 1},
    {"C", "F", 32, 5.0 / 9.0},      {"C", "degF", 32, 5.0 / 9.0},        {"s", "min", 0, 60},
};

static wh_status take_threshold(wh_settings *settings, const wh_threshold_row *row, const char *value, wh_error *error)
{
    double number;
    if (wh_number_parse(value, row->unit, &number) && strcspn(value, "%abcdefghijklmnopqrstuvwxyzCFP/") < strlen(value))
        return wh_thresholds_set(&settings->thresholds, row->name, number, error);
    for (size_t i = 0; i < sizeof other_units / sizeof other_units[0]; i++) {
        const char *unit = other_units[i].unit;
        const size_t length = strlen(value), tail = strlen(unit);
        if (strcmp(row->unit, other_units[i].row_unit) == 0 && length > tail &&
            strcasecmp(value + length - tail, unit) == 0 && wh_number_parse(value, unit, &number))
            return wh_thresholds_set(&settings->thresholds, row->name,
                                     (number - other_units[i].zero) * other_units[i].scale, error);
    }
    char fix[80], standard[WH_FIXED_SIZE];
    snprintf(fix, sizeof fix, "write it with its unit, e.g. %s %s", wh_plain(standard, row->standard, 3), row->unit);
    return wh_fail(error, WH_ERR_DATA, fix, "'%.60s' is no figure for '%s'", value, row->name);
}

static wh_status take_number(const char *value, const char *unit, double least, double most, const char *fix,
                             double *out, wh_error *error)
{
    double number;
    if (!wh_number_parse(value, unit, &number) || !(number >= least && number <= most))
        return wh_fail(error, WH_ERR_DATA, fix, "'%.60s' is not between %.10g and %.10g %s", value, least, most, unit);
    *out = number;
    return WH_OK;
}

static wh_status take_word(const char *value, char *out, size_t size, wh_error *error)
{
    char line[2 * WH_SETTING_TEXT_SIZE];
    bool changed;
    if (strlen(value) >= sizeof line)
        return wh_fail(error, WH_ERR_DATA, "make it shorter", "%zu bytes, %zu at most", strlen(value), size - 1);
    const size_t length = wh_utf8_line(value, line, &changed);
    if (length >= size || changed)
        return wh_fail(error, WH_ERR_DATA, "one line of text", "'%.60s' does not do; %zu bytes at most", value,
                       size - 1);
    memcpy(out, line, length + 1);
    return WH_OK;
}

static wh_status take_site(wh_settings *settings, own_setting which, const char *value, wh_error *error)
{
    double metres = NAN;
    const wh_status status = which == ALTITUDE ? wh_altitude_read(value, &settings->site, &metres, error)
                                               : wh_site_pressure_read(value, &settings->site, error);
    if (status == WH_OK)
        settings->altitude_m = metres;
    return status;
}

wh_status wh_setting_take(wh_settings *settings, size_t index, const char *value, wh_error *error)
{
    switch (index) {
    case WHO: return take_word(value, settings->who, sizeof settings->who, error);
    case PRESSURE:
        return wh_pressure_unit_parse(value, &settings->pressure_unit)
                   ? WH_OK
                   : wh_fail(error, WH_ERR_DATA, "kPa, bar or psi", "'%.60s' is no unit of pressure here", value);
    case TEMPERATURE:
        return wh_temperature_unit_parse(value, &settings->temperature_unit)
                   ? WH_OK
                   : wh_fail(error, WH_ERR_DATA, "C or F", "'%.60s' is no unit of temperature here", value);
    case ALTITUDE:
    case AIR_PRESSURE: return take_site(settings, (own_setting)index, value, error);
    case FREQUENCY:
        return take_number(value, "Hz", 24e6, 1.766e9, "e.g. 433.92 MHz or 315 MHz", &settings->frequency_hz, error);
    case GAIN:
        if (strcmp(value, "auto") == 0) {
            settings->gain_db = NAN;
            return WH_OK;
        }
        return take_number(value, "dB", -10, 100, "auto, or e.g. 32 dB", &settings->gain_db, error);
    case PPM: return take_number(value, "ppm", -1000, 1000, "e.g. 12 ppm", &settings->ppm, error);
    case DONGLE: return take_word(value, settings->dongle, sizeof settings->dongle, error);
    default: return take_threshold(settings, &wh_threshold_rows[index - OWN_COUNT], value, error);
    }
}

static void with_unit(char text[WH_SETTING_TEXT_SIZE], double value, unsigned decimals, const char *unit)
{
    char number[WH_FIXED_SIZE];
    snprintf(text, WH_SETTING_TEXT_SIZE, "%s %s", wh_plain(number, value, decimals), unit);
}

const char *wh_setting_text(const wh_settings *settings, size_t index, char text[WH_SETTING_TEXT_SIZE])
{
    text[0] = '\0';
    switch (index) {
    case WHO: snprintf(text, WH_SETTING_TEXT_SIZE, "%s", settings->who); break;
    case PRESSURE: snprintf(text, WH_SETTING_TEXT_SIZE, "%s", wh_pressure_unit_name(settings->pressure_unit)); break;
    case TEMPERATURE:
        snprintf(text, WH_SETTING_TEXT_SIZE, "%s", wh_temperature_unit_name(settings->temperature_unit));
        break;
    case ALTITUDE:
        if (!isnan(settings->altitude_m))
            with_unit(text, settings->altitude_m, 1, "m");
        break;
    case AIR_PRESSURE:
        if (isnan(settings->altitude_m))
            with_unit(text, settings->site.kpa, 3, "kPa");
        break;
    case FREQUENCY:
        if (!isnan(settings->frequency_hz))
            with_unit(text, settings->frequency_hz * 1e-6, 6, "MHz");
        break;
    case GAIN:
        if (isnan(settings->gain_db))
            snprintf(text, WH_SETTING_TEXT_SIZE, "auto");
        else
            with_unit(text, settings->gain_db, 1, "dB");
        break;
    case PPM:
        if (!isnan(settings->ppm))
            with_unit(text, settings->ppm, 3, "ppm");
        break;
    case DONGLE: snprintf(text, WH_SETTING_TEXT_SIZE, "%s", settings->dongle); break;
    default: {
        const wh_threshold_row *row = &wh_threshold_rows[index - OWN_COUNT];
        with_unit(text, wh_threshold_value(&settings->thresholds, row), 3, row->unit);
    }
    }
    return text;
}

void wh_settings_defaults(wh_settings *settings)
{
    *settings = (wh_settings){
        .site = {WH_STANDARD_ATMOSPHERE_KPA}, .altitude_m = NAN, .frequency_hz = NAN, .gain_db = NAN, .ppm = NAN};
    wh_thresholds_defaults(&settings->thresholds);
}

/* The setting a key of the file names. Here small and large letters count, or one setting could stand there twice. */
static size_t setting_of_key(const char *key, wh_error *error)
{
    const size_t index = wh_setting_find(key, error);
    if (index == wh_setting_count() || strcmp(key, wh_setting_at(index).name) == 0)
        return index;
    char fix[80];
    snprintf(fix, sizeof fix, "write '%s'", wh_setting_at(index).name);
    wh_fail(error, WH_ERR_NOT_FOUND, fix, "there is no setting '%.60s'", key);
    return wh_setting_count();
}

static void read_entries(wh_settings *settings, bool *given, wh_complaints *complaints, const wh_yaml_node *root)
{
    static const char version[] = "wheelhark settings";
    const wh_yaml_node *site = NULL;
    for (const wh_yaml_node *value = root->first; value; value = value->next) {
        wh_error error;
        const bool is_version = strcmp(value->key->text, version) == 0;
        const size_t index = is_version ? 0 : setting_of_key(value->key->text, &error);
        const char *text = index < wh_setting_count() ? wh_value_scalar(complaints, value) : NULL;
        if (index == wh_setting_count()) {
            wh_complain(complaints, wh_yaml_span(value->key), error.fix, "%s", error.what);
            continue;
        }
        if (!text)
            continue;
        if (is_version) {
            if (strcmp(text, "1") != 0)
                wh_complain(complaints, wh_yaml_span(value), "this program reads version 1",
                            "'%.20s' is another version", text);
            continue;
        }
        if ((index == ALTITUDE || index == AIR_PRESSURE) && site) {
            wh_complain(complaints, wh_yaml_span(value->key), "leave one of them out",
                        "altitude and air pressure say the same in two ways");
            continue;
        }
        if (index == ALTITUDE || index == AIR_PRESSURE)
            site = value;
        if (wh_setting_take(settings, index, text, &error) != WH_OK)
            wh_complain(complaints, wh_yaml_span(value), error.fix, "%s", error.what);
        else if (given)
            given[index] = true;
    }
}

bool wh_settings_bare(const char *text, size_t length)
{
    bool comment = false;
    for (size_t i = 0; i < length; i++) {
        comment = (comment || text[i] == '#') && text[i] != '\n';
        if (!comment && !strchr(" \t\r\n", text[i]))
            return false;
        if (text[i] == '\0')
            return false;
    }
    return true;
}

wh_status wh_settings_read(wh_settings *settings, bool *given, wh_complaints *complaints)
{
    wh_yaml_node *root = NULL;
    wh_settings_defaults(settings);
    for (size_t i = 0; given && i < wh_setting_count(); i++)
        given[i] = false;
    if (wh_settings_bare(complaints->text, complaints->length))
        return WH_OK;
    const wh_status status = wh_yaml_parse(complaints, &root);
    if (status == WH_OK && root && root->kind == WH_YAML_MAP)
        read_entries(settings, given, complaints, root);
    else if (status == WH_OK && root && root->kind != WH_YAML_REFUSED)
        wh_complain(complaints, wh_yaml_span(root), "write 'name: value' lines", "settings are names and values");
    wh_yaml_destroy(&root);
    return status != WH_OK ? status : complaints->errors > 0 ? WH_ERR_DATA : WH_OK;
}
