/* Tables as text: RFC 4180, and what spreadsheets make of it. Read: CRLF, LF or CR; a byte order mark; commas,
 * semicolons or tabs, found out from the first row or from a leading "sep=;" line; line ends within quotes. Written:
 * CRLF, commas, quotes where needed.
 *
 * Own code although libcsv exists: libcsv 3.0.3 does not say where a cell stands, hands an empty row and the line feed
 * of a CRLF over alike (so that rows could not be counted as a spreadsheet counts them), puts quotes round every cell
 * it writes, and knows neither byte order marks nor other separators than one told.
 *
 * A spreadsheet runs a cell that begins with = + - @ as a formula. The writer puts an apostrophe before such a text
 * and the reader takes it away again. Apostrophes already there are kept apart by the same rule, so that any text
 * comes back unchanged: ' is added to, and taken from, whatever matches '*[=+-@ tab CR]... */
#ifndef WH_CSV_H
#define WH_CSV_H

#include "text_buffer.h"
#include "wheelhark/status.h"

#include <stdbool.h>
#include <stddef.h>

#define WH_CSV_BYTES_MAX      (4u << 20) /* a file */
#define WH_CSV_ROWS_MAX       200000
#define WH_CSV_COLUMNS_MAX    256
#define WH_CSV_CELL_MAX       4096 /* bytes */
#define WH_CSV_COMPLAINTS_MAX 200  /* more help nobody; they are still counted */

/* What is wrong in a table, and what to do. */
typedef struct wh_csv_complaint {
    unsigned row, column; /* from 1 as a spreadsheet shows them; column 0: the row as a whole; row 0: the file */
    bool warning;         /* else an error */
    char what[240];
    char fix[200]; /* may be empty */
} wh_csv_complaint;

typedef struct wh_csv_complaints {
    wh_csv_complaint *items; /* at most WH_CSV_COMPLAINTS_MAX, in order of place after wh_csv_complaints_sort */
    size_t count, capacity;
    unsigned errors, warnings; /* including those no longer kept */
    bool memory_out;
} wh_csv_complaints; /* zeroed: empty */

void wh_csv_complain(wh_csv_complaints *complaints, unsigned row, unsigned column, const char *fix, const char *format,
                     ...) __attribute__((format(printf, 5, 6)));
void wh_csv_warn(wh_csv_complaints *complaints, unsigned row, unsigned column, const char *fix, const char *format, ...)
    __attribute__((format(printf, 5, 6)));
void wh_csv_complaints_sort(wh_csv_complaints *complaints);
void wh_csv_complaints_free(wh_csv_complaints *complaints);
/* "A".."Z", "AA"..: the letters a spreadsheet shows above column 1, 2, ... Returns `letters`. */
#define WH_CSV_LETTERS_SIZE 8
const char *wh_csv_column_letters(char letters[WH_CSV_LETTERS_SIZE], unsigned column);

typedef struct wh_csv_row {
    size_t first; /* in wh_csv.cells */
    unsigned count;
} wh_csv_row;

typedef struct wh_csv {
    char separator;
    size_t row_count; /* empty rows count: row i of the array is row i + 1 in a spreadsheet */
    wh_csv_row *rows;
    const char **cells; /* UTF-8 without NUL; as they stand, blanks and line ends kept, the formula guard taken away */
    char *bytes;        /* behind `cells` */
} wh_csv;

/* Read a whole table. WH_ERR_DATA when there were errors: they are in `complaints`, all of them, and *table is empty.
 * WH_ERR_FORMAT and WH_ERR_LIMIT (not a table, too large; also complained about), WH_ERR_MEMORY. Free the table. */
wh_status wh_csv_read(wh_csv *table, const char *text, size_t length, wh_csv_complaints *complaints);
void wh_csv_free(wh_csv *table);
/* The cell, or "" when the row is shorter. Both count from 0. */
const char *wh_csv_at(const wh_csv *table, size_t row, size_t column);
/* Nothing but blanks in the row? */
bool wh_csv_row_blank(const wh_csv *table, size_t row);

typedef enum wh_csv_number_kind {
    WH_CSV_NO_NUMBER,
    WH_CSV_NUMBER,
    WH_CSV_COMMA_NUMBER, /* "8,3" or "8,30" in a table without commas as separators: read as 8.3 */
    WH_CSV_COMMA_UNCLEAR /* "1,250": thousand or decimal comma? Not read. Nor any comma in a comma-separated table */
} wh_csv_number_kind;
/* The number a cell holds, blanks around it allowed; *value is set for the middle two. */
wh_csv_number_kind wh_csv_number(const wh_csv *table, const char *cell, double *value);

/* Writing: cells one after the other, then the end of the row. */
typedef struct wh_csv_writer {
    wh_text *out;
    bool begun; /* the row has a cell */
} wh_csv_writer;
/* A text, guarded. */
void wh_csv_put(wh_csv_writer *writer, const char *cell);
/* A number as it is written: "-5" stays a number for the spreadsheet. */
void wh_csv_put_number(wh_csv_writer *writer, const char *number);
void wh_csv_end_row(wh_csv_writer *writer);

#endif
