/* Is a tire losing air? The trend of one sensor's temperature-corrected cold pressure over the visits to its unit. */
#ifndef WH_TREND_H
#define WH_TREND_H

#include "robust_slope.h"
#include "wheelhark/sweep.h"

#include <stdint.h>

/* One reading of one sensor. */
typedef struct wh_past {
    int64_t at_us;
    wh_heard heard;
} wh_past;

/* A visit: the readings of one sensor within half an hour, as one. */
typedef struct wh_visit {
    int64_t at_us;
    double cold_kpa;  /* gauge, median */
    unsigned stretch; /* counts up where air was added or let out, or nobody came for a month */
} wh_visit;

typedef enum wh_trend_state {
    WH_TREND_NO_PRESSURE,    /* no reading with a pressure */
    WH_TREND_NO_TEMPERATURE, /* pressures, but no temperatures to correct them by: cooling looks like a leak */
    WH_TREND_NOT_ENOUGH,     /* too few visits, or over too short a time */
    WH_TREND_KNOWN,
} wh_trend_state;

typedef struct wh_trend {
    wh_trend_state state;
    unsigned visit_count;
    double span_days;                     /* of all stretches together */
    unsigned refills;                     /* times the pressure jumped up */
    double loss, loss_low, loss_high;     /* kPa a day, positive: losing; with its 95 % interval. Hold when known */
    double cold_kpa;                      /* gauge, of the trend at the last visit. Holds when known */
    wh_visit visits[WH_SLOPE_POINTS_MAX]; /* the latest, oldest first */
} wh_trend;

/* Of past[count] in order of time take the readings of `sensor` at or after `since_us`. WH_ERR_MEMORY. */
wh_status wh_trend_of(const wh_past *past, size_t count, const char *sensor, int64_t since_us, double reference_c,
                      wh_absolute site, wh_trend *trend);

#define WH_TREND_TEXT_SIZE 200
/* "losing 8.3 kPa a day (5.5 to 11.0), reaches 652 kPa gauge in 9 days", or what is missing to say so. `level` is the gauge
 * pressure to be reached; 0 kPa: none. Returns `text`. */
const char *wh_trend_text(char text[WH_TREND_TEXT_SIZE], const wh_trend *trend, wh_gauge level, wh_pressure_unit unit);

#endif
