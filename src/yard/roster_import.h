/* Inside the reading of roster tables: what is known while the rows are gone through. */
#ifndef WH_ROSTER_IMPORT_H
#define WH_ROSTER_IMPORT_H

#include "roster_columns.h"
#include "roster_csv.h"

/* A row and the unit it names. */
typedef struct wh_import_row {
    const char *unit;
    size_t row; /* of the table, from 0 */
} wh_import_row;

/* A wheel a row names. */
typedef struct wh_import_named {
    const char *unit;
    wh_position position;
    size_t row;
} wh_import_named;

/* A sensor on record. */
typedef struct wh_import_place {
    const wh_unit *unit;
    const wh_wheel *wheel;
    size_t row; /* 0: not in the table */
} wh_import_place;

typedef struct wh_import {
    const wh_csv *table;
    wh_roster_columns columns;
    const wh_roster_csv_options *options;
    const wh_roster *existing; /* or NULL */
    wh_roster_csv_tally *tally;
    wh_csv_complaints *complaints;
    wh_import_named *named; /* wheels of the units read so far, in order of unit, row */
    size_t named_count;
    size_t usual_digits; /* of the table's hex IDs */
    bool comma_told;
} wh_import;

/* The cell of a column, "" when the table has no such column. */
const char *wh_import_cell(const wh_import *import, size_t row, wh_roster_column column);
/* ... without blanks around it, copied to `out` (as long as the cell, and a NUL). Returns the length. */
size_t wh_import_trimmed(const wh_import *import, size_t row, wh_roster_column column, char *out);
void wh_import_complain(const wh_import *import, size_t row, wh_roster_column column, const char *fix,
                        const char *format, ...) __attribute__((format(printf, 5, 6)));
void wh_import_warn(const wh_import *import, size_t row, wh_roster_column column, const char *fix, const char *format,
                    ...) __attribute__((format(printf, 5, 6)));

/* A free text of at most `size` - 1 bytes: line ends and other control characters become blanks, with a warning. */
void wh_import_note(const wh_import *import, size_t row, wh_roster_column column, char *out, size_t size);
/* A number; false after a complaint, or when the cell is empty (then *empty is set). */
bool wh_import_number(wh_import *import, size_t row, wh_roster_column column, double *value, bool *empty);
/* How long the table's hex IDs usually are. */
void wh_import_lengths(wh_import *import);
/* Everything a row says about its wheel. */
void wh_import_wheel(wh_import *import, size_t row, wh_wheel *wheel);
/* All rows of one unit, put into the roster unless there were errors. */
wh_status wh_import_unit(wh_import *import, const wh_import_row *rows, size_t count, wh_roster *roster);

#endif
