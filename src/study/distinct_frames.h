/* The different frames among aligned emissions, as decided chips: what a line code must be able to explain. */
#ifndef WH_DISTINCT_FRAMES_H
#define WH_DISTINCT_FRAMES_H

#include "chip_align.h"

#include <stdbool.h>
#include <stddef.h>

#define WH_DISTINCT_MAX 96

typedef struct wh_distinct_frames {
    size_t count, width;
    long first;          /* column of a row's first chip */
    unsigned char *chip; /* [count x width] 0 or 1; beyond `end` 0 */
    long end[WH_DISTINCT_MAX];
    long common_end; /* column where nearly all end, or would end if trailing zeros showed */
    bool keyed;      /* on-off keying */
} wh_distinct_frames;

/* The strong ones (all, when there are less than two strong ones), in order. False when memory is out. */
bool wh_distinct_frames_make(const wh_emission_set *set, const wh_columns *columns, wh_distinct_frames *frames);
void wh_distinct_frames_free(wh_distinct_frames *frames);

/* 0, 1; 0 outside. */
static inline unsigned wh_distinct_chip(const wh_distinct_frames *frames, size_t frame, long column)
{
    const long at = column - frames->first;
    return at >= 0 && at < (long)frames->width ? frames->chip[frame * frames->width + (size_t)at] : 0;
}

#endif
