/* The events of sweeps as JSON Lines and CSV: everything the store keeps of a walk. */
#ifndef WH_EVENT_REPORT_H
#define WH_EVENT_REPORT_H

#include "text_buffer.h"
#include "wheelhark/sweep.h"

/* One object and a line end per event. */
void wh_events_put_json(wh_text *text, const wh_sweep *sweep);
/* Rows; kPa and degrees Celsius, empty where the sensor does not say. The heading stands apart: several sweeps make one
 * table. */
void wh_events_csv_heading(wh_text *text);
void wh_events_put_csv(wh_text *text, const wh_sweep *sweep);

#endif
