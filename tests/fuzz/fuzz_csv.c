/* Any bytes as a table: no crash, no hang; what is accepted comes back unchanged when it is written and read again. */
#include "csv.h"
#include "fuzz_target.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void insist(bool holds, const char *what)
{
    if (!holds) {
        fprintf(stderr, "broken promise: %s\n", what);
        abort();
    }
}

/* A first row of commas, so that the separator of what follows is beyond doubt. */
static void write_again(const wh_csv *table, wh_text *out)
{
    wh_csv_writer writer = {out, false};
    for (int i = 0; i < 2; i++)
        wh_csv_put(&writer, "header");
    wh_csv_end_row(&writer);
    for (size_t row = 0; row < table->row_count; row++) {
        for (size_t column = 0; column < table->rows[row].count; column++)
            wh_csv_put(&writer, wh_csv_at(table, row, column));
        wh_csv_end_row(&writer);
    }
}

static void compare(const wh_csv *table, const wh_csv *again)
{
    insist(again->row_count == table->row_count + 1, "as many rows");
    for (size_t row = 0; row < table->row_count; row++) {
        insist(again->rows[row + 1].count == table->rows[row].count, "as many cells");
        for (size_t column = 0; column < table->rows[row].count; column++)
            insist(strcmp(wh_csv_at(table, row, column), wh_csv_at(again, row + 1, column)) == 0, "the same cell");
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    wh_csv table, again;
    wh_csv_complaints complaints = {0};
    const wh_status status = wh_csv_read(&table, (const char *)data, size, &complaints);
    insist((status != WH_OK) == (complaints.errors > 0), "a refusal says why");
    if (status == WH_OK) {
        wh_text out = {0};
        write_again(&table, &out);
        /* Guards and quotes can make the text longer than a table may be. */
        if (out.length < WH_CSV_BYTES_MAX && wh_csv_read(&again, out.data, out.length, &complaints) == WH_OK) {
            compare(&table, &again);
            wh_csv_free(&again);
        } else {
            insist(out.length >= WH_CSV_BYTES_MAX || table.row_count >= WH_CSV_ROWS_MAX - 1,
                   "what is written can be read");
        }
        wh_text_free(&out);
    }
    wh_csv_free(&table);
    wh_csv_complaints_sort(&complaints);
    wh_csv_complaints_free(&complaints);
    return 0;
}
