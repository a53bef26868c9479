#include "utf8.h"

#include <string.h>

uint32_t wh_utf8_point(const char *text, size_t bytes)
{
    static const unsigned char first_mask[5] = {0, 0x7F, 0x1F, 0x0F, 0x07};
    uint32_t point = (unsigned char)text[0] & first_mask[bytes];
    for (size_t i = 1; i < bytes; i++)
        point = point << 6 | ((unsigned char)text[i] & 0x3Fu);
    return point;
}

size_t wh_utf8_length(const char *text, size_t length)
{
    if (length == 0)
        return 0;
    const unsigned char first = (unsigned char)text[0];
    if (first < 0x80)
        return 1;
    const size_t bytes = first < 0xC2 ? 0 : first < 0xE0 ? 2 : first < 0xF0 ? 3 : first < 0xF5 ? 4 : 0;
    if (bytes == 0 || bytes > length)
        return 0;
    for (size_t i = 1; i < bytes; i++) {
        if (((unsigned char)text[i] & 0xC0) != 0x80)
            return 0;
    }
    const uint32_t point = wh_utf8_point(text, bytes);
    /* Overlong forms, surrogates and what lies beyond Unicode are no characters. */
    const uint32_t least = bytes == 3 ? 0x800 : bytes == 4 ? 0x10000 : 0x80;
    return point < least || point > 0x10FFFF || (point >= 0xD800 && point <= 0xDFFF) ? 0 : bytes;
}

void wh_utf8_trim(char *text)
{
    const size_t length = strlen(text);
    size_t i = length;
    while (i > 0 && length - i < 3 && ((unsigned char)text[i - 1] & 0xC0) == 0x80)
        i--;
    if (i > 0 && (unsigned char)text[i - 1] >= 0x80 && wh_utf8_length(text + i - 1, length - (i - 1)) == 0)
        text[i - 1] = '\0';
}

bool wh_utf8_control(uint32_t point)
{
    return point < 0x20 || (point >= 0x7F && point < 0xA0);
}

size_t wh_utf8_line(const char *text, char *out, bool *changed)
{
    static const char blanks[] = " \t\r\n";
    text += strspn(text, blanks);
    size_t length = strlen(text), used = 0;
    while (length > 0 && strchr(blanks, text[length - 1]))
        length--;
    *changed = false;
    for (size_t i = 0; i < length;) {
        const size_t bytes = wh_utf8_length(text + i, length - i);
        if (bytes == 0)
            return SIZE_MAX;
        const bool control = wh_utf8_control(wh_utf8_point(text + i, bytes));
        if (control)
            out[used] = ' ';
        else
            memmove(out + used, text + i, bytes);
        used += control ? 1 : bytes;
        *changed = *changed || control;
        i += bytes;
    }
    while (used > 0 && out[used - 1] == ' ')
        used--;
    out[used] = '\0';
    return used;
}
