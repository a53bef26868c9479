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
    double dual_difference_kpa; /* dual mates that differ by more are DUALS_APART */
    double side_difference_kpa; /* left and right of an axle that differ by more are SIDES_APART */
    double hot_c;               /* temperature in the tire: at or above is HOT */
    double loss_kpa_per_day;    /* temperature-corrected: a slope surely steeper than this is LOSING_AIR */
    double reference_c;         /* cold pressures are brought to this temperature */
    double sure_odds;           /* a seat is sure from here on */
    double interval_s;          /* a sensor that sends by itself is taken to send this often */
    double heard_share;         /* and one sending of it to be heard with this probability */
    double strong_snr_db;       /* a reading this far above the noise is from nearby */
} wh_thresholds;

/* One row per threshold, for settings files, help and findings. */
typedef struct wh_threshold_row {
    const char *name;             /* "low share" */
    const char *unit;             /* "%", "kPa", "C", "kPa/day", "s", "dB": of the three figures that follow */
    double least, most, standard; /* `standard` is the default */
    const char *source;           /* where the default is from: regulation, standard, or "common practice, no source" */
    const char *meaning;          /* what it does, for people */
    double scale;                 /* stored figure = figure in `unit` x scale: 0.01 for "%", else 1 */
    size_t offset;                /* of the double in wh_thresholds */
} wh_threshold_row;

extern const wh_threshold_row wh_threshold_rows[];
extern const size_t wh_threshold_row_count;

void wh_thresholds_defaults(wh_thresholds *thresholds);
/* By row name (any case), `value` in the row's unit; WH_ERR_NOT_FOUND or WH_ERR_DATA (out of range) with a reason. */
wh_status wh_thresholds_set(wh_thresholds *thresholds, const char *name, double value, wh_error *error);
/* In the row's unit. */
double wh_threshold_value(const wh_thresholds *thresholds, const wh_threshold_row *row);
/* Where the figure at `offset` is from: the row's source while it is the default, else "fleet setting". */
const char *wh_threshold_source(const wh_thresholds *thresholds, size_t offset);

#endif
