/* The figures findings are judged by. Defaults with their sources; a fleet may set its own. */
#ifndef WH_THRESHOLDS_H
#define WH_THRESHOLDS_H

#include "wheelhark/status.h"

#include <stdbool.h>
#include <stddef.h>

typedef struct wh_thresholds {
    double low_share;           /* of target: at or below is LOW */
    double far_too_low_share;   /* of target: at or below is FAR_TOO_LOW; 0.80 by 29 CFR 1910.177 and never less */
    double flat_share;          /* of the sidewall maximum: at or below is FLAT */
    double high_share;          /* of target: above is HIGH */
    double dual_difference_kpa; /* between dual mates */
    double side_difference_kpa; /* between left and right of an axle */
    double hot_c;               /* temperature in the tire */
    double loss_kpa_per_day;    /* temperature-corrected: a slope surely steeper than this is LOSING_AIR */
    double reference_c;         /* cold pressures are brought to this temperature */
    double sure_odds;           /* a seat is sure from here on */
} wh_thresholds;

/* One row per threshold, for settings files, help and findings: its name, unit, range, default, and where the default is from. */
typedef struct wh_threshold_row {
    const char *name; /* "low share" */
    const char *unit; /* "%", "kPa", "C", "kPa/day" */
    double least, most, standard;
    const char *source;
    const char *meaning;
    size_t offset; /* of the double in wh_thresholds */
} wh_threshold_row;

extern const wh_threshold_row wh_threshold_rows[];
extern const size_t wh_threshold_row_count;

void wh_thresholds_defaults(wh_thresholds *thresholds);
/* By row name; WH_ERR_NOT_FOUND or WH_ERR_DATA (out of range) with a reason. */
wh_status wh_thresholds_set(wh_thresholds *thresholds, const char *name, double value, wh_error *error);

#endif
