#include "csv.h"
#include "utf8.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

__attribute__((format(printf, 6, 0))) static void add(wh_csv_complaints *complaints, bool warning, unsigned row,
                                                      unsigned column, const char *fix, const char *format,
                                                      va_list arguments)
{
    unsigned *counter = warning ? &complaints->warnings : &complaints->errors;
    ++*counter;
    if (complaints->count == WH_CSV_COMPLAINTS_MAX)
        return;
    if (complaints->count == complaints->capacity) {
        const size_t capacity = complaints->capacity ? 2 * complaints->capacity : 16;
        wh_csv_complaint *items = realloc(complaints->items, capacity * sizeof *items);
        if (!items) {
            complaints->memory_out = true;
            return;
        }
        complaints->items = items;
        complaints->capacity = capacity;
    }
    wh_csv_complaint *item = &complaints->items[complaints->count++];
    *item = (wh_csv_complaint){.row = row, .column = column, .warning = warning};
    vsnprintf(item->what, sizeof item->what, format, arguments);
    wh_utf8_trim(item->what);
    snprintf(item->fix, sizeof item->fix, "%s", fix ? fix : "");
}

void wh_csv_complain(wh_csv_complaints *complaints, unsigned row, unsigned column, const char *fix, const char *format,
                     ...)
{
    va_list arguments;
    va_start(arguments, format);
    add(complaints, false, row, column, fix, format, arguments);
    va_end(arguments);
}

void wh_csv_warn(wh_csv_complaints *complaints, unsigned row, unsigned column, const char *fix, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    add(complaints, true, row, column, fix, format, arguments);
    va_end(arguments);
}

/* By place; of one place, as they came (insertion sort: they come nearly in order, and are few). */
void wh_csv_complaints_sort(wh_csv_complaints *complaints)
{
    for (size_t i = 1; i < complaints->count; i++) {
        const wh_csv_complaint item = complaints->items[i];
        size_t place = i;
        for (; place > 0; place--) {
            const wh_csv_complaint *before = &complaints->items[place - 1];
            if (before->row < item.row || (before->row == item.row && before->column <= item.column))
                break;
            complaints->items[place] = *before;
        }
        complaints->items[place] = item;
    }
}

void wh_csv_complaints_free(wh_csv_complaints *complaints)
{
    free(complaints->items);
    *complaints = (wh_csv_complaints){0};
}

const char *wh_csv_column_letters(char letters[WH_CSV_LETTERS_SIZE], unsigned column)
{
    /* Digits 1..26 to the base 26, the last one first. */
    char *place = letters + WH_CSV_LETTERS_SIZE - 1;
    *place = '\0';
    for (; column > 0 && place > letters; column = (column - 1) / 26)
        *--place = (char)('A' + (column - 1) % 26);
    for (size_t i = 0;; i++) {
        letters[i] = place[i];
        if (letters[i] == '\0')
            return letters;
    }
}
