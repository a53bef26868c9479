/* Frames as a map: one row a frame, one column a bit, every bit as a digit, what its column is as a colour and as a letter. */
#ifndef WH_BIT_MAP_SVG_H
#define WH_BIT_MAP_SVG_H

#include "text_buffer.h"

#include <stddef.h>
#include <stdint.h>

#define WH_BIT_MAP_COLUMNS_MAX 256
#define WH_BIT_MAP_ROWS_MAX    40

typedef struct wh_bit_map {
    const char *title;
    unsigned columns;         /* at most WH_BIT_MAP_COLUMNS_MAX */
    const char *letters;      /* [columns], one printable ASCII character each; NULL: nothing is known of the columns */
    size_t rows;              /* beyond WH_BIT_MAP_ROWS_MAX they are left out, which the title says */
    const uint8_t *bits;      /* packed, first bit = most significant bit of a row's first byte */
    size_t row_bytes;         /* from a row to the next */
    const char *const *names; /* [rows] in front of each row; NULL: none */
} wh_bit_map;

/* 64 columns in a line at most; longer frames go on below. Returns the height in SVG units. */
int wh_bit_map_svg(const wh_bit_map *map, wh_text *text);

#endif
