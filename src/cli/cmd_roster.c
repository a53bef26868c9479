/* wheelhark roster: the fleet's units, and which sensor is on record at which wheel. */
#include "measure_options.h"
#include "nearest_word.h"
#include "roster_actions.h"
#include "roster_report.h"
#include "settings.h"
#include "yard_store.h"

#include <stdio.h>
#include <string.h>

enum {
    OPT_JSON = 1,
    OPT_CODES,
    OPT_UNITS,
    OPT_IDS,
    OPT_ID_DIGITS,
    OPT_REPLACE,
    OPT_UNCONFIRMED,
    OPT_LAYOUT,
    OPT_KIND,
    OPT_FIRST_AXLE,
    OPT_CARRIER,
    OPT_NOTE,
    OPT_SENSOR,
    OPT_TARGET,
    OPT_SIDEWALL_MAX,
    OPT_LOAD_NOTE,
    OPT_DESCRIPTOR,
    OPT_DESCRIPTORS,
    OPT_STORE
};

static const wh_option options[] = {
    {OPT_JSON, 'j', "json", NULL, "list, show: write JSON Lines, pressures in kPa."},
    {OPT_CODES, 0, "codes", NULL, "show: the wheels in SAE J1939, centre-8 and X12 codes, too."},
    {OPT_UNITS, 'u', "units", "UNIT",
     "Pressures in kPa, bar or psi: shown, exported, and typed without unit. Default: the settings'."},
    {OPT_IDS, 0, "ids", "BASE", "IDs that do not say so themselves are hex or decimal."},
    {OPT_ID_DIGITS, 0, "id-digits", "COUNT",
     "Decimal IDs become this many hex digits. Default: the descriptor's, else 8."},
    {OPT_REPLACE, 0, "replace", NULL, "import, check: units that are not in the table leave the roster."},
    {OPT_UNCONFIRMED, 0, "unconfirmed", NULL, "accept: sensors that were heard once only, too."},
    {OPT_LAYOUT, 'l', "layout", "AXLES", "add: a layout's name, or its axles from the front: \"single, dual, dual\"."},
    {OPT_KIND, 0, "kind", "KIND", "tractor, trailer, dolly or other. Default: the layout's."},
    {OPT_FIRST_AXLE, 0, "first-axle", "NUMBER", "What people call the unit's front axle, e.g. 4 behind a tractor."},
    {OPT_CARRIER, 0, "carrier", "FREQUENCY", "Where the unit's sensors send, e.g. \"433.92 MHz\"."},
    {OPT_NOTE, 0, "note", "TEXT", "A note about the unit."},
    {OPT_SENSOR, 's', "sensor", "ID", "The sensor on record at the wheel; none: no sensor."},
    {OPT_TARGET, 't', "target", "PRESSURE", "Cold pressure to set, e.g. \"105 psi\"."},
    {OPT_SIDEWALL_MAX, 0, "sidewall-max", "PRESSURE", "The maximum marked on the sidewall."},
    {OPT_LOAD_NOTE, 0, "load-note", "TEXT", "A note about the tire, e.g. its load range."},
    {OPT_DESCRIPTOR, 0, "descriptor", "NAME", "The kind of sensor; 'wheelhark descriptor list' lists them."},
    {OPT_DESCRIPTORS, 'd', "descriptors", "PLACE", "A descriptor file or folder that comes before your own folder."},
    WH_STORE_OPTION_ROW(OPT_STORE),
    {0},
};

static int take_base(wh_roster_options *roster, wh_args *args, const char *value)
{
    if (strcmp(value, "hex") != 0 && strcmp(value, "decimal") != 0)
        return wh_args_complain(args, "--ids: '%s' is neither hex nor decimal", value);
    roster->id_base = strcmp(value, "hex") == 0 ? WH_ID_HEX : WH_ID_DECIMAL;
    return 0;
}

static int take_digits(wh_roster_options *roster, wh_args *args, const char *value)
{
    double number;
    const int status = wh_take_number(args, "--id-digits", value, NULL, 1, WH_ID_DIGITS_MAX, &number);
    if (status == 0 && number != (double)(unsigned)number)
        return wh_args_complain(args, "--id-digits: '%s' is not a whole number", value);
    roster->id_digits = status == 0 ? (unsigned)number : 0;
    return status;
}

static int take(wh_roster_options *roster, wh_args *args, int id, const char *value)
{
    switch (id) {
    case OPT_JSON: roster->json = true; return 0;
    case OPT_CODES: roster->codes = true; return 0;
    case OPT_REPLACE: roster->replace = true; return 0;
    case OPT_UNCONFIRMED: roster->unconfirmed = true; return 0;
    case OPT_UNITS: return wh_take_pressure_unit(args, value, &roster->unit);
    case OPT_IDS: return take_base(roster, args, value);
    case OPT_ID_DIGITS: return take_digits(roster, args, value);
    case OPT_LAYOUT: roster->layout = value; return 0;
    case OPT_KIND: roster->kind = value; return 0;
    case OPT_FIRST_AXLE: roster->first_axle = value; return 0;
    case OPT_CARRIER: roster->carrier = value; return 0;
    case OPT_NOTE: roster->note = value; return 0;
    case OPT_SENSOR: roster->sensor = value; return 0;
    case OPT_TARGET: roster->target = value; return 0;
    case OPT_SIDEWALL_MAX: roster->sidewall_max = value; return 0;
    case OPT_LOAD_NOTE: roster->load_note = value; return 0;
    case OPT_DESCRIPTOR: roster->descriptor = value; return 0;
    case OPT_DESCRIPTORS: roster->descriptors = value; return 0;
    default: roster->store = value; return 0;
    }
}

/* Print and release. */
static int print_text(wh_text *text)
{
    const bool failed = text->failed;
    if (!failed && text->data)
        fputs(text->data, stdout);
    wh_text_free(text);
    return failed ? WH_EXIT_SOFTWARE : WH_EXIT_DONE;
}

int wh_roster_list(const wh_roster_options *roster_options)
{
    wh_roster *roster;
    wh_error error;
    wh_text text = {0};
    if (wh_roster_open(roster_options, &roster, &error) != WH_OK)
        return wh_exit_for(&error);
    for (size_t i = 0; roster_options->json && i < wh_roster_count(roster); i++)
        wh_roster_put_unit_json(&text, wh_roster_at(roster, i));
    if (!roster_options->json && wh_roster_count(roster) > 0)
        wh_roster_put_list(&text, roster);
    if (wh_roster_count(roster) == 0)
        fputs("the roster is empty: 'wheelhark roster import FILE' or 'wheelhark roster add' fills it\n", stderr);
    wh_roster_destroy(&roster);
    return print_text(&text);
}

int wh_roster_show(const wh_roster_options *roster_options, const char *name)
{
    wh_roster *roster;
    const wh_unit *unit;
    wh_error error;
    wh_text text = {0};
    wh_status status = wh_roster_open(roster_options, &roster, &error);
    if (status == WH_OK)
        status = wh_roster_unit_named(roster, name, &unit, &error);
    if (status == WH_OK && roster_options->json) {
        wh_roster_put_unit_json(&text, unit);
        wh_roster_put_wheels_json(&text, unit);
    } else if (status == WH_OK) {
        wh_roster_put_unit(&text, unit, roster_options->unit, roster_options->codes);
    }
    wh_roster_destroy(&roster);
    return status == WH_OK ? print_text(&text) : wh_exit_for(&error);
}

int wh_roster_layouts(void)
{
    wh_text text = {0};
    wh_roster_put_layouts(&text);
    return print_text(&text);
}

typedef enum action { IMPORT, CHECK, EXPORT, LIST, SHOW, LAYOUTS, ADD, SET, ACCEPT, REMOVE, ACTION_COUNT } action;

static const struct {
    const char *name;
    int least, most; /* operands after the action */
    const char *needs;
} actions[ACTION_COUNT] = {
    [IMPORT] = {"import", 1, 1, "the table to import"},
    [CHECK] = {"check", 1, 1, "the table to check"},
    [EXPORT] = {"export", 0, 1, "one file at most"},
    [LIST] = {"list", 0, 0, "nothing more"},
    [SHOW] = {"show", 1, 1, "the name of one unit"},
    [LAYOUTS] = {"layouts", 0, 0, "nothing more"},
    [ADD] = {"add", 1, 1, "the name of one unit"},
    [SET] = {"set", 1, 2, "a unit, and for its wheels: 2LO, an axle's number, or all"},
    [ACCEPT] = {"accept", 1, 1, "the name of one unit"},
    [REMOVE] = {"remove", 1, 1, "the name of one unit"},
};

static int complain_action(wh_args *args, const char *word)
{
    const char *names[ACTION_COUNT];
    for (int i = 0; i < ACTION_COUNT; i++)
        names[i] = actions[i].name;
    const char *nearest = wh_nearest_word(word, names, ACTION_COUNT);
    if (nearest)
        return wh_args_complain(args, "'%s' is nothing to do with a roster (did you mean '%s'?)", word, nearest);
    return wh_args_complain(args, "'%s' is nothing to do with a roster", word);
}

static int act(action what, const wh_roster_options *roster, wh_args *args)
{
    const char *first = wh_args_operand(args, 1), *second = wh_args_operand(args, 2);
    switch (what) {
    case IMPORT: return wh_roster_import(roster, first);
    case CHECK: return wh_roster_check(roster, first);
    case EXPORT: return wh_roster_export(roster, first);
    case LIST: return wh_roster_list(roster);
    case SHOW: return wh_roster_show(roster, first);
    case LAYOUTS: return wh_roster_layouts();
    case ADD: return wh_roster_add(roster, args, first);
    case SET: return wh_roster_set(roster, args, first, second);
    case ACCEPT: return wh_roster_accept(roster, first);
    default: return wh_roster_drop(roster, first);
    }
}

static int run(wh_args *args)
{
    wh_settings settings;
    int id, status = wh_settings_start(&settings);
    if (status != 0)
        return status;
    wh_roster_options roster = {.unit = settings.pressure_unit, .thresholds = settings.thresholds};
    const char *value;
    while ((id = wh_args_next(args, &value)) > 0) {
        if ((status = take(&roster, args, id, value)) != 0)
            return status;
    }
    if (id < 0)
        return wh_args_status(args);
    const char *word = wh_args_operand(args, 0);
    if (!word)
        return wh_args_complain(args,
                                "say what to do: import, check, export, list, show, layouts, add, set, accept, remove");
    action what = IMPORT;
    while (what < ACTION_COUNT && strcmp(word, actions[what].name) != 0)
        what++;
    if (what == ACTION_COUNT)
        return complain_action(args, word);
    const int operands = wh_args_operand_count(args) - 1;
    if (operands < actions[what].least || operands > actions[what].most)
        return wh_args_complain(args, "'%s' takes %s", word, actions[what].needs);
    return act(what, &roster, args);
}

const wh_command wh_cmd_roster = {
    .name = "roster",
    .operands = "import FILE | check FILE | export [FILE] | list | show UNIT | layouts |\n"
                "                         add UNIT | set UNIT [WHEELS] | accept UNIT | remove UNIT",
    .summary = "the fleet's units, and which sensor is on record at which wheel",
    .notes = "import FILE        Take units from a table (CSV; '-' is standard input). Units of the same name are\n"
             "                   changed, others stay. With any error nothing is changed.\n"
             "check FILE         Say what import would complain about.\n"
             "export [FILE]      The roster as a table, for a spreadsheet or a backup.\n"
             "list               All units, one a line.\n"
             "show UNIT          A unit's wheels: sensors, pressures, notes.\n"
             "layouts            The named layouts.\n"
             "add UNIT           A new unit: --layout, and what all its wheels have in common.\n"
             "set UNIT [WHEELS]  Change a unit, or its wheels: 2LO, an axle's number, several with commas, or all.\n"
             "accept UNIT        Put on record which sensors the latest sweep found at its wheels, once you have "
             "entered them\n"
             "                   with the vehicle's own tool.\n"
             "remove UNIT        Take a unit off the roster. Its sweeps are kept.\n\n"
             "A table has a row for each wheel and names its columns in the first row: unit, position, sensor hex (or\n"
             "sensor decimal), target kPa (or bar, psi), sidewall maximum kPa, load note, descriptor, kind, axles,\n"
             "first axle, carrier MHz, unit note. Only unit and position must be there.\n\n"
             "Examples: wheelhark roster add T-204 --layout trailer-tandem --target \"100 psi\"\n"
             "          wheelhark roster set T-204 1LO --sensor 0x0A1B2C3D\n",
    .options = options,
    .run = run,
};
