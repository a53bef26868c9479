/* A small table whose first row names its columns, in any order. */
#ifndef WH_CSV_COLUMNS_H
#define WH_CSV_COLUMNS_H

#include "csv.h"

#define WH_CSV_NAMED_MAX 16

typedef struct wh_csv_columns {
    wh_csv table;
    const char *const *names; /* of the columns that have a meaning; at most WH_CSV_NAMED_MAX */
    unsigned count;
    int at[WH_CSV_NAMED_MAX]; /* where each is; -1: it is not there */
    wh_csv_complaints *complaints;
} wh_csv_columns;

/* Read a table; the first `needed` of the names must be there, columns with other names are warned about and left out. Names
 * are compared without case. Statuses as wh_csv_read; WH_ERR_DATA also when a column is missing or there twice. Call
 * wh_csv_columns_free in any case. */
wh_status wh_csv_columns_read(wh_csv_columns *columns, const char *text, size_t length, const char *const *names,
                              unsigned count, unsigned needed, wh_csv_complaints *complaints);
void wh_csv_columns_free(wh_csv_columns *columns);

/* The cell of a named column without blanks around it, "" when the column is not there; `row` counts from 0, the header being
 * 0. Complains when it does not fit, and gives "" then. Returns `out`. */
const char *wh_csv_cell(const wh_csv_columns *columns, size_t row, unsigned column, char *out, size_t size);
/* An error at that cell, or about the row when the column is not there. */
void wh_csv_cell_complain(const wh_csv_columns *columns, size_t row, unsigned column, const char *fix,
                          const char *format, ...) __attribute__((format(printf, 5, 6)));

#endif
