/* What a technician did on a walk, as a table: for sweeps from recordings, where nobody presses keys. CSV with a header; the
 * columns may stand in any order:
 *
 *   offset_s   when, in seconds from the start of the first recording
 *   action     stand, leave, woken, bind, unbind, repaired or end
 *   unit       may be left out when the sweep goes round one unit; empty: as in the row above
 *   position   e.g. 3LO; empty: where he stands
 *   sensor     with bind: the ID, in hexadecimal
 */
#ifndef WH_WALK_STEPS_H
#define WH_WALK_STEPS_H

#include "csv.h"
#include "wheelhark/sweep.h"

#define WH_WALK_STEPS_MAX    100000
#define WH_WALK_OFFSET_MAX_S 1e7

typedef struct wh_walk_step {
    double offset_s; /* 0..WH_WALK_OFFSET_MAX_S, never less than that of the step before */
    wh_event_kind action;
    char unit[WH_UNIT_NAME_SIZE]; /* empty: the only one */
    wh_position position;         /* axle 0: where he stands */
    char sensor[WH_SENSOR_SIZE];  /* upper-case */
    unsigned row;                 /* of the table, from 1 */
} wh_walk_step;

/* Read a table. All that is wrong is complained about; WH_ERR_DATA, or as wh_csv_read. Free *steps with free(). */
wh_status wh_walk_steps_parse(const char *text, size_t length, wh_walk_step **steps, size_t *count,
                              wh_csv_complaints *complaints);
/* Write one that reads back as the same steps; times to the microsecond. */
void wh_walk_steps_text(wh_text *text, const wh_walk_step *steps, size_t count);

#endif
