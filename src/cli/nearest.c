#include "nearest.h"

#include <stddef.h>
#include <string.h>

enum { WORD_MAX = 64 };

/* Levenshtein distance, one row of the table at a time. */
static unsigned distance(const char *a, const char *b)
{
    const size_t columns = strlen(b);
    unsigned row[WORD_MAX + 1];
    for (size_t j = 0; j <= columns; j++)
        row[j] = (unsigned)j;
    for (size_t i = 0; a[i]; i++) {
        unsigned diagonal = row[0];
        row[0] = (unsigned)i + 1;
        for (size_t j = 0; j < columns; j++) {
            const unsigned replaced = diagonal + (a[i] != b[j]);
            diagonal = row[j + 1];
            const unsigned shorter = row[j] < row[j + 1] ? row[j] : row[j + 1];
            row[j + 1] = replaced < shorter + 1 ? replaced : shorter + 1;
        }
    }
    return row[columns];
}

wh_nearest wh_nearest_begin(const char *given)
{
    return (wh_nearest){.given = given};
}

void wh_nearest_offer(wh_nearest *nearest, const char *word)
{
    const size_t length = strlen(word);
    if (length > WORD_MAX || strlen(nearest->given) > WORD_MAX)
        return;
    const unsigned away = distance(nearest->given, word);
    const unsigned allowed = (unsigned)(length + 2) / 3;
    if (away <= allowed && (!nearest->best || away < nearest->distance)) {
        nearest->best = word;
        nearest->distance = away;
    }
}
