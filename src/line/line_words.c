#include "line_words.h"

#include <string.h>

void wh_line_words_make(const wh_line_spec *spec, wh_line_words *words)
{
    memset(words, 0, sizeof *words);
    for (uint8_t level = 0; level < 2; level++) {
        for (uint8_t bit = 0; bit < 2; bit++) {
            uint8_t after = level;
            words->count[level][bit] =
                (uint8_t)wh_line_encode(spec, &bit, 1, &after, words->chip[level][bit], WH_LINE_PATTERN_MAX);
        }
    }
    words->states = memcmp(words->chip[0], words->chip[1], sizeof words->chip[0]) == 0 ? 1 : 2;
}
