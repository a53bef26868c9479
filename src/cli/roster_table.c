/* wheelhark roster import, check, export: the roster as a table. */
#include "roster_actions.h"

#include "csv_print.h"
#include "roster_csv.h"
#include "wheelhark/descriptor.h"
#include "whole_file.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *plural(unsigned long count)
{
    return count == 1 ? "" : "s";
}

/* *tally says what came; a table with errors gives WH_ERR_DATA, all told. */
static wh_status read_table(const wh_roster_options *options, const char *path, const wh_roster *existing,
                            wh_roster **roster, wh_roster_csv_tally *tally, wh_error *error)
{
    char *text;
    size_t length;
    wh_status status = wh_file_read(path, WH_CSV_BYTES_MAX, &text, &length, error);
    if (status != WH_OK)
        return status;
    wh_descriptor_set *set = NULL;
    wh_error ignored; /* without descriptors their names cannot be looked up: no reason to stop */
    if (wh_cli_load_descriptors(options->descriptors, &set, options->descriptors ? error : &ignored) != WH_OK &&
        options->descriptors) {
        free(text);
        return error->status;
    }
    const wh_roster_csv_options how = {.id_base = options->id_base,
                                       .id_digits = options->id_digits,
                                       .digits_of = set ? wh_roster_digits_of : NULL,
                                       .context = set};
    wh_csv_complaints complaints = {0};
    status = wh_roster_csv_read(text, length, &how, existing, roster, tally, &complaints);
    const char *name = strcmp(path, "-") == 0 ? "standard input" : path;
    wh_csv_complaints_print(name, &complaints);
    if (status != WH_OK)
        wh_fail(error, status, status == WH_ERR_MEMORY ? NULL : "correct the places named above; nothing was changed",
                "%s: %u error%s, %u warning%s", name, complaints.errors, plural(complaints.errors), complaints.warnings,
                plural(complaints.warnings));
    wh_csv_complaints_free(&complaints);
    wh_descriptor_set_destroy(&set);
    free(text);
    return status;
}

int wh_roster_check(const wh_roster_options *options, const char *path)
{
    wh_roster *existing, *roster = NULL;
    wh_roster_csv_tally tally;
    wh_error error;
    wh_status status = wh_roster_open(options, &existing, &error);
    if (status == WH_OK)
        status = read_table(options, path, options->replace ? NULL : existing, &roster, &tally, &error);
    if (status == WH_OK)
        printf("%s: good: %zu unit%s (%zu new), %zu wheels named, %zu sensors\n", path, tally.units,
               plural(tally.units), tally.new_units, tally.wheels, tally.sensors);
    wh_roster_destroy(&roster);
    wh_roster_destroy(&existing);
    return status == WH_OK ? WH_EXIT_DONE : wh_exit_for(&error);
}

int wh_roster_import(const wh_roster_options *options, const char *path)
{
    wh_roster *existing, *roster = NULL;
    wh_roster_csv_tally tally;
    wh_error error;
    wh_status status = wh_roster_open(options, &existing, &error);
    if (status == WH_OK)
        status = read_table(options, path, options->replace ? NULL : existing, &roster, &tally, &error);
    if (status == WH_OK)
        status = wh_roster_keep(options, roster, &error);
    if (status == WH_OK)
        fprintf(stderr, "%zu unit%s taken over (%zu new), %zu sensors; %zu unit%s on the roster now\n", tally.units,
                plural(tally.units), tally.new_units, tally.sensors, wh_roster_count(roster),
                plural(wh_roster_count(roster)));
    wh_roster_destroy(&roster);
    wh_roster_destroy(&existing);
    return status == WH_OK ? WH_EXIT_DONE : wh_exit_for(&error);
}

int wh_roster_export(const wh_roster_options *options, const char *path)
{
    wh_roster *roster;
    wh_error error;
    wh_text text = {0};
    wh_status status = wh_roster_open(options, &roster, &error);
    if (status == WH_OK) {
        wh_roster_csv_write(&text, roster, options->unit);
        if (text.failed)
            status = wh_fail(&error, WH_ERR_MEMORY, NULL, "out of memory");
        else if (!path || strcmp(path, "-") == 0)
            fwrite(text.data, 1, text.length, stdout);
        else
            status = wh_file_replace(path, text.data, text.length, &error);
    }
    wh_text_free(&text);
    wh_roster_destroy(&roster);
    if (status == WH_OK)
        return WH_EXIT_DONE;
    wh_exit_for(&error);
    return path && (status == WH_ERR_NOT_FOUND || status == WH_ERR_PERMISSION) ? WH_EXIT_CANT_CREATE
                                                                               : wh_exit_of(status);
}
