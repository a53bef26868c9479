#include "csv_print.h"

#include "talk.h"

#include <stdio.h>

void wh_csv_complaints_print(const char *path, const wh_csv_complaints *complaints)
{
    for (size_t i = 0; i < complaints->count; i++) {
        const wh_csv_complaint *item = &complaints->items[i];
        char place[64] = "", cell[32] = "", letters[WH_CSV_LETTERS_SIZE];
        if (item->row > 0 && item->column > 0) {
            snprintf(place, sizeof place, "%u:%u:", item->row, item->column);
            snprintf(cell, sizeof cell, "cell %s%u: ", wh_csv_column_letters(letters, item->column), item->row);
        } else if (item->row > 0) {
            snprintf(place, sizeof place, "%u:", item->row);
        }
        char line[sizeof item->what + 512];
        snprintf(line, sizeof line, "%.300s:%s %s: %s%s", path, place, item->warning ? "warning" : "error", cell,
                 item->what);
        wh_talk("", line);
        if (item->fix[0])
            wh_talk("  ", item->fix);
    }
    const unsigned told = (unsigned)complaints->count, all = complaints->errors + complaints->warnings;
    if (all > told)
        fprintf(stderr, "%s: and %u more\n", path, all - told);
}
