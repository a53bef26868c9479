/* wheelhark roster add, set, remove: single units and wheels. */
#include "roster_actions.h"

#include "layouts.h"
#include "measure_options.h"
#include "roster_csv.h"
#include "utf8.h"
#include "wheelhark/descriptor.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* "none" takes something off the record. */
static bool is_none(const char *value)
{
    return strcmp(value, "none") == 0 || value[0] == '\0';
}

static int take_text(wh_args *args, const char *option, const char *value, char *out, size_t size)
{
    bool changed;
    char *line = malloc(strlen(value) + 1);
    const size_t length = line ? wh_utf8_line(is_none(value) ? "" : value, line, &changed) : SIZE_MAX;
    int status = 0;
    if (length == SIZE_MAX)
        status = wh_args_complain(args, "%s: '%s' is no UTF-8 text", option, value);
    else if (length >= size)
        status = wh_args_complain(args, "%s: %zu bytes, %zu at most", option, length, size - 1);
    else
        memcpy(out, line, length + 1);
    free(line);
    return status;
}

/* "105 psi", "7.24 bar", "724 kPa"; a bare number is in the unit asked for with --units. */
static int take_pressure(wh_args *args, const char *option, const char *value, wh_pressure_unit standard,
                         wh_gauge *pressure)
{
    wh_pressure_unit unit = standard;
    double number;
    wh_error error;
    if (is_none(value)) {
        pressure->kpa = 0.0;
        return 0;
    }
    if (wh_number_parse(value, "psi", &number) && strpbrk(value, "pP"))
        unit = WH_PSI;
    else if (wh_number_parse(value, "bar", &number) && strpbrk(value, "bB"))
        unit = WH_BAR;
    else if (wh_number_parse(value, "Pa", &number) && strpbrk(value, "pP")) {
        unit = WH_KPA;
        number *= 1e-3;
    } else if (!wh_number_parse(value, NULL, &number))
        return wh_args_complain(args, "%s: '%s' is no pressure; write e.g. \"724 kPa\" or \"105 psi\"", option, value);
    if (wh_pressure_check(number, unit, pressure, &error) != WH_OK)
        return wh_args_complain(args, "%s: %s; %s", option, error.what, error.fix);
    return 0;
}

static int take_sensor(const wh_roster_options *options, wh_args *args, wh_wheel *wheel, unsigned digits)
{
    wh_error error;
    const unsigned standard = options->id_digits ? options->id_digits : WH_ID_DIGITS_STANDARD;
    if (is_none(options->sensor)) {
        wheel->sensor[0] = '\0';
        return 0;
    }
    if (wh_sensor_id_parse(options->sensor, options->id_base, digits ? digits : standard, wheel->sensor, &error) !=
        WH_OK)
        return wh_args_complain(args, "--sensor: %s; %s", error.what, error.fix);
    return 0;
}

static unsigned known_digits(const wh_roster_options *options, const wh_wheel *wheel)
{
    wh_descriptor_set *set;
    wh_error error;
    if (!wheel->descriptor[0] || wh_cli_load_descriptors(options->descriptors, &set, &error) != WH_OK)
        return 0;
    const unsigned digits = wh_roster_digits_of(set, wheel->descriptor);
    if (digits == 0)
        fprintf(stderr, "wheelhark: there is no descriptor '%s' here; put on record all the same\n", wheel->descriptor);
    wh_descriptor_set_destroy(&set);
    return digits;
}

static int change_wheel(const wh_roster_options *options, wh_args *args, wh_wheel *wheel)
{
    int status = 0;
    if (options->descriptor)
        status = take_text(args, "--descriptor", options->descriptor, wheel->descriptor, sizeof wheel->descriptor);
    if (status == 0 && options->sensor)
        status = take_sensor(options, args, wheel, known_digits(options, wheel));
    if (status == 0 && options->target)
        status = take_pressure(args, "--target", options->target, options->unit, &wheel->target);
    if (status == 0 && options->sidewall_max)
        status = take_pressure(args, "--sidewall-max", options->sidewall_max, options->unit, &wheel->sidewall_max);
    if (status == 0 && options->load_note)
        status = take_text(args, "--load-note", options->load_note, wheel->load_note, sizeof wheel->load_note);
    return status;
}

static int change_unit(const wh_roster_options *options, wh_args *args, wh_unit *unit)
{
    int status = 0;
    double number = 0;
    if (options->kind && !wh_unit_kind_parse(options->kind, &unit->kind))
        return wh_args_complain(args, "--kind: '%s' is none of tractor, trailer, dolly, other", options->kind);
    if (options->first_axle) {
        status = wh_take_number(args, "--first-axle", options->first_axle, NULL, 1, 99, &number);
        if (status == 0 && number != floor(number))
            status = wh_args_complain(args, "--first-axle: '%s' is not a whole number", options->first_axle);
        if (status == 0)
            unit->first_axle = (unsigned)number;
    }
    if (status == 0 && options->carrier) {
        number = 0.0;
        if (!is_none(options->carrier))
            status = wh_take_number(args, "--carrier", options->carrier, "Hz", 24e6, 1.766e9, &number);
        if (status == 0)
            unit->carrier_hz = round(number);
    }
    if (status == 0 && options->note)
        status = take_text(args, "--note", options->note, unit->note, sizeof unit->note);
    return status;
}

/* Does `word` (not NUL-terminated) mean this wheel? "all", an axle's number, or a position. */
static bool means(const char *word, size_t length, const wh_wheel *wheel)
{
    char text[16], axle[4];
    wh_position position;
    if (length >= sizeof text)
        return false;
    memcpy(text, word, length);
    text[length] = '\0';
    snprintf(axle, sizeof axle, "%u", wheel->position.axle);
    return strcmp(text, "all") == 0 || strcmp(text, axle) == 0 ||
           (wh_position_parse(text, &position) && wh_position_equal(position, wheel->position));
}

static int change_wheels(const wh_roster_options *options, wh_args *args, wh_unit *unit, const char *places)
{
    unsigned changed = 0;
    for (const char *word = places; *word; word += strspn(word, ", ")) {
        const size_t length = strcspn(word, ", ");
        unsigned meant = 0;
        for (unsigned i = 0; i < unit->wheel_count; i++) {
            if (!means(word, length, &unit->wheels[i]))
                continue;
            const int status = change_wheel(options, args, &unit->wheels[i]);
            if (status != 0)
                return status;
            meant++;
        }
        if (meant == 0)
            return wh_args_complain(args, "unit %s has no wheel '%.*s'; write e.g. 1L, 2RO, an axle's number, or all",
                                    unit->name, (int)length, word);
        changed += meant;
        word += length;
    }
    if (options->sensor && !is_none(options->sensor) && changed > 1)
        return wh_args_complain(args, "--sensor: one sensor cannot be at %u wheels", changed);
    return 0;
}

static bool changes_wheels(const wh_roster_options *options)
{
    return options->sensor || options->descriptor || options->target || options->sidewall_max || options->load_note;
}

static bool changes_unit(const wh_roster_options *options)
{
    return options->kind || options->first_axle || options->carrier || options->note;
}

/* A sensor that is on record at a second wheel is a mistake somewhere. */
static void warn_twice(const wh_roster *roster, const wh_unit *unit)
{
    for (unsigned i = 0; i < unit->wheel_count; i++) {
        wh_roster_place places[2];
        char one[WH_POSITION_SIZE], other[WH_POSITION_SIZE];
        if (wh_roster_places(roster, unit->wheels[i].sensor, places, 2) > 1)
            fprintf(stderr, "wheelhark: sensor %s is on record at two wheels: %s %s and %s %s\n",
                    unit->wheels[i].sensor, places[0].unit->name, wh_position_text(one, places[0].wheel->position),
                    places[1].unit->name, wh_position_text(other, places[1].wheel->position));
    }
}

static wh_status put_and_keep(const wh_roster_options *options, wh_roster *roster, const wh_unit *unit, wh_error *error)
{
    wh_status status = wh_roster_put(roster, unit, error);
    if (status == WH_OK)
        status = wh_roster_keep(options, roster, error);
    if (status == WH_OK && options->sensor)
        warn_twice(roster, unit);
    return status;
}

int wh_roster_set(const wh_roster_options *options, wh_args *args, const char *name, const char *places)
{
    wh_roster *roster;
    const wh_unit *found;
    wh_error error;
    if (!changes_wheels(options) && !changes_unit(options))
        return wh_args_complain(args, "say what to set: --sensor, --target, --note, ...");
    if (changes_wheels(options) && !places)
        return wh_args_complain(args, "name the wheels: 2LO, an axle's number, or all");
    if (options->layout)
        return wh_args_complain(args, "the axles of a unit cannot be changed: remove it and add it again");
    wh_status status = wh_roster_open(options, &roster, &error);
    if (status == WH_OK)
        status = wh_roster_unit_named(roster, name, &found, &error);
    int result = 0;
    wh_unit *unit = status == WH_OK ? malloc(sizeof *unit) : NULL;
    if (unit) {
        *unit = *found;
        result = change_unit(options, args, unit);
        if (result == 0 && places)
            result = change_wheels(options, args, unit, places);
        if (result == 0)
            status = put_and_keep(options, roster, unit, &error);
    } else if (status == WH_OK) {
        status = wh_fail(&error, WH_ERR_MEMORY, NULL, "out of memory");
    }
    free(unit);
    wh_roster_destroy(&roster);
    return status == WH_OK ? result : wh_exit_for(&error);
}

int wh_roster_add(const wh_roster_options *options, wh_args *args, const char *name)
{
    wh_layout layout;
    wh_roster *roster = NULL;
    wh_error error;
    if (!options->layout)
        return wh_args_complain(args, "say which axles: --layout NAME or --layout \"single, dual, dual\"");
    if (options->sensor)
        return wh_args_complain(args, "--sensor: set it afterwards, wheel by wheel");
    if (wh_layout_parse(options->layout, &layout, &error) != WH_OK)
        return wh_args_complain(args, "--layout: %s; %s", error.what, error.fix);
    wh_status status = WH_OK;
    wh_unit *unit = malloc(sizeof *unit);
    if (!unit)
        status = wh_fail(&error, WH_ERR_MEMORY, NULL, "out of memory");
    if (status == WH_OK)
        status = wh_unit_make(unit, name, layout.kind, layout.axle_count, layout.dual, &error);
    if (status == WH_OK)
        status = wh_roster_open(options, &roster, &error);
    if (status == WH_OK && wh_roster_find(roster, name))
        status = wh_fail(&error, WH_ERR_ARGUMENT, "'wheelhark roster set' changes it, 'remove' takes it off",
                         "unit '%s' is on the roster already", name);
    int result = 0;
    if (status == WH_OK) {
        result = change_unit(options, args, unit);
        if (result == 0 && changes_wheels(options))
            result = change_wheels(options, args, unit, "all");
        if (result == 0)
            status = put_and_keep(options, roster, unit, &error);
    }
    free(unit);
    wh_roster_destroy(&roster);
    return status == WH_OK ? result : wh_exit_for(&error);
}

int wh_roster_drop(const wh_roster_options *options, const char *name)
{
    wh_roster *roster;
    const wh_unit *unit;
    wh_error error;
    wh_status status = wh_roster_open(options, &roster, &error);
    if (status == WH_OK)
        status = wh_roster_unit_named(roster, name, &unit, &error);
    if (status == WH_OK)
        status = wh_roster_remove(roster, name);
    if (status == WH_OK)
        status = wh_roster_keep(options, roster, &error);
    wh_roster_destroy(&roster);
    return status == WH_OK ? WH_EXIT_DONE : wh_exit_for(&error);
}
