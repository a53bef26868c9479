/* The roster on the screen and as records. */
#ifndef WH_ROSTER_REPORT_H
#define WH_ROSTER_REPORT_H

#include "text_buffer.h"
#include "wheelhark/roster.h"

/* One line for each unit. */
void wh_roster_put_list(wh_text *text, const wh_roster *roster);
/* One unit and its wheels, in the order of the walk. `codes`: the positions in the other schemes, too, "-" where one has no
 * code for the wheel. */
void wh_roster_put_unit(wh_text *text, const wh_unit *unit, wh_pressure_unit pressure_unit, bool codes);
/* The named layouts. */
void wh_roster_put_layouts(wh_text *text);

/* The records "unit", and "wheel" for each of its wheels. */
void wh_roster_put_unit_json(wh_text *text, const wh_unit *unit);
void wh_roster_put_wheels_json(wh_text *text, const wh_unit *unit);

#endif
