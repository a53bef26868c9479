/* A unit as a page shows it: axles from above, one cell a wheel, findings beside it. Numbers are already texts in the units of
 * measure asked for. */
#ifndef WH_BOARD_JSON_H
#define WH_BOARD_JSON_H

#include "attribution.h"
#include "judge.h"
#include "text_buffer.h"

typedef struct wh_board {
    const wh_unit *unit;
    const wh_attribution *attribution;
    const wh_findings *findings;
    int64_t now_us; /* of the sweep; ages count back from it */
    double reference_c;
    wh_absolute site;
    wh_pressure_unit pressure_unit;
    wh_temperature_unit temperature_unit;
} wh_board;

/* One object: {"unit":..., "kind":..., "axles":[{"axle":1,"label":"axle 1","dual":false,"wheels":[...]}], "findings":[...],
 * "cautions":[...]}. The wheels of an axle stand from left to right. "cautions" is empty unless a finding touches inflation. */
void wh_board_put(wh_text *text, const wh_board *board);

/* What was heard, as keys of an object that is open: sensor, descriptor, pressure and temperature as texts, level. */
void wh_board_put_heard(wh_text *text, const wh_board *board, const wh_heard *heard);

#endif
