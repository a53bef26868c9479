#include "truth_match.h"

#include <math.h>
#include <strings.h>

static bool covers(const wh_truth_row *row, unsigned recording)
{
    return row->recording < 0 || row->recording == (int)recording;
}

const char *wh_truth_only_sensor(const wh_truth *truth, unsigned recording)
{
    const char *only = NULL;
    for (size_t i = 0; i < truth->count; i++) {
        const wh_truth_row *row = &truth->rows[i];
        if (!covers(row, recording) || !row->sensor[0])
            continue;
        if (only && strcasecmp(only, row->sensor) != 0)
            return NULL;
        only = row->sensor;
    }
    return only;
}

static bool applies(const wh_truth *truth, const wh_truth_row *row, const wh_field_row *frame, const char *name)
{
    if (!covers(row, frame->recording))
        return false;
    if (!row->sensor[0])
        return true;
    if (name && name[0])
        return strcasecmp(name, row->sensor) == 0;
    return wh_truth_only_sensor(truth, frame->recording) != NULL;
}

static double value_of(const wh_truth *truth, const wh_truth_row *row, bool pressure)
{
    if (!pressure)
        return row->temperature_c;
    return row->absolute ? row->pressure_kpa - (row->has_air ? row->air_kpa : truth->air_kpa) : row->pressure_kpa;
}

/* Seconds from the frame to the reading; NaN when their clocks cannot be compared. */
static double seconds_to(const wh_truth_row *row, const wh_field_row *frame)
{
    if (!row->is_utc)
        return row->at_s - frame->at_s;
    return frame->has_time ? (double)(row->at_utc_us - frame->at_utc_us) * 1e-6 : NAN;
}

bool wh_truth_value(const wh_truth *truth, const wh_field_row *frame, const char *name, bool pressure, double *value)
{
    double before_s = -INFINITY, after_s = INFINITY, before = 0.0, after = 0.0;
    for (size_t i = 0; i < truth->count; i++) {
        const wh_truth_row *row = &truth->rows[i];
        if (!(pressure ? row->has_pressure : row->has_temperature) || !applies(truth, row, frame, name))
            continue;
        const double here = value_of(truth, row, pressure);
        if (!row->has_time) {
            *value = here;
            return true;
        }
        const double apart = seconds_to(row, frame);
        if (apart <= 0.0 && apart > before_s) {
            before_s = apart;
            before = here;
        }
        if (apart >= 0.0 && apart < after_s) {
            after_s = apart;
            after = here;
        }
    }
    const bool has_before = -before_s <= WH_TRUTH_REACH_S, has_after = after_s <= WH_TRUTH_REACH_S;
    if (!has_before && !has_after)
        return false;
    if (has_before && has_after)
        *value = after_s > before_s ? (before * after_s - after * before_s) / (after_s - before_s) : before;
    else
        *value = has_before ? before : after;
    return true;
}
