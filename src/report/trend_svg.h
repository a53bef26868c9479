/* The cold pressure of one wheel over time, as a drawing. */
#ifndef WH_TREND_SVG_H
#define WH_TREND_SVG_H

#include "text_buffer.h"
#include "trend.h"
#include "wheelhark/roster.h"

typedef struct wh_trend_drawing {
    const wh_trend *trend;
    const char *title;   /* "K-17 2LO, sensor 0A1B2C3D" */
    const char *summary; /* wh_trend_text; stands below the title */
    wh_gauge target;     /* 0 kPa: none */
    wh_gauge alarm;      /* 0 kPa: none */
    double reference_c;
    wh_pressure_unit pressure_unit;
    wh_temperature_unit temperature_unit;
} wh_trend_drawing;

/* One <svg> element. Disc: a visit; line: the trend through the latest stretch, when it is known; dashed levels: target and
 * alarm. */
void wh_trend_svg(wh_text *text, const wh_trend_drawing *drawing);

#endif
