/* wheelhark store: what is kept, and how it is copied, written out and forgotten. */
#include "datetime.h"
#include "event_report.h"
#include "history_report.h"
#include "sweep_list.h"
#include "yard_view.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { OPT_STORE = 1, OPT_OUTPUT, OPT_CSV, OPT_STRANGERS, OPT_SENSOR, OPT_BEFORE };

static const wh_option options[] = {
    {OPT_OUTPUT, 'o', "output", "FILE", "export: write to FILE instead of standard output."},
    {OPT_CSV, 0, "csv", NULL, "export: a table instead of JSON Lines."},
    {OPT_STRANGERS, 0, "strangers", NULL, "forget: readings of sensors that are on no wheel of the roster."},
    {OPT_SENSOR, 0, "sensor", "ID", "forget: all readings of this sensor."},
    {OPT_BEFORE, 0, "before", "DATE", "forget: sweeps that ended before this day (2026-03-02, UTC)."},
    WH_STORE_OPTION_ROW(OPT_STORE),
    {0},
};

typedef struct store_choice {
    wh_yard_view view; /* store and output */
    bool csv, strangers;
    const char *sensor, *before;
    int64_t before_us;
} store_choice;

static int fail(const wh_error *error)
{
    return wh_exit_for(error);
}

static int check(const store_choice *choice)
{
    wh_error error;
    wh_store *store;
    wh_sweep_head *heads = NULL;
    size_t count = 0, units = 0;
    wh_roster *roster = NULL;
    wh_status status = wh_cli_store_open(choice->view.store, WH_STORE_WRITE, &store, &error);
    if (status == WH_OK)
        status = wh_store_check(store, &error);
    if (status == WH_OK)
        status = wh_store_sweep_list(store, &(wh_sweep_filter){0}, &heads, &count, &error);
    if (status == WH_OK)
        status = wh_store_roster_load(store, &roster, &error);
    if (status == WH_OK) {
        units = wh_roster_count(roster);
        printf("the store is whole: %zu unit%s, %zu sweep%s\n", units, units == 1 ? "" : "s", count,
               count == 1 ? "" : "s");
    }
    wh_roster_destroy(&roster);
    free(heads);
    wh_store_close(&store);
    return status == WH_OK ? 0 : fail(&error);
}

static int backup(const store_choice *choice, const char *path)
{
    wh_error error;
    wh_store *store;
    wh_status status = wh_cli_store_open(choice->view.store, WH_STORE_READ, &store, &error);
    if (status == WH_OK)
        status = wh_store_backup(store, path, &error);
    wh_store_close(&store);
    if (status == WH_OK)
        fprintf(stderr, "wheelhark: copied to %s\n", path);
    return status == WH_OK ? 0 : fail(&error);
}

static wh_status export_sweeps(wh_store *store, bool csv, wh_text *text, wh_error *error)
{
    wh_sweep_head *heads = NULL;
    size_t count = 0;
    wh_status status = wh_store_sweep_list(store, &(wh_sweep_filter){0}, &heads, &count, error);
    const wh_table_style style = {.format = WH_TABLE_JSON};
    if (csv)
        wh_events_csv_heading(text);
    for (size_t i = count; status == WH_OK && i-- > 0;) { /* the list is newest first */
        wh_sweep *sweep = NULL;
        status = wh_store_sweep_load(store, heads[i].id, &sweep, error);
        if (status == WH_OK && csv) {
            wh_events_put_csv(text, sweep);
        } else if (status == WH_OK) {
            wh_history_sweeps(text, &style, &heads[i], 1);
            wh_events_put_json(text, sweep);
        }
        wh_sweep_free(&sweep);
    }
    free(heads);
    return status;
}

static int write_out(const store_choice *choice)
{
    wh_error error;
    wh_store *store;
    wh_text text = {0};
    wh_status status = wh_cli_store_open(choice->view.store, WH_STORE_READ, &store, &error);
    if (status == WH_OK)
        status = export_sweeps(store, choice->csv, &text, &error);
    wh_store_close(&store);
    const int worst = status == WH_OK ? wh_yard_view_write(&choice->view, &text) : fail(&error);
    wh_text_free(&text);
    return worst;
}

static int forget(const store_choice *choice)
{
    wh_error error;
    wh_store *store;
    size_t count = 0;
    wh_status status = wh_cli_store_open(choice->view.store, WH_STORE_WRITE, &store, &error);
    if (status != WH_OK)
        return fail(&error);
    const char *what = "reading";
    if (choice->strangers) {
        status = wh_store_forget_strangers(store, 0, NULL, 0, &count, &error);
    } else if (choice->sensor) {
        status = wh_store_forget_sensor(store, choice->sensor, &count, &error);
    } else {
        what = "sweep";
        status = wh_store_forget_before(store, choice->before_us, &count, &error);
    }
    wh_store_close(&store);
    if (status != WH_OK)
        return fail(&error);
    printf("%zu %s%s forgotten\n", count, what, count == 1 ? "" : "s");
    return 0;
}

static int take(store_choice *choice, wh_args *args, int id, const char *value)
{
    switch (id) {
    case OPT_STORE: choice->view.store = value; return 0;
    case OPT_OUTPUT: choice->view.output = value; return 0;
    case OPT_CSV: choice->csv = true; return 0;
    case OPT_STRANGERS: choice->strangers = true; return 0;
    case OPT_SENSOR: choice->sensor = value; return 0;
    default: choice->before = value;
    }
    char midnight[48];
    snprintf(midnight, sizeof midnight, "%.20sT00:00:00Z", value);
    if (wh_datetime_parse(midnight, &choice->before_us))
        return 0;
    return wh_args_complain(args, "--before: '%s' is no day like 2026-03-02", value);
}

static int act(const store_choice *choice, wh_args *args)
{
    const int count = wh_args_operand_count(args);
    const char *action = count > 0 ? wh_args_operand(args, 0) : "";
    const int wanted = choice->strangers + (choice->sensor != NULL) + (choice->before != NULL);
    if (strcmp(action, "backup") == 0)
        return count == 2 ? backup(choice, wh_args_operand(args, 1)) : wh_args_complain(args, "backup: name one file");
    if (count > 1)
        return wh_args_complain(args, "'%s': what is this for?", wh_args_operand(args, 1));
    if (strcmp(action, "check") == 0)
        return check(choice);
    if (strcmp(action, "export") == 0)
        return write_out(choice);
    if (strcmp(action, "forget") == 0)
        return wanted == 1 ? forget(choice)
                           : wh_args_complain(args, "forget: choose one of --strangers, --sensor and --before");
    return wh_args_complain(args, "say what to do: check, backup FILE, export or forget");
}

static int run(wh_args *args)
{
    store_choice choice = {0};
    const char *value;
    int id, status;
    while ((id = wh_args_next(args, &value)) > 0) {
        if ((status = take(&choice, args, id, value)) != 0)
            return status;
    }
    return id < 0 ? wh_args_status(args) : act(&choice, args);
}

const wh_command wh_cmd_store = {
    .name = "store",
    .operands = "check | backup FILE | export | forget",
    .summary = "copy, write out, or forget what the sweeps have kept",
    .notes =
        "check        Look through the whole file for damage.\n"
        "backup FILE  Copy everything, roster and sweeps, to a new file; others may read and write meanwhile. To use\n"
        "             the copy, put it in the store's place, or name it with --store.\n"
        "export       All sweeps and their events, as JSON Lines or CSV. The roster: 'wheelhark roster export'.\n"
        "forget       Delete readings for good; their bytes are overwritten.\n\n"
        "The roster and the sweeps are one file, ~/.local/share/wheelhark/yard.db.\n\n"
        "Exit status: 0 done, 64 wrong use, 65 damaged or not a store, 66 no store, 73 and 74 output failed, 75 in "
        "use,\n"
        "77 no permission.",
    .options = options,
    .run = run,
};
