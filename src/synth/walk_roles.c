#include "walk_roles.h"

#include "csv_columns.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

enum { SENSOR, UNIT, DESCRIPTOR, POSITION, PRESSURE, TEMPERATURE, FIELDS, ANSWERS, VISITS, EVERY, COLUMN_COUNT };
static const char *const column_names[COLUMN_COUNT] = {"sensor",      "unit",   "descriptor", "position", "pressure",
                                                       "temperature", "fields", "answers",    "visits",   "every"};
enum { COLUMNS_NEEDED = 3 };

static void read_place(const wh_csv_columns *table, size_t row, wh_walk_role *role)
{
    char text[32];
    wh_csv_cell(table, row, UNIT, role->unit, sizeof role->unit);
    wh_csv_cell(table, row, POSITION, text, sizeof text);
    const bool passes = strcmp(role->unit, "passing") == 0;
    if (!role->unit[0])
        wh_csv_cell_complain(table, row, UNIT, "name the unit, or write passing", "it is not said where the sensor is");
    else if (!passes && !wh_position_parse(text, &role->position))
        wh_csv_cell_complain(table, row, POSITION, "write e.g. 3LO", "'%s' is no wheel position", text);
}

static void read_manner(const wh_csv_columns *table, size_t row, wh_walk_role *role)
{
    char text[32];
    wh_csv_cell(table, row, ANSWERS, text, sizeof text);
    role->answers = strcmp(text, "2") == 0 ? 2 : strcasecmp(text, "never") == 0 ? 0 : 1;
    if (text[0] && strcmp(text, "1") != 0 && role->answers == 1)
        wh_csv_cell_complain(table, row, ANSWERS, "write 1, 2 or never", "'%s' is no waking", text);
    wh_csv_cell(table, row, VISITS, text, sizeof text);
    role->visits = strcmp(text, "2") == 0 ? 2 : 1;
    if (text[0] && strcmp(text, "1") != 0 && role->visits == 1)
        wh_csv_cell_complain(table, row, VISITS, "write 1 or 2", "'%s' is no number of visits", text);
    wh_csv_cell(table, row, EVERY, text, sizeof text);
    if (!text[0])
        return;
    const wh_csv_number_kind kind = wh_csv_number(&table->table, text, &role->every_s);
    if ((kind != WH_CSV_NUMBER && kind != WH_CSV_COMMA_NUMBER) || !(role->every_s >= 0.5 && role->every_s <= 3600.0))
        wh_csv_cell_complain(table, row, EVERY, "write seconds, 0.5 to 3600", "'%s' is no interval", text);
}

static void read_role(const wh_csv_columns *table, size_t row, wh_walk_role *role)
{
    role->row = (unsigned)row + 1;
    wh_csv_cell(table, row, SENSOR, role->sensor, sizeof role->sensor);
    wh_csv_cell(table, row, DESCRIPTOR, role->descriptor, sizeof role->descriptor);
    if (!role->sensor[0])
        wh_csv_cell_complain(table, row, SENSOR, "give its ID", "the sensor has no ID");
    if (!role->descriptor[0])
        wh_csv_cell_complain(table, row, DESCRIPTOR, "\"wheelhark descriptor list\" shows all names",
                             "it is not said what kind of sensor it is");
    wh_csv_cell(table, row, PRESSURE, role->pressure, sizeof role->pressure);
    wh_csv_cell(table, row, TEMPERATURE, role->temperature, sizeof role->temperature);
    wh_csv_cell(table, row, FIELDS, role->fields, sizeof role->fields);
    read_place(table, row, role);
    read_manner(table, row, role);
}

static wh_status read_rows(const wh_csv_columns *table, wh_walk_role **roles, size_t *count)
{
    const size_t rows = table->table.row_count;
    if (rows > WH_WALK_ROLES_MAX) {
        wh_csv_complain(table->complaints, WH_WALK_ROLES_MAX + 1, 0, "divide the yard", "more than %d rows",
                        WH_WALK_ROLES_MAX);
        return WH_ERR_LIMIT;
    }
    *roles = calloc(rows + 1, sizeof **roles);
    if (!*roles)
        return WH_ERR_MEMORY;
    for (size_t row = 1; row < rows; row++)
        if (!wh_csv_row_blank(&table->table, row))
            read_role(table, row, &(*roles)[(*count)++]);
    return table->complaints->errors > 0 ? WH_ERR_DATA : WH_OK;
}

wh_status wh_walk_roles_parse(const char *text, size_t length, wh_walk_role **roles, size_t *count,
                              wh_csv_complaints *complaints)
{
    wh_csv_columns table;
    *roles = NULL;
    *count = 0;
    wh_status status =
        wh_csv_columns_read(&table, text, length, column_names, COLUMN_COUNT, COLUMNS_NEEDED, complaints);
    if (status == WH_OK)
        status = read_rows(&table, roles, count);
    wh_csv_columns_free(&table);
    wh_csv_complaints_sort(complaints);
    if (status != WH_OK) {
        free(*roles);
        *roles = NULL;
        *count = 0;
    }
    return status;
}
