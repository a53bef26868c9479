#include "roster_csv.h"

#include "roster_import.h"

#include <stdlib.h>
#include <string.h>

static int by_unit_then_row(const void *a, const void *b)
{
    const wh_import_row *one = a, *other = b;
    const int order = strcmp(one->unit, other->unit);
    return order ? order : (one->row > other->row) - (one->row < other->row);
}

/* The rows that say something, sorted by unit. Unit names come without the blanks around them; they stand in `names`. */
static size_t list_rows(const wh_import *import, wh_import_row *rows, char *names)
{
    size_t count = 0;
    for (size_t row = import->columns.header + 1; row < import->table->row_count; row++) {
        if (wh_csv_row_blank(import->table, row))
            continue;
        char *name = names;
        names += wh_import_trimmed(import, row, WH_COLUMN_UNIT, name) + 1;
        if (*name)
            rows[count++] = (wh_import_row){name, row};
        else
            wh_import_complain(import, row, WH_COLUMN_UNIT, "repeat the unit's name in each of its rows",
                               "the row does not say which unit it belongs to");
    }
    qsort(rows, count, sizeof *rows, by_unit_then_row);
    return count;
}

static int by_sensor_then_row(const void *a, const void *b)
{
    const wh_import_place *one = a, *other = b;
    const int order = strcmp(one->wheel->sensor, other->wheel->sensor);
    return order ? order : (one->row > other->row) - (one->row < other->row);
}

static void warn_twice(const wh_import *import, const wh_import_place *first, const wh_import_place *second)
{
    char here[WH_POSITION_SIZE], there[WH_POSITION_SIZE];
    const size_t row = second->row ? second->row : first->row;
    if (row == 0)
        return; /* neither is in the table: it was so before */
    const int column = import->columns.at[WH_COLUMN_SENSOR];
    wh_csv_warn(import->complaints, (unsigned)row + 1, (unsigned)(column + 1),
                "one of them is wrong: sweep both units, or correct the table",
                "sensor %s is on record at two wheels: %.47s %s and %.47s %s", first->wheel->sensor, first->unit->name,
                wh_position_text(there, first->wheel->position), second->unit->name,
                wh_position_text(here, second->wheel->position));
}

/* The row of the table that named a wheel; 0 (the header, or before it) when none did. */
static size_t row_of(const wh_import *import, const wh_unit *unit, const wh_wheel *wheel)
{
    size_t low = 0, high = import->named_count;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (strcmp(import->named[middle].unit, unit->name) < 0)
            low = middle + 1;
        else
            high = middle;
    }
    for (; low < import->named_count && strcmp(import->named[low].unit, unit->name) == 0; low++) {
        if (wh_position_equal(import->named[low].position, wheel->position))
            return import->named[low].row;
    }
    return 0;
}

/* One sensor on record at two wheels of the roster as it would become. */
static bool find_doubles(const wh_import *import, const wh_roster *roster)
{
    size_t capacity = 0, count = 0;
    for (size_t i = 0; i < wh_roster_count(roster); i++)
        capacity += wh_roster_at(roster, i)->wheel_count;
    wh_import_place *places = calloc(capacity + 1, sizeof *places);
    if (!places)
        return false;
    for (size_t i = 0; i < wh_roster_count(roster); i++) {
        const wh_unit *unit = wh_roster_at(roster, i);
        for (unsigned w = 0; w < unit->wheel_count; w++) {
            if (unit->wheels[w].sensor[0])
                places[count++] = (wh_import_place){unit, &unit->wheels[w], row_of(import, unit, &unit->wheels[w])};
        }
    }
    qsort(places, count, sizeof *places, by_sensor_then_row);
    for (size_t i = 1; i < count; i++) {
        if (strcmp(places[i - 1].wheel->sensor, places[i].wheel->sensor) == 0)
            warn_twice(import, &places[i - 1], &places[i]);
    }
    free(places);
    return true;
}

/* A copy of the roster that was there, to put the table's units into. */
static wh_roster *copy_of(const wh_roster *existing)
{
    wh_roster *roster = wh_roster_create();
    for (size_t i = 0; roster && existing && i < wh_roster_count(existing); i++) {
        if (wh_roster_put(roster, wh_roster_at(existing, i), NULL) != WH_OK)
            wh_roster_destroy(&roster);
    }
    return roster;
}

static wh_status import_rows(wh_import *import, wh_import_row *rows, char *names, wh_roster *roster)
{
    const size_t count = list_rows(import, rows, names);
    wh_import_lengths(import);
    for (size_t first = 0, next; first < count; first = next) {
        for (next = first + 1; next < count && strcmp(rows[next].unit, rows[first].unit) == 0; next++)
            ;
        const wh_status status = wh_import_unit(import, rows + first, next - first, roster);
        if (status != WH_OK)
            return status;
    }
    if (import->complaints->errors == 0 && !find_doubles(import, roster))
        return WH_ERR_MEMORY;
    return WH_OK;
}

static wh_status import_table(wh_import *import, wh_roster **out)
{
    const wh_csv *table = import->table;
    size_t name_bytes = 0;
    for (size_t row = 0; row < table->row_count; row++)
        name_bytes += strlen(wh_csv_at(table, row, (size_t)import->columns.at[WH_COLUMN_UNIT])) + 1;
    wh_import_row *rows = calloc(table->row_count + 1, sizeof *rows);
    import->named = calloc(table->row_count + 1, sizeof *import->named);
    char *names = malloc(name_bytes + 1);
    wh_roster *roster = copy_of(import->existing);
    wh_status status =
        rows && import->named && names && roster ? import_rows(import, rows, names, roster) : WH_ERR_MEMORY;
    if (status == WH_OK && import->complaints->errors > 0)
        status = WH_ERR_DATA;
    if (status != WH_OK)
        wh_roster_destroy(&roster);
    *out = roster;
    free(rows);
    free(import->named);
    free(names);
    return status;
}

wh_status wh_roster_csv_read(const char *text, size_t length, const wh_roster_csv_options *options,
                             const wh_roster *existing, wh_roster **out, wh_roster_csv_tally *tally,
                             wh_csv_complaints *complaints)
{
    *out = NULL;
    *tally = (wh_roster_csv_tally){0};
    wh_csv table;
    wh_status status = wh_csv_read(&table, text, length, complaints);
    if (status == WH_OK) {
        wh_import import = {
            .table = &table, .options = options, .existing = existing, .tally = tally, .complaints = complaints};
        if (wh_roster_columns_read(&table, options->id_base, &import.columns, complaints))
            status = import_table(&import, out);
        else
            status = WH_ERR_DATA;
    }
    wh_csv_free(&table);
    wh_csv_complaints_sort(complaints);
    return complaints->memory_out ? WH_ERR_MEMORY : status;
}
