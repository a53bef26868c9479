#include "unit_svg.h"

#include "html_text.h"

#include <stdio.h>

/* All lengths in SVG user units; a cell is wide enough for the longest word at this size of letters. */
enum {
    CELL_WIDTH = 104,
    CELL_HEIGHT = 66,
    CELL_GAP = 10,   /* between dual mates */
    AXLE_PITCH = 88, /* from axle to axle */
    MIDDLE = 96,     /* between the inner edges of the two sides */
    MARGIN = 10,
    HEAD = 34, /* for the word "front" and the arrow */
    WIDTH = 2 * (2 * CELL_WIDTH + CELL_GAP + MARGIN) + MIDDLE
};

typedef struct cell_line {
    const char *name, *dash;
    int width;
} cell_line;

/* Outline by tone: what counts more is drawn heavier; what was not heard is broken. */
static const cell_line lines[WH_TONE_COUNT] = {
    [WH_TONE_WAITING] = {"waiting", "2 4", 1}, [WH_TONE_SILENT] = {"silent", "8 5", 3},
    [WH_TONE_QUIET] = {"quiet", "", 1},        [WH_TONE_CHECK] = {"check", "", 3},
    [WH_TONE_FAULT] = {"fault", "", 6},
};

/* Left edge of the cell: on the left side the outer wheel is further left, on the right side further right. Singles stand
 * where an outer wheel would. */
static int cell_x(wh_position position)
{
    const int step = CELL_WIDTH + CELL_GAP;
    const bool inner = position.place == WH_INNER;
    if (position.side == WH_LEFT)
        return MARGIN + (inner ? step : 0);
    return WIDTH - MARGIN - CELL_WIDTH - (inner ? step : 0);
}

static int axle_y(unsigned axle)
{
    return HEAD + MARGIN + (int)(axle - 1) * AXLE_PITCH;
}

static void put_text(wh_text *text, int x, int y, const char *style, const char *string)
{
    wh_text_print(text, "<text x='%d' y='%d' %s>", x, y, style);
    wh_html_add(text, string);
    wh_text_add(text, "</text>");
}

static void put_cell(wh_text *text, const wh_unit_cell *cell)
{
    char position[WH_POSITION_SIZE];
    const cell_line *line = &lines[cell->state.tone];
    const int x = cell_x(cell->position), y = axle_y(cell->position.axle), middle = x + CELL_WIDTH / 2;
    wh_text_print(text,
                  "<g class='cell tone-%s'><rect x='%d' y='%d' width='%d' height='%d' rx='8' fill='#fff' stroke='#000' "
                  "stroke-width='%d'",
                  line->name, x, y, CELL_WIDTH, CELL_HEIGHT, line->width);
    if (line->dash[0])
        wh_text_print(text, " stroke-dasharray='%s'", line->dash);
    wh_text_add(text, "/>");
    put_text(text, middle, y + 19, "text-anchor='middle' font-size='14'", wh_position_text(position, cell->position));
    wh_text_print(text, "<text x='%d' y='%d' text-anchor='middle' font-size='14' font-weight='bold'>", middle, y + 38);
    wh_html_add(text, cell->state.symbol);
    wh_text_add(text, " ");
    wh_html_add(text, cell->state.word);
    wh_text_add(text, "</text>");
    if (cell->figure[0])
        put_text(text, middle, y + 57, "text-anchor='middle' font-size='14'", cell->figure);
    wh_text_add(text, "</g>\n");
}

/* What people call the axle, where they count on from the tractor. */
static void put_axle(wh_text *text, const wh_unit *unit, unsigned axle)
{
    char label[24];
    const int y = axle_y(axle) + CELL_HEIGHT / 2;
    const int reach = MARGIN + CELL_WIDTH + (unit->dual[axle - 1] ? CELL_WIDTH + CELL_GAP : 0);
    wh_text_print(text, "<path d='M%d %dH%d' stroke='#000' stroke-width='2'/>", reach, y, WIDTH - reach);
    wh_text_print(text, "<rect x='%d' y='%d' width='68' height='22' fill='#fff'/>", WIDTH / 2 - 34, y - 11);
    snprintf(label, sizeof label, "axle %u", axle + (unit->first_axle > 0 ? unit->first_axle - 1 : 0));
    put_text(text, WIDTH / 2, y + 5, "text-anchor='middle' font-size='14'", label);
}

void wh_unit_svg(wh_text *text, const wh_unit *unit, const wh_unit_cell *cells, size_t count)
{
    const int height = axle_y(unit->axle_count) + CELL_HEIGHT + MARGIN;
    wh_text_print(text,
                  "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 %d %d' width='%d' height='%d' role='img' "
                  "font-family='sans-serif' aria-label='",
                  WIDTH, height, WIDTH, height);
    wh_html_add(text, unit->name);
    wh_text_add(text, " from above, front at the top'>\n");
    put_text(text, WIDTH / 2, 16, "text-anchor='middle' font-size='14'", "front");
    wh_text_print(text, "<path d='M%d 34l8 -12l8 12z'/>", WIDTH / 2 - 8);
    wh_text_print(text, "<path d='M%d %dV%d' stroke='#000' stroke-width='2'/>\n", WIDTH / 2, HEAD,
                  axle_y(unit->axle_count) + CELL_HEIGHT / 2);
    for (unsigned axle = 1; axle <= unit->axle_count; axle++)
        put_axle(text, unit, axle);
    wh_text_add(text, "\n");
    for (size_t i = 0; i < count; i++)
        put_cell(text, &cells[i]);
    wh_text_add(text, "</svg>\n");
}
