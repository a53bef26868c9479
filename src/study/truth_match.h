/* Which value the gauge or the thermometer had when a frame was sent. */
#ifndef WH_TRUTH_MATCH_H
#define WH_TRUTH_MATCH_H

#include "field_rows.h"
#include "truth.h"

/* Further from the nearest reading of the instrument than this a frame has no known value. */
#define WH_TRUTH_REACH_S 300.0

/* Interpolates between the readings before and after; a reading without time holds for the whole recording. `name` is the name of
 * the row's sensor in the truth, "" or NULL when unknown: then readings for named sensors count only in recordings where no
 * other sensor is named. Pressure is made gauge with the air pressure of the row or of the table. */
bool wh_truth_value(const wh_truth *truth, const wh_field_row *row, const char *name, bool pressure, double *value);

/* The one sensor that the truth names for this recording, or NULL when it names none or several. */
const char *wh_truth_only_sensor(const wh_truth *truth, unsigned recording);

#endif
