/* The roster as a table: one row for each wheel, the unit's own data in every row or in any of its rows.
 *
 *   unit, kind, first axle, position, sensor hex, descriptor, target kPa, sidewall maximum kPa, load note, carrier MHz, unit note
 *
 * is what is written; see README.md for what is read beside it: columns in any order, other units, decimal IDs, a column
 * `axles`. Written, read and written again gives the same bytes. */
#ifndef WH_ROSTER_CSV_H
#define WH_ROSTER_CSV_H

#include "csv.h"
#include "sensor_id.h"
#include "wheelhark/roster.h"

typedef struct wh_roster_csv_options {
    wh_id_base id_base; /* of a sensor column that does not say; WH_ID_BASE_OPEN: only-digit IDs are refused */
    unsigned id_digits; /* hex digits of decimal IDs whose kind is not known; 0: WH_ID_DIGITS_STANDARD */
    /* Hex digits of the IDs of a kind of sensor; 0: there is no such kind. NULL: nobody knows. */
    unsigned (*digits_of)(void *context, const char *descriptor);
    void *context;
} wh_roster_csv_options;

/* What came in. */
typedef struct wh_roster_csv_tally {
    size_t units, new_units, wheels, sensors; /* `wheels`: named in the table; `sensors`: of them with a sensor */
} wh_roster_csv_tally;

/* Read a table onto a roster. *out is a new roster (the caller destroys it): the units of `existing` (may be NULL), with those
 * of the table added or changed. Of a unit that was there, columns the table lacks stay as they are; an empty cell empties.
 * All complaints of all rows at once; WH_ERR_DATA and *out NULL when there was any error. Further: the errors of
 * wh_csv_read. */
wh_status wh_roster_csv_read(const char *text, size_t length, const wh_roster_csv_options *options,
                             const wh_roster *existing, wh_roster **out, wh_roster_csv_tally *tally,
                             wh_csv_complaints *complaints);

/* Write all units, pressures in `unit`. A byte order mark stands before texts that are not plain ASCII: spreadsheets take them
 * for another encoding without. */
void wh_roster_csv_write(wh_text *out, const wh_roster *roster, wh_pressure_unit unit);

/* A pressure with as few decimals as give it back to 0.1 Pa; "" for 0 (not on record). */
#define WH_PRESSURE_TEXT_SIZE WH_FIXED_SIZE
const char *wh_pressure_exact(char text[WH_PRESSURE_TEXT_SIZE], wh_gauge pressure, wh_pressure_unit unit);

/* A cold pressure as it is to be put on record, in kPa: 50 to 2000, else a reason and what may have been meant. */
wh_status wh_pressure_check(double value, wh_pressure_unit unit, wh_gauge *pressure, wh_error *error);

#endif
