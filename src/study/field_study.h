/* From a table of aligned frames to what is known of its fields: checks, sensors, what each column does, the ID, pressure and
 * temperature, each with how sure it is. */
#ifndef WH_FIELD_STUDY_H
#define WH_FIELD_STUDY_H

#include "check_search.h"
#include "columns.h"
#include "gas_law.h"
#include "id_field.h"
#include "id_truth.h"
#include "sensors.h"
#include "truth_fit.h"

#define WH_ID_SURE 0.9 /* probability from which the ID's place goes into a draft as the ID */

/* How the sense of the line code was decided. */
typedef enum wh_sense_reason {
    WH_SENSE_OPEN,       /* nothing tells: all bits, IDs too, may be the other way round */
    WH_SENSE_BY_ID,      /* the printed IDs */
    WH_SENSE_BY_PRESSURE /* counts rise with pressure */
} wh_sense_reason;

typedef struct wh_field_study {
    wh_line_spec line;      /* the line code in that reading */
    wh_bit_reading reading; /* how the table's bits have to be taken; everything below is in these bits */
    uint64_t dropped_bits;  /* reading.dropped bits, as they stand in the table */
    wh_sense_reason sense;
    wh_field_rows rows;    /* owned: frames in which all checks hold, sensors numbered */
    size_t heard, damaged; /* rows of the table heard whole; of them, those in which a check does not hold */
    wh_check_search checks;
    unsigned grid;      /* a byte begins at the bits with this number modulo 8 */
    unsigned sensors;   /* 0: no frames */
    bool sensors_known; /* by the truth, not by clustering */
    char sensor_names[WH_STUDY_SENSORS_MAX][WH_TRUTH_SENSOR_SIZE]; /* in the truth; "" */
    wh_columns columns;
    wh_id_match printed; /* the ID by its printed number */
    wh_id_search id;     /* by what stays with the sensor */
    bool has_id;         /* the ID's place is known well enough */
    wh_field id_field;   /* then: where */
    double id_probability;
    wh_gas_law gas;               /* which slow numbers move together as pressure and temperature do */
    wh_fit pressure, temperature; /* told only with a truth */
    wh_places steady;             /* bits that give a nickname when there is no ID; count 0: none */
} wh_field_study;

/* `truth` may be NULL. Free with wh_field_study_free. */
wh_status wh_field_study_run(wh_field_study *out, const wh_frame_table *table, const wh_truth *truth, wh_error *error);
void wh_field_study_free(wh_field_study *study);

/* How sure it is that two frames with different nicknames are from two sensors: the steady bits never changed in so many pairs of
 * frames of one sensor (rule of succession). And how likely two sensors are to share one: 2^-bits, of which 24 are kept. */
double wh_nickname_two_sensors(const wh_field_study *study);
double wh_nickname_collision(const wh_field_study *study);

#endif
