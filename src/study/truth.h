/* What is known besides the recordings: a table (CSV) of gauge and thermometer readings and of which sensor was recorded.
 *
 * The first row names the columns, in any order; a unit may follow the name ("pressure kPa", "temperature (degC)") or stand in
 * every cell ("724 kPa"):
 *     recording          name of a recording, with or without folder and suffix; empty or no such column: all of them
 *     time               seconds from the start of the recording ("12.5", "12.5 s"), or UTC ("2026-03-02T07:15:04Z"); empty: all of it
 *     sensor             name or printed ID of the sensor
 *     pressure           gauge pressure; "825 kPa absolute" when the instrument shows absolute pressure
 *     temperature        at the sensor
 *     air pressure       of the air around (absolute), when it was measured */
#ifndef WH_STUDY_TRUTH_H
#define WH_STUDY_TRUTH_H

#include "csv.h"

#include <stdint.h>

#define WH_TRUTH_ROWS_MAX    4096
#define WH_TRUTH_SENSOR_SIZE 40

typedef struct wh_truth_row {
    unsigned line; /* row of the table, from 1 */
    int recording; /* index; -1: any */
    bool has_time, is_utc;
    double at_s; /* from the start of the recording */
    int64_t at_utc_us;
    char sensor[WH_TRUTH_SENSOR_SIZE]; /* "" when not named */
    bool has_pressure, absolute, has_temperature, has_air;
    double pressure_kpa, temperature_c, air_kpa;
} wh_truth_row;

typedef struct wh_truth {
    wh_truth_row *rows; /* owned */
    size_t count;
    bool has_air;
    double air_kpa; /* mean of what was measured; the standard atmosphere when nothing was */
} wh_truth;

/* Everything wrong is told to `complaints` (text not understood, no such recording, values that cannot be); WH_ERR_DATA then, and
 * *out is empty. `recordings` are the files that are studied, as they were named. */
wh_status wh_truth_read(wh_truth *out, const char *text, size_t length, const char *const *recordings,
                        size_t recording_count, wh_csv_complaints *complaints);
void wh_truth_free(wh_truth *truth);

#endif
