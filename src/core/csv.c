#include "csv.h"

#include "decimal.h"
#include "utf8.h"

#include <stdlib.h>
#include <string.h>

typedef struct reading {
    wh_csv *table;
    wh_csv_complaints *complaints;
    const char *at, *end; /* what is still to be read */
    char *store;          /* where the next cell's bytes go */
    size_t row_capacity, cell_count, cell_capacity;
    unsigned column; /* of the cell being read, from 1 */
    bool too_wide;   /* said once for a row */
} reading;

/* A text that a spreadsheet would run, but for apostrophes in front. */
static bool is_formula(const char *text)
{
    text += strspn(text, "'");
    return *text != '\0' && strchr("=+-@\t\r", *text) != NULL;
}

static unsigned row_number(const reading *r)
{
    return (unsigned)r->table->row_count + 1;
}

/* An array grown by doubling; NULL (and the old one kept) when memory is out. */
static void *grown(void *array, size_t *capacity, size_t item)
{
    const size_t wanted = *capacity ? 2 * *capacity : 64;
    void *larger = realloc(array, wanted * item);
    if (larger)
        *capacity = wanted;
    return larger;
}

static wh_status add_cell(reading *r, const char *cell)
{
    if (r->column > WH_CSV_COLUMNS_MAX) {
        if (!r->too_wide)
            wh_csv_complain(r->complaints, row_number(r), r->column, "delete the columns that are not needed",
                            "more than %d columns", WH_CSV_COLUMNS_MAX);
        r->too_wide = true;
        return WH_OK;
    }
    if (r->cell_count == r->cell_capacity) {
        const char **cells = grown(r->table->cells, &r->cell_capacity, sizeof *cells);
        if (!cells)
            return WH_ERR_MEMORY;
        r->table->cells = cells;
    }
    r->table->cells[r->cell_count++] = cell;
    return WH_OK;
}

/* Check the stored cell as a whole, take the formula guard away, and close it. */
static wh_status finish_cell(reading *r, char *cell)
{
    *r->store++ = '\0';
    if (*cell == '\'' && is_formula(cell))
        cell++;
    const size_t length = (size_t)(r->store - cell) - 1;
    if (length > WH_CSV_CELL_MAX)
        wh_csv_complain(r->complaints, row_number(r), r->column, "is a quote missing somewhere before?",
                        "a cell of %zu bytes, %d at most", length, WH_CSV_CELL_MAX);
    for (size_t i = 0; i < length;) {
        const size_t bytes = wh_utf8_length(cell + i, length - i);
        if (bytes == 0 || cell[i] == '\0') {
            wh_csv_complain(r->complaints, row_number(r), r->column, "save the table as \"CSV UTF-8\"",
                            "a character that is not UTF-8 text");
            break;
        }
        i += bytes;
    }
    return add_cell(r, cell);
}

static bool at_cell_end(const reading *r)
{
    return r->at == r->end || *r->at == r->table->separator || *r->at == '\r' || *r->at == '\n';
}

/* The quoted part of a cell; r->at stands behind the opening quote. */
static void read_quoted(reading *r)
{
    while (r->at < r->end) {
        if (*r->at != '"') {
            *r->store++ = *r->at++;
        } else if (r->at + 1 < r->end && r->at[1] == '"') {
            *r->store++ = '"';
            r->at += 2;
        } else {
            r->at++;
            return;
        }
    }
    wh_csv_complain(r->complaints, row_number(r), r->column, "close it; a quote within a cell is written twice",
                    "the quote at the start of this cell is never closed");
}

static wh_status read_cell(reading *r)
{
    char *cell = r->store;
    const char *start = r->at;
    while (r->at < r->end && *r->at == ' ')
        r->at++;
    const bool quoted = r->at < r->end && *r->at == '"';
    if (quoted && r->at > start)
        wh_csv_complain(r->complaints, row_number(r), r->column, "delete the blank", "a blank before the quote");
    if (quoted) {
        r->at++;
        read_quoted(r);
        if (!at_cell_end(r))
            wh_csv_complain(r->complaints, row_number(r), r->column, "write a quote within a quoted cell twice",
                            "text behind the closing quote");
    } else {
        r->at = start;
    }
    while (!at_cell_end(r))
        *r->store++ = *r->at++;
    return finish_cell(r, cell);
}

static void skip_line_end(reading *r)
{
    if (r->at < r->end && *r->at == '\r')
        r->at += r->at + 1 < r->end && r->at[1] == '\n' ? 2 : 1;
    else if (r->at < r->end)
        r->at++;
}

static wh_status read_row(reading *r)
{
    const size_t first = r->cell_count;
    r->column = 0;
    r->too_wide = false;
    for (bool more = true; more;) {
        r->column++;
        const wh_status status = read_cell(r);
        if (status != WH_OK)
            return status;
        more = r->at < r->end && *r->at == r->table->separator;
        if (more)
            r->at++;
    }
    skip_line_end(r);
    if (r->table->row_count == r->row_capacity) {
        wh_csv_row *rows = grown(r->table->rows, &r->row_capacity, sizeof *rows);
        if (!rows)
            return WH_ERR_MEMORY;
        r->table->rows = rows;
    }
    r->table->rows[r->table->row_count++] = (wh_csv_row){first, (unsigned)(r->cell_count - first)};
    return WH_OK;
}

/* The separator is what stands most often outside of quotes in the first row that has any; of equals, and when there
 * is none, the comma. */
static char guess_separator(const char *text, const char *end)
{
    static const char candidates[] = {',', ';', '\t'};
    unsigned counts[sizeof candidates] = {0};
    unsigned best = 0;
    bool quoted = false;
    for (; text < end; text++) {
        if (*text == '"')
            quoted = !quoted;
        if (quoted)
            continue;
        for (unsigned i = 0; i < sizeof candidates; i++)
            counts[i] += *text == candidates[i];
        if ((*text == '\n' || *text == '\r') && counts[0] + counts[1] + counts[2] > 0)
            break;
    }
    for (unsigned i = 1; i < sizeof candidates; i++)
        best = counts[i] > counts[best] ? i : best;
    return candidates[best];
}

/* "sep=;" alone on the first line is some spreadsheets' way to say the separator; they do not count the line. */
static void find_separator(reading *r)
{
    const size_t left = (size_t)(r->end - r->at);
    if (left >= 5 && memcmp(r->at, "sep=", 4) == 0 && strchr(",;\t", r->at[4]) != NULL && r->at[4] != '\0' &&
        (left == 5 || r->at[5] == '\r' || r->at[5] == '\n')) {
        r->table->separator = r->at[4];
        r->at += 5;
        skip_line_end(r);
        return;
    }
    r->table->separator = guess_separator(r->at, r->end);
}

/* Files that are no text at all, told apart by how they begin. */
static wh_status refuse_foreign(const char *text, size_t length, wh_csv_complaints *complaints)
{
    static const char save[] = "open it in the spreadsheet and save it as \"CSV UTF-8\"";
    if (length > WH_CSV_BYTES_MAX) {
        wh_csv_complain(complaints, 0, 0, "split the table", "%zu bytes, %u at most", length, WH_CSV_BYTES_MAX);
        return WH_ERR_LIMIT;
    }
    if (length >= 4 && (memcmp(text, "PK\x03\x04", 4) == 0 || memcmp(text, "\xD0\xCF\x11\xE0", 4) == 0)) {
        wh_csv_complain(complaints, 0, 0, save, "this is a spreadsheet's own file, not a CSV table");
        return WH_ERR_FORMAT;
    }
    if (length >= 2 && (memcmp(text, "\xFF\xFE", 2) == 0 || memcmp(text, "\xFE\xFF", 2) == 0)) {
        wh_csv_complain(complaints, 0, 0, save, "this is UTF-16 text");
        return WH_ERR_FORMAT;
    }
    return WH_OK;
}

wh_status wh_csv_read(wh_csv *table, const char *text, size_t length, wh_csv_complaints *complaints)
{
    *table = (wh_csv){.separator = ','};
    wh_status status = refuse_foreign(text, length, complaints);
    if (status != WH_OK)
        return status;
    const unsigned errors = complaints->errors;
    reading r = {.table = table, .complaints = complaints, .at = text, .end = text + length};
    if (length >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0)
        r.at += 3;
    find_separator(&r);
    /* A cell's bytes are never more than its text, and the separator or line end behind it makes room for the NUL. */
    r.store = table->bytes = malloc(length + 1);
    if (!table->bytes)
        status = WH_ERR_MEMORY;
    while (status == WH_OK && r.at < r.end) {
        if (table->row_count == WH_CSV_ROWS_MAX) {
            wh_csv_complain(complaints, row_number(&r), 0, "split the table", "more than %d rows", WH_CSV_ROWS_MAX);
            status = WH_ERR_LIMIT;
        } else {
            status = read_row(&r);
        }
    }
    if (status == WH_OK && complaints->errors > errors)
        status = WH_ERR_DATA;
    if (status != WH_OK)
        wh_csv_free(table);
    return status;
}

void wh_csv_free(wh_csv *table)
{
    free(table->rows);
    free(table->cells);
    free(table->bytes);
    *table = (wh_csv){.separator = table->separator};
}

const char *wh_csv_at(const wh_csv *table, size_t row, size_t column)
{
    if (row >= table->row_count || column >= table->rows[row].count)
        return "";
    return table->cells[table->rows[row].first + column];
}

bool wh_csv_row_blank(const wh_csv *table, size_t row)
{
    for (size_t column = 0; column < table->rows[row].count; column++) {
        const char *cell = wh_csv_at(table, row, column);
        if (cell[strspn(cell, " \t\r\n")] != '\0')
            return false;
    }
    return true;
}

/* How many digits follow the decimal comma at text[*comma]; 0 when `text` is not digits, comma, digits. */
static size_t digits_after_comma(const char *text, size_t *comma)
{
    const size_t sign = *text == '+' || *text == '-';
    *comma = sign + strspn(text + sign, "0123456789");
    if (*comma == sign || text[*comma] != ',')
        return 0;
    const size_t after = strspn(text + *comma + 1, "0123456789");
    const char *rest = text + *comma + 1 + after;
    return rest[strspn(rest, " ")] == '\0' ? after : 0;
}

wh_csv_number_kind wh_csv_number(const wh_csv *table, const char *cell, double *value)
{
    double number;
    cell += strspn(cell, " ");
    const size_t used = wh_decimal_read(cell, &number);
    if (used > 0 && cell[used + strspn(cell + used, " ")] == '\0') {
        *value = number;
        return WH_CSV_NUMBER;
    }
    if (!strchr(cell, ',') || cell[strspn(cell, "+-0123456789., ")] != '\0' || !strpbrk(cell, "0123456789"))
        return WH_CSV_NO_NUMBER;
    size_t comma;
    char copy[32];
    const size_t after = digits_after_comma(cell, &comma);
    if (table->separator == ',' || after == 0 || after > 2 || comma + 1 + after >= sizeof copy)
        return WH_CSV_COMMA_UNCLEAR;
    memcpy(copy, cell, comma + 1 + after);
    copy[comma + 1 + after] = '\0';
    copy[comma] = '.';
    wh_decimal_read(copy, value);
    return WH_CSV_COMMA_NUMBER;
}

static void put(wh_csv_writer *writer, const char *guard, const char *cell)
{
    if (writer->begun)
        wh_text_add(writer->out, ",");
    writer->begun = true;
    const size_t length = strlen(cell);
    /* Blanks at the ends are quoted for readers that would strip them, semicolons and tabs so that nobody takes them
     * for the separator. */
    const bool quoted = strpbrk(cell, ",;\t\"\r\n") || *cell == ' ' || (length > 0 && cell[length - 1] == ' ');
    wh_text_add(writer->out, quoted ? "\"" : "");
    wh_text_add(writer->out, guard);
    for (const char *part = cell; *part;) {
        const size_t plain = strcspn(part, "\"");
        wh_text_add_bytes(writer->out, part, plain);
        part += plain;
        if (*part == '"') {
            wh_text_add(writer->out, "\"\"");
            part++;
        }
    }
    wh_text_add(writer->out, quoted ? "\"" : "");
}

void wh_csv_put(wh_csv_writer *writer, const char *cell)
{
    put(writer, is_formula(cell) ? "'" : "", cell);
}

void wh_csv_put_number(wh_csv_writer *writer, const char *number)
{
    put(writer, "", number);
}

void wh_csv_end_row(wh_csv_writer *writer)
{
    wh_text_add(writer->out, "\r\n");
    writer->begun = false;
}
