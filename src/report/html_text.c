#include "html_text.h"

#include "utf8.h"

#include <string.h>

static void add_character(wh_text *text, const char *p, size_t bytes)
{
    switch (*p) {
    case '&': wh_text_add(text, "&amp;"); return;
    case '<': wh_text_add(text, "&lt;"); return;
    case '>': wh_text_add(text, "&gt;"); return;
    case '"': wh_text_add(text, "&quot;"); return;
    case '\'': wh_text_add(text, "&#39;"); return;
    default: wh_text_add_bytes(text, p, bytes);
    }
}

/* The controls of ASCII and of Latin-1 (U+0080 to U+009F), and the marks that turn the direction of writing, which could
 * make an ID read backwards. */
static bool is_control(uint32_t point)
{
    return point < 0x20 || (point >= 0x7F && point < 0xA0) || (point >= 0x202A && point <= 0x202E) ||
           (point >= 0x2066 && point <= 0x2069);
}

void wh_html_add(wh_text *text, const char *string)
{
    const char *const end = string + strlen(string);
    for (const char *p = string; p < end;) {
        const size_t bytes = wh_utf8_length(p, (size_t)(end - p));
        if (bytes == 0 || is_control(wh_utf8_point(p, bytes)))
            wh_text_add(text, "\uFFFD");
        else
            add_character(text, p, bytes);
        p += bytes ? bytes : 1;
    }
}

void wh_html_element(wh_text *text, const char *tag, const char *string)
{
    wh_text_print(text, "<%s>", tag);
    wh_html_add(text, string);
    wh_text_print(text, "</%.*s>", (int)strcspn(tag, " "), tag);
}
