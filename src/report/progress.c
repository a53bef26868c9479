#include "progress.h"

#include <string.h>

enum { BAR = 30, TAIL = 8 }; /* TAIL: "] 100 %" and a blank in front */

static void put_name(wh_text *text, const char *name, unsigned columns)
{
    const size_t length = strlen(name);
    const char *part = length > columns ? name + (length - columns) : name;
    while (((unsigned char)*part & 0xC0) == 0x80) /* not into the middle of a character */
        part++;
    for (; *part; part++)
        wh_text_add_bytes(text, (unsigned char)*part < 0x20 || *part == 0x7F ? "?" : part, 1);
}

void wh_progress_line(wh_text *text, const char *name, uint64_t done, uint64_t total, unsigned columns)
{
    columns = columns < 20 ? 20 : columns > 500 ? 500 : columns;
    if (total == 0) {
        put_name(text, name, columns);
        return;
    }
    const double share = done >= total ? 1.0 : (double)done / (double)total;
    const unsigned bar = columns >= 2 * BAR + TAIL ? BAR : 0;
    put_name(text, name, columns - TAIL - bar - (bar ? 2 : 0));
    if (bar) {
        wh_text_add(text, " [");
        const unsigned filled = (unsigned)(share * bar);
        for (unsigned i = 0; i < bar; i++)
            wh_text_add(text, i < filled ? "#" : ".");
        wh_text_add(text, "]");
    }
    wh_text_print(text, " %3u %%", (unsigned)(share * 100));
}
