#include "nearest_word.h"

#include <string.h>

#define LETTERS_MAX 48

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static unsigned least(unsigned a, unsigned b)
{
    return a < b ? a : b;
}

/* Optimal string alignment distance, row by row; three rows because a swap looks two rows back. */
static unsigned distance(const char *a, size_t a_length, const char *b, size_t b_length)
{
    unsigned rows[3][LETTERS_MAX + 1];
    for (unsigned j = 0; j <= b_length; j++)
        rows[0][j] = j;
    for (unsigned i = 1; i <= a_length; i++) {
        unsigned *const row = rows[i % 3];
        const unsigned *const up = rows[(i + 2) % 3], *const up_two = rows[(i + 1) % 3];
        row[0] = i;
        for (unsigned j = 1; j <= b_length; j++) {
            const char x = lower(a[i - 1]), y = lower(b[j - 1]);
            row[j] = least(least(up[j] + 1, row[j - 1] + 1), up[j - 1] + (x != y));
            if (i > 1 && j > 1 && x == lower(b[j - 2]) && lower(a[i - 2]) == y)
                row[j] = least(row[j], up_two[j - 2] + 1);
        }
    }
    return rows[a_length % 3][b_length];
}

/* The only word that begins as the given one does; at least three letters, or most words would do. */
static const char *begins_as(const char *word, size_t length, const char *const *words, size_t count)
{
    const char *found = NULL;
    for (size_t i = 0; length >= 3 && i < count; i++) {
        if (strncmp(word, words[i], length) != 0)
            continue;
        if (found)
            return NULL;
        found = words[i];
    }
    return found;
}

const char *wh_nearest_word(const char *word, const char *const *words, size_t count)
{
    const size_t length = strlen(word);
    const char *nearest = NULL;
    unsigned nearest_distance = 0;
    if (length > LETTERS_MAX)
        return NULL;
    for (size_t i = 0; i < count; i++) {
        const size_t other = strlen(words[i]);
        if (other > LETTERS_MAX)
            continue;
        const unsigned d = distance(word, length, words[i], other);
        const size_t longer = length > other ? length : other;
        const unsigned allowed = longer < 6 ? 1 + (longer > 3) : (unsigned)(longer / 3);
        if (d <= allowed && d < longer && (!nearest || d < nearest_distance)) {
            nearest = words[i];
            nearest_distance = d;
        }
    }
    return nearest ? nearest : begins_as(word, length, words, count);
}
