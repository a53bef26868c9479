/* Code words of a line code as tables: what chips a bit becomes after a chip of a given level. */
#ifndef WH_LINE_WORDS_H
#define WH_LINE_WORDS_H

#include "line_code.h"

typedef struct wh_line_words {
    unsigned states;                         /* 1, or 2 when the words depend on the level before */
    uint8_t count[2][2];                     /* [level][bit] chips of the word */
    uint8_t chip[2][2][WH_LINE_PATTERN_MAX]; /* [level][bit][chip] */
} wh_line_words;

/* From wh_line_encode, one bit at a time: there is one definition of the codes. */
void wh_line_words_make(const wh_line_spec *spec, wh_line_words *words);

/* The last chip of a word is the level that the next word sees; codes with one state stay in state 0. */
static inline unsigned wh_line_next_state(const wh_line_words *words, unsigned state, unsigned bit)
{
    return words->states == 1 ? 0 : words->chip[state][bit][words->count[state][bit] - 1];
}

#endif
