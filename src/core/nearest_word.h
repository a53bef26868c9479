/* Which of the right words was probably meant? */
#ifndef WH_NEAREST_WORD_H
#define WH_NEAREST_WORD_H

#include <stddef.h>

/* The word nearest to `word` by edit distance (insert, delete, replace or swap neighbours, upper and lower case
 * alike); when none is near, because more than a third of the letters would have to change, the only word that begins
 * with `word`; else NULL. The first of equals. */
const char *wh_nearest_word(const char *word, const char *const *words, size_t count);

#endif
