#include "csv_columns.h"

#include <stdio.h>
#include <string.h>
#include <strings.h>

static size_t trimmed(const char **text)
{
    *text += strspn(*text, " \t");
    size_t length = strlen(*text);
    while (length > 0 && strchr(" \t", (*text)[length - 1]))
        length--;
    return length;
}

static void take_name(wh_csv_columns *columns, unsigned place)
{
    const char *name = wh_csv_at(&columns->table, 0, place);
    const size_t length = trimmed(&name);
    for (unsigned i = 0; i < columns->count; i++) {
        if (strlen(columns->names[i]) != length || strncasecmp(columns->names[i], name, length) != 0)
            continue;
        if (columns->at[i] >= 0)
            wh_csv_complain(columns->complaints, 1, place + 1, "leave one of them out", "column '%s' is there twice",
                            columns->names[i]);
        columns->at[i] = (int)place;
        return;
    }
    if (length > 0)
        wh_csv_warn(columns->complaints, 1, place + 1, "", "column '%.*s' has no meaning here and is left out",
                    length < 60 ? (int)length : 60, name);
}

wh_status wh_csv_columns_read(wh_csv_columns *columns, const char *text, size_t length, const char *const *names,
                              unsigned count, unsigned needed, wh_csv_complaints *complaints)
{
    *columns = (wh_csv_columns){.names = names, .count = count, .complaints = complaints};
    for (unsigned i = 0; i < WH_CSV_NAMED_MAX; i++)
        columns->at[i] = -1;
    const wh_status status = wh_csv_read(&columns->table, text, length, complaints);
    if (status != WH_OK)
        return status;
    for (unsigned place = 0; columns->table.row_count > 0 && place < columns->table.rows[0].count; place++)
        take_name(columns, place);
    for (unsigned i = 0; i < needed; i++)
        if (columns->at[i] < 0)
            wh_csv_complain(complaints, 1, 0, "name the columns in the first row", "column '%s' is missing", names[i]);
    return complaints->errors > 0 ? WH_ERR_DATA : WH_OK;
}

void wh_csv_columns_free(wh_csv_columns *columns)
{
    wh_csv_free(&columns->table);
}

const char *wh_csv_cell(const wh_csv_columns *columns, size_t row, unsigned column, char *out, size_t size)
{
    const char *text = columns->at[column] < 0 ? "" : wh_csv_at(&columns->table, row, (size_t)columns->at[column]);
    size_t length = trimmed(&text);
    if (length >= size) {
        wh_csv_cell_complain(columns, row, column, "shorten it", "more than %zu characters", size - 1);
        length = 0;
    }
    memcpy(out, text, length);
    out[length] = '\0';
    return out;
}

void wh_csv_cell_complain(const wh_csv_columns *columns, size_t row, unsigned column, const char *fix,
                          const char *format, ...)
{
    char what[240];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(what, sizeof what, format, arguments);
    va_end(arguments);
    wh_csv_complain(columns->complaints, (unsigned)row + 1, (unsigned)(columns->at[column] + 1), fix, "%s", what);
}
