#include "text_wrap.h"

#include <string.h>

/* Columns of a word: UTF-8 characters. */
static unsigned columns_of(const char *word, size_t bytes)
{
    unsigned columns = 0;
    for (size_t i = 0; i < bytes; i++)
        columns += ((unsigned char)word[i] & 0xC0) != 0x80;
    return columns;
}

void wh_text_wrap(wh_text *text, const char *label, const char *body, unsigned indent, unsigned columns)
{
    unsigned column = columns_of(label, strlen(label));
    bool first_word = true;
    wh_text_add(text, label);
    for (const char *word = body + strspn(body, " "); *word;) {
        const size_t bytes = strcspn(word, " ");
        const unsigned width = columns_of(word, bytes);
        if (!first_word && column + 1 + width > columns) {
            wh_text_add(text, "\n");
            column = 0;
            first_word = true;
        }
        if (first_word) {
            /* A label as wide as the indent still gets a blank. */
            const unsigned blanks = column < indent ? indent - column : column > 0;
            wh_text_print(text, "%*s", (int)blanks, "");
            column += blanks;
        } else {
            wh_text_add(text, " ");
            column++;
        }
        wh_text_add_bytes(text, word, bytes);
        column += width;
        first_word = false;
        word += bytes;
        word += strspn(word, " ");
    }
    wh_text_add(text, "\n");
}
