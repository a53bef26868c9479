#include "text_check.h"
#include "utf8.h"

#include <stdint.h>

/* Characters that YAML 1.1 takes for line ends or does not allow at all. Refusing the rare line ends keeps the line
 * numbers those of every editor. */
static bool is_forbidden(uint32_t point)
{
    return (point < 0x20 && point != '\t' && point != '\n' && point != '\r') || (point >= 0x7F && point < 0xA0) ||
           point == 0x2028 || point == 0x2029 || point == 0xFEFF || point == 0xFFFE || point == 0xFFFF;
}

static void complain_about_point(wh_complaints *complaints, wh_span where, uint32_t point)
{
    if (point == 0)
        wh_complain(complaints, where, "the file may be binary, or saved as UTF-16: save it as UTF-8",
                    "a zero byte does not belong into a text");
    else if (point == '\r')
        wh_complain(complaints, where, "end lines with LF or CR LF", "a carriage return without a line feed");
    else
        wh_complain(complaints, where, "remove it", "the character U+%04X is not allowed", (unsigned)point);
}

bool wh_text_check(wh_complaints *complaints)
{
    const char *const text = complaints->text;
    const unsigned errors_before = complaints->errors;
    wh_span where = {{1, 1}, 1};
    bool indentation = true;
    for (size_t i = 0; i < complaints->length && complaints->errors < WH_COMPLAINTS_MAX;) {
        const size_t bytes = wh_utf8_length(text + i, complaints->length - i);
        if (bytes == 0) {
            wh_complain(complaints, where, "save the file as UTF-8", "the byte 0x%02X is not UTF-8 text",
                        (unsigned)(unsigned char)text[i]);
            return false; /* what follows is probably in the same other encoding */
        }
        const uint32_t point = wh_utf8_point(text + i, bytes);
        const bool lone_return = point == '\r' && (i + 1 >= complaints->length || text[i + 1] != '\n');
        if (lone_return || is_forbidden(point))
            complain_about_point(complaints, where, point);
        else if (point == '\t' && indentation)
            wh_complain(complaints, where, "use spaces", "a tab in the indentation");
        indentation = point == '\n' || (indentation && point == ' ');
        where.at.column++;
        if (point == '\n')
            where.at = (wh_mark){where.at.line + 1, 1};
        i += bytes;
    }
    return complaints->errors == errors_before;
}
