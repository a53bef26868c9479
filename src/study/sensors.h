/* Which frames are from the same sensor, before it is known where its ID stands. */
#ifndef WH_STUDY_SENSORS_H
#define WH_STUDY_SENSORS_H

#include "field_rows.h"

#define WH_STUDY_SENSORS_MAX 64

/* Two sensors are told apart when at least so many columns keep one value in all frames of the one and another in all of the
 * other: of a random ID of 16 bits two sensors share 12 or more with a chance of 4 %, of 24 bits 19 or more with 0.3 %. A
 * pressure or temperature that changes once and stays so changes as many in a carry at worst, and then its low bits keep
 * moving. */
#define WH_SENSOR_COLUMNS_LEAST 5

/* Number the sensors of all rows (row->sensor), in order of their first frame. `ignore`: columns set to 1 are not looked at
 * (checks, which differ from frame to frame). `known` (may be NULL): for every recording the sensor that it is known to be of,
 * or -1; frames of recordings with one sensor are one, with different sensors are not. Returns how many sensors, 0 without
 * rows. */
unsigned wh_sensors_tell_apart(wh_field_rows *rows, const wh_frame_bits *ignore, const int *known, size_t recordings,
                               wh_status *status);

#endif
