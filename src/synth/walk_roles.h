/* The scenario of a simulated walk, as a table: which sensor sits where, what it says, and how it behaves. CSV with a header,
 * the columns in any order:
 *
 *   sensor       its ID, as the descriptor's sensor field is written
 *   unit         where it sits: a unit of the roster, or any other name for a neighbour's vehicle, parked beside; "passing":
 *                it passes by
 *   position     e.g. 3LO; empty where it passes by
 *   descriptor   what kind of sensor
 *   pressure     e.g. "612 kPa gauge"; empty: as in the descriptor's first example
 *   temperature  e.g. "18 degC"; likewise
 *   fields       further fields, "battery low=yes / status=3"
 *   answers      1 (default) at the first waking, 2 at the second, never
 *   visits       2: the technician comes back to this wheel when he was at all of the unit's; default 1
 *   every        seconds between transmissions of its own accord; empty: silent until woken
 */
#ifndef WH_WALK_ROLES_H
#define WH_WALK_ROLES_H

#include "csv.h"
#include "wheelhark/roster.h"

#define WH_WALK_ROLES_MAX  1000
#define WH_WALK_VALUE_SIZE 64

typedef struct wh_walk_role {
    char sensor[WH_SENSOR_SIZE];
    char unit[WH_UNIT_NAME_SIZE];
    wh_position position; /* axle 0: passes by */
    char descriptor[WH_NAME_MAX];
    char pressure[WH_WALK_VALUE_SIZE], temperature[WH_WALK_VALUE_SIZE], fields[160];
    unsigned answers; /* at which waking; 0: never */
    unsigned visits;  /* 1 or 2 */
    double every_s;   /* 0: parked */
    unsigned row;
} wh_walk_role;

/* Complains about everything that is wrong; WH_ERR_DATA, or as wh_csv_read. Free *roles with free(). */
wh_status wh_walk_roles_parse(const char *text, size_t length, wh_walk_role **roles, size_t *count,
                              wh_csv_complaints *complaints);

#endif
