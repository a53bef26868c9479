/* A plot of shares on a logarithmic axis, as SVG. */
#ifndef SVG_PLOT_H
#define SVG_PLOT_H

#include <stdbool.h>
#include <stddef.h>

#define SVG_SERIES_MAX 8

typedef struct svg_series {
    const char *name;
    const double *x, *y; /* [count]; y <= 0 or NaN is left out */
    size_t count;
    bool dashed; /* no marks, a dashed line: theory */
} svg_series;

typedef struct svg_plot {
    const char *title, *x_label, *y_label;
    double x_low, x_high;
    int decades; /* the y axis reaches from 10^-decades to 1 */
    size_t series_count;
    svg_series series[SVG_SERIES_MAX];
} svg_plot;

/* False when the file cannot be written. */
bool svg_plot_write(const svg_plot *plot, const char *path);

#endif
