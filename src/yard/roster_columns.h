/* Which column of a roster table holds what. */
#ifndef WH_ROSTER_COLUMNS_H
#define WH_ROSTER_COLUMNS_H

#include "roster_csv.h"

typedef enum wh_roster_column {
    WH_COLUMN_UNIT,
    WH_COLUMN_KIND,
    WH_COLUMN_AXLES,
    WH_COLUMN_FIRST_AXLE,
    WH_COLUMN_POSITION,
    WH_COLUMN_SENSOR,
    WH_COLUMN_DESCRIPTOR,
    WH_COLUMN_TARGET,
    WH_COLUMN_SIDEWALL,
    WH_COLUMN_LOAD_NOTE,
    WH_COLUMN_CARRIER,
    WH_COLUMN_UNIT_NOTE,
    WH_COLUMN_COUNT
} wh_roster_column;

typedef struct wh_roster_columns {
    size_t header;           /* row of the table that names the columns */
    int at[WH_COLUMN_COUNT]; /* from 0; -1: the table has none */
    wh_id_base id_base;
    wh_pressure_unit target_unit, sidewall_unit;
    double carrier_scale; /* Hz for one of the column's numbers */
} wh_roster_columns;

/* What the column is called, e.g. "sidewall maximum". */
const char *wh_roster_column_name(wh_roster_column column);
/* Find the header and read it. False when it does not do; all its faults are complained about. */
bool wh_roster_columns_read(const wh_csv *table, wh_id_base id_base, wh_roster_columns *columns,
                            wh_csv_complaints *complaints);

#endif
