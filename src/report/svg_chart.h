/* Charts over two linear axes, as SVG without scripts: trends, envelopes, histograms. */
#ifndef WH_SVG_CHART_H
#define WH_SVG_CHART_H

#include "text_buffer.h"

#include <stdbool.h>

typedef struct wh_chart {
    const char *title, *x_label, *y_label; /* with units; `title` is also what a screen reader says */
    double x_low, x_high, y_low, y_high;   /* low < high; widened a little when they are equal */
    int width, height;                     /* in SVG units, at least 200 x 120 */
} wh_chart;

typedef enum wh_chart_mark { WH_MARK_DISC, WH_MARK_RING, WH_MARK_CROSS } wh_chart_mark;

/* Frame, ticks at 1, 2 or 5 times a power of ten, labels. A begun chart must be ended. */
void wh_chart_begin(wh_text *text, const wh_chart *chart);
/* Points outside the axes, and those that are not finite, are left out. */
void wh_chart_points(wh_text *text, const wh_chart *chart, const double *x, const double *y, size_t count,
                     wh_chart_mark mark);
/* A line through all points; it is broken at what is not finite, and clamped to the axes. */
void wh_chart_line(wh_text *text, const wh_chart *chart, const double *x, const double *y, size_t count, bool dashed);
/* A level across the chart with a word at its right end. */
void wh_chart_level(wh_text *text, const wh_chart *chart, double y, const char *label);
/* A region between two x, shaded, with a word at its top. */
void wh_chart_span(wh_text *text, const wh_chart *chart, double x_from, double x_to, const char *label);
/* An outline with a word at its upper left corner; what lies outside of the axes is cut. */
void wh_chart_box(wh_text *text, const wh_chart *chart, double x_from, double x_to, double y_from, double y_to,
                  const char *label);
/* A picture under what follows: between begin and end the caller adds its bytes in base64. It is stretched over the given part
 * of the axes, and cut at them. */
void wh_chart_image_begin(wh_text *text, const wh_chart *chart, double x_from, double x_to, double y_from, double y_to,
                          const char *media_type);
void wh_chart_image_end(wh_text *text);
void wh_chart_end(wh_text *text);

/* Distance of ticks that gives about `wanted` of them over `range` > 0. */
double wh_chart_tick(double range, unsigned wanted);

#endif
