/* Single cells of a roster table. */
#include "roster_import.h"

#include "utf8.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

const char *wh_import_cell(const wh_import *import, size_t row, wh_roster_column column)
{
    const int at = import->columns.at[column];
    return at < 0 ? "" : wh_csv_at(import->table, row, (size_t)at);
}

static const char *trim(const char *text, size_t *length)
{
    static const char blanks[] = " \t\r\n";
    text += strspn(text, blanks);
    *length = strlen(text);
    while (*length > 0 && strchr(blanks, text[*length - 1]))
        --*length;
    return text;
}

size_t wh_import_trimmed(const wh_import *import, size_t row, wh_roster_column column, char *out)
{
    size_t length;
    const char *cell = trim(wh_import_cell(import, row, column), &length);
    memcpy(out, cell, length);
    out[length] = '\0';
    return length;
}

__attribute__((format(printf, 6, 0))) static void tell(const wh_import *import, bool warning, size_t row,
                                                       wh_roster_column column, const char *fix, const char *format,
                                                       va_list arguments)
{
    char what[sizeof((wh_csv_complaint *)0)->what];
    const unsigned number = (unsigned)(import->columns.at[column] + 1);
    vsnprintf(what, sizeof what, format, arguments);
    if (warning)
        wh_csv_warn(import->complaints, (unsigned)row + 1, number, fix, "%s", what);
    else
        wh_csv_complain(import->complaints, (unsigned)row + 1, number, fix, "%s", what);
}

void wh_import_complain(const wh_import *import, size_t row, wh_roster_column column, const char *fix,
                        const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    tell(import, false, row, column, fix, format, arguments);
    va_end(arguments);
}

void wh_import_warn(const wh_import *import, size_t row, wh_roster_column column, const char *fix, const char *format,
                    ...)
{
    va_list arguments;
    va_start(arguments, format);
    tell(import, true, row, column, fix, format, arguments);
    va_end(arguments);
}

void wh_import_note(const wh_import *import, size_t row, wh_roster_column column, char *out, size_t size)
{
    char text[WH_CSV_CELL_MAX + 1];
    bool changed;
    const size_t length = wh_utf8_line(wh_import_cell(import, row, column), text, &changed); /* UTF-8: it was read */
    if (length >= size)
        wh_import_complain(import, row, column, "make it shorter", "the %s has %zu bytes, %zu at most",
                           wh_roster_column_name(column), length, size - 1);
    else
        memcpy(out, text, length + 1);
    if (changed)
        wh_import_warn(import, row, column, NULL, "line ends or tabs in the %s became blanks",
                       wh_roster_column_name(column));
}

bool wh_import_number(wh_import *import, size_t row, wh_roster_column column, double *value, bool *empty)
{
    const char *cell = wh_import_cell(import, row, column);
    size_t length;
    *empty = (trim(cell, &length), length == 0);
    if (*empty)
        return false;
    switch (wh_csv_number(import->table, cell, value)) {
    case WH_CSV_NUMBER: return true;
    case WH_CSV_COMMA_NUMBER:
        if (!import->comma_told)
            wh_import_warn(import, row, column, NULL, "commas in numbers are read as decimal points: '%.20s' is %g",
                           cell, *value);
        import->comma_told = true;
        return true;
    case WH_CSV_COMMA_UNCLEAR:
        wh_import_complain(import, row, column, "write numbers with a decimal point and nothing else, e.g. 8.3",
                           "'%.30s': is the comma for decimals or for thousands?", cell);
        return false;
    case WH_CSV_NO_NUMBER: break;
    }
    wh_import_complain(import, row, column, "the unit belongs into the column's name, the cell holds the number alone",
                       "'%.30s' is no number", cell);
    return false;
}
