/* A unit from above, front at the top, one cell a wheel: SVG for sheets and pages. */
#ifndef WH_UNIT_SVG_H
#define WH_UNIT_SVG_H

#include "text_buffer.h"
#include "wheel_state.h"
#include "wheelhark/roster.h"

/* What stands in one cell. */
typedef struct wh_unit_cell {
    wh_position position;
    wh_wheel_state state;
    const char *figure; /* "724 kPa"; empty when there is none */
} wh_unit_cell;

/* Appends one <svg> element without scripts or outside references. Cells [count] in any order. Tones differ in outline and
 * symbol, so that a black-and-white print tells them apart; each cell has the class "tone-NAME" for a page's colours. */
void wh_unit_svg(wh_text *text, const wh_unit *unit, const wh_unit_cell *cells, size_t count);

#endif
