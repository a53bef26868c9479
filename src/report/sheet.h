/* The work sheet of one unit: what was heard where, what is wrong, what to do, what to enter, what was not verified; with
 * boxes to tick and lines to write on. Text of 80 columns and HTML for printing. Same data in: same bytes out. */
#ifndef WH_SHEET_H
#define WH_SHEET_H

#include "attribution.h"
#include "changes.h"
#include "judge.h"
#include "text_buffer.h"
#include "verify.h"
#include "wheelhark/roster.h"
#include "wheelhark/sweep.h"

typedef struct wh_sheet {
    const wh_unit *unit;
    const wh_sweep *sweep;
    const wh_attribution *attribution; /* of this unit in this sweep */
    const wh_findings *findings;
    const wh_changes *changes;
    const wh_verification *verification; /* NULL: no repair was marked */
    wh_absolute site;
    double reference_c; /* cold pressures are given at this temperature */
    wh_pressure_unit pressure_unit;
    wh_temperature_unit temperature_unit;
    int utc_offset_min;  /* local time of the yard minus UTC at the time of the sweep; times are shown with it */
    const char *program; /* "wheelhark 0.1.0" */
} wh_sheet;

void wh_sheet_text(wh_text *text, const wh_sheet *sheet);
void wh_sheet_html(wh_text *text, const wh_sheet *sheet);

#endif
