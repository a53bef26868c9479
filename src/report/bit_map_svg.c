#include "bit_map_svg.h"

#include "html_text.h"

#include <stdio.h>

enum { CELL = 11, ROW = 16, LEFT = 160, LINE = 64, TOP = 24, HEAD = 34, WIDTH = LEFT + LINE * CELL + 16 };

/* Light enough for black digits on them (contrast above 7), and told apart by the letter anyway. Letters share them in turn. */
static const char *const colours[] = {"#cfe3f7", "#f7e3c2", "#d6f0d2", "#f3d3e3",
                                      "#e4dcf5", "#f4f0b8", "#d2efef", "#e3e3e3"};

static const char *colour_of(char letter)
{
    return letter == '.' ? "#ffffff" : colours[(unsigned char)letter % (sizeof colours / sizeof colours[0])];
}

static unsigned bit(const wh_bit_map *map, size_t row, unsigned column)
{
    return (unsigned)map->bits[row * map->row_bytes + column / 8] >> (7 - column % 8) & 1u;
}

/* Text of so many cells, one character in each. */
static void begin_cells(wh_text *text, int y, unsigned count)
{
    wh_text_print(text, "<text x='%d' y='%d' font-family='monospace' font-size='12' textLength='%d'>", LEFT, y,
                  (int)count * CELL);
}

static void columns_head(wh_text *text, const wh_bit_map *map, int y, unsigned from, unsigned count, int tall)
{
    for (unsigned c = 0; map->letters && c < count;) {
        unsigned run = 1;
        while (c + run < count && map->letters[from + c + run] == map->letters[from + c])
            run++;
        wh_text_print(text, "<rect x='%d' y='%d' width='%d' height='%d' fill='%s'/>\n", LEFT + (int)c * CELL,
                      y + HEAD - ROW, (int)run * CELL, tall + ROW, colour_of(map->letters[from + c]));
        c += run;
    }
    for (unsigned c = 0; c < count; c += 8)
        wh_text_print(text,
                      "<text x='%d' y='%d' font-size='10'>%u</text><line x1='%d' x2='%d' y1='%d' y2='%d' "
                      "stroke='#888' stroke-width='.5'/>\n",
                      LEFT + (int)c * CELL, y + 12, from + c, LEFT + (int)c * CELL, LEFT + (int)c * CELL, y + 2,
                      y + HEAD + tall);
    if (!map->letters)
        return;
    char letters[LINE + 1];
    for (unsigned c = 0; c < count; c++)
        letters[c] = map->letters[from + c];
    letters[count] = '\0';
    begin_cells(text, y + HEAD - 4, count);
    wh_html_add(text, letters);
    wh_text_add(text, "</text>\n");
}

int wh_bit_map_svg(const wh_bit_map *map, wh_text *text)
{
    const size_t rows = map->rows < WH_BIT_MAP_ROWS_MAX ? map->rows : WH_BIT_MAP_ROWS_MAX;
    const int tall = (int)rows * ROW + 6, lines = (int)((map->columns + LINE - 1) / LINE);
    const int height = TOP + lines * (HEAD + tall + 10);
    wh_text_print(text,
                  "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 %d %d' width='%d' height='%d' role='img' "
                  "font-family='sans-serif' font-size='12' aria-label='",
                  WIDTH, height, WIDTH, height);
    wh_html_add(text, map->title);
    wh_text_add(text, "'>\n<rect width='100%' height='100%' fill='#fff'/>\n<text x='8' y='16' font-weight='bold'>");
    wh_html_add(text, map->title);
    if (rows < map->rows)
        wh_text_print(text, ", the first %zu of %zu", rows, map->rows);
    wh_text_add(text, "</text>\n");
    for (int l = 0; l < lines; l++) {
        const unsigned from = (unsigned)l * LINE, left = map->columns - from, count = left < LINE ? left : LINE;
        const int y = TOP + l * (HEAD + tall + 10);
        columns_head(text, map, y, from, count, tall);
        for (size_t r = 0; r < rows; r++) {
            const int base = y + HEAD + (int)(r + 1) * ROW - 4;
            if (map->names) {
                wh_text_print(text, "<text x='%d' y='%d' text-anchor='end'>", LEFT - 8, base);
                wh_html_add(text, map->names[r]);
                wh_text_add(text, "</text>\n");
            }
            begin_cells(text, base, count);
            for (unsigned c = 0; c < count; c++)
                wh_text_add(text, bit(map, r, from + c) ? "1" : "0");
            wh_text_add(text, "</text>\n");
        }
    }
    wh_text_add(text, "</svg>\n");
    return height;
}
