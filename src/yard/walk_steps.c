#include "walk_steps.h"

#include "csv_columns.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { OFFSET, ACTION, UNIT, POSITION, SENSOR, COLUMN_COUNT };
static const char *const column_names[COLUMN_COUNT] = {"offset_s", "action", "unit", "position", "sensor"};

static const wh_event_kind actions[] = {WH_EVENT_STAND,  WH_EVENT_LEAVE,    WH_EVENT_WOKEN, WH_EVENT_BIND,
                                        WH_EVENT_UNBIND, WH_EVENT_REPAIRED, WH_EVENT_END};

static void read_action(const wh_csv_columns *table, size_t row, wh_walk_step *step)
{
    char text[32];
    wh_csv_cell(table, row, ACTION, text, sizeof text);
    for (char *c = text; *c; c++)
        *c = (char)tolower((unsigned char)*c);
    for (size_t i = 0; i < sizeof actions / sizeof *actions; i++)
        if (strcmp(text, wh_event_kind_name(actions[i])) == 0) {
            step->action = actions[i];
            return;
        }
    wh_csv_cell_complain(table, row, ACTION, "write stand, leave, woken, bind, unbind, repaired or end",
                         "'%s' is no action", text);
}

static void read_offset(const wh_csv_columns *table, size_t row, double least, wh_walk_step *step)
{
    char text[64];
    double value = 0.0;
    wh_csv_cell(table, row, OFFSET, text, sizeof text);
    const wh_csv_number_kind kind = wh_csv_number(&table->table, text, &value);
    if (kind != WH_CSV_NUMBER && kind != WH_CSV_COMMA_NUMBER)
        wh_csv_cell_complain(table, row, OFFSET, "write seconds, e.g. 12.5", "'%s' is no time", text);
    else if (!(value >= 0.0 && value <= WH_WALK_OFFSET_MAX_S))
        wh_csv_cell_complain(table, row, OFFSET, "write seconds from the start of the first recording",
                             "'%s' is out of range", text);
    else if (value < least)
        wh_csv_cell_complain(table, row, OFFSET, "put the rows in order of time", "'%s' is earlier than the row above",
                             text);
    else
        step->offset_s = value;
}

static void read_names(const wh_csv_columns *table, size_t row, const char *unit_above, wh_walk_step *step)
{
    char text[32];
    wh_csv_cell(table, row, UNIT, step->unit, sizeof step->unit);
    if (!step->unit[0])
        snprintf(step->unit, sizeof step->unit, "%s", unit_above);
    wh_csv_cell(table, row, POSITION, text, sizeof text);
    if (text[0] && !wh_position_parse(text, &step->position))
        wh_csv_cell_complain(table, row, POSITION, "write e.g. 3LO", "'%s' is no wheel position", text);
    if (step->action == WH_EVENT_STAND && !text[0])
        wh_csv_cell_complain(table, row, POSITION, "say at which wheel, e.g. 3LO", "'stand' without a position");
    wh_csv_cell(table, row, SENSOR, step->sensor, sizeof step->sensor);
    for (char *c = step->sensor; *c; c++)
        *c = (char)toupper((unsigned char)*c);
    if (step->action == WH_EVENT_BIND && !step->sensor[0])
        wh_csv_cell_complain(table, row, SENSOR, "say which sensor", "'bind' without a sensor");
}

static wh_status read_rows(const wh_csv_columns *table, wh_walk_step **steps, size_t *count)
{
    const size_t rows = table->table.row_count;
    if (rows > WH_WALK_STEPS_MAX) {
        wh_csv_complain(table->complaints, WH_WALK_STEPS_MAX + 1, 0, "divide the walk", "more than %d rows",
                        WH_WALK_STEPS_MAX);
        return WH_ERR_LIMIT;
    }
    wh_walk_step *list = calloc(rows + 1, sizeof *list);
    if (!list)
        return WH_ERR_MEMORY;
    *steps = list;
    for (size_t row = 1; row < rows; row++) {
        if (wh_csv_row_blank(&table->table, row))
            continue;
        wh_walk_step *step = &list[*count];
        step->row = (unsigned)row + 1;
        read_action(table, row, step);
        read_offset(table, row, *count ? step[-1].offset_s : 0.0, step);
        read_names(table, row, *count ? step[-1].unit : "", step);
        ++*count;
    }
    return table->complaints->errors > 0 ? WH_ERR_DATA : WH_OK;
}

wh_status wh_walk_steps_parse(const char *text, size_t length, wh_walk_step **steps, size_t *count,
                              wh_csv_complaints *complaints)
{
    wh_csv_columns table;
    *steps = NULL;
    *count = 0;
    wh_status status = wh_csv_columns_read(&table, text, length, column_names, COLUMN_COUNT, 2, complaints);
    if (status == WH_OK)
        status = read_rows(&table, steps, count);
    wh_csv_columns_free(&table);
    wh_csv_complaints_sort(complaints);
    if (status != WH_OK) {
        free(*steps);
        *steps = NULL;
        *count = 0;
    }
    return status;
}

void wh_walk_steps_text(wh_text *text, const wh_walk_step *steps, size_t count)
{
    wh_csv_writer writer = {.out = text};
    for (int what = 0; what < COLUMN_COUNT; what++)
        wh_csv_put(&writer, column_names[what]);
    wh_csv_end_row(&writer);
    for (size_t i = 0; i < count; i++) {
        char number[WH_FIXED_SIZE], position[WH_POSITION_SIZE];
        wh_csv_put_number(&writer, wh_plain(number, steps[i].offset_s, 6));
        wh_csv_put(&writer, wh_event_kind_name(steps[i].action));
        wh_csv_put(&writer, steps[i].unit);
        wh_csv_put(&writer, steps[i].position.axle ? wh_position_text(position, steps[i].position) : "");
        wh_csv_put(&writer, steps[i].sensor);
        wh_csv_end_row(&writer);
    }
}
