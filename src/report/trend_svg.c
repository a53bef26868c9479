#include "trend_svg.h"

#include "svg_chart.h"

#include <math.h>
#include <stdio.h>

static const double us_per_day = 86400e6;

/* Both ends a little beyond everything that is to be seen. */
static void fit_axis(double *low, double *high, double value)
{
    *low = fmin(*low, value);
    *high = fmax(*high, value);
}

/* The stretch the loss is told for: the line ends at the last visit with the trend's pressure there. */
static void draw_trend(wh_text *text, const wh_chart *chart, const wh_trend_drawing *drawing, const double *days)
{
    const wh_trend *trend = drawing->trend;
    const unsigned last = trend->visit_count - 1;
    unsigned first = last;
    while (first > 0 && trend->visits[first - 1].stretch == trend->visits[last].stretch)
        first--;
    const double back = trend->cold_kpa + trend->loss * (days[last] - days[first]);
    const double x[] = {days[first], days[last]};
    const double y[] = {wh_kpa_to(back, drawing->pressure_unit), wh_kpa_to(trend->cold_kpa, drawing->pressure_unit)};
    wh_chart_line(text, chart, x, y, 2, false);
}

void wh_trend_svg(wh_text *text, const wh_trend_drawing *drawing)
{
    const wh_trend *trend = drawing->trend;
    double days[WH_SLOPE_POINTS_MAX], cold[WH_SLOPE_POINTS_MAX], low = INFINITY, high = -INFINITY;
    for (unsigned i = 0; i < trend->visit_count; i++) {
        days[i] = (double)(trend->visits[i].at_us - trend->visits[0].at_us) / us_per_day;
        cold[i] = wh_kpa_to(trend->visits[i].cold_kpa, drawing->pressure_unit);
        fit_axis(&low, &high, cold[i]);
    }
    const double target = wh_kpa_to(drawing->target.kpa, drawing->pressure_unit);
    const double alarm = wh_kpa_to(drawing->alarm.kpa, drawing->pressure_unit);
    if (target > 0)
        fit_axis(&low, &high, target);
    if (alarm > 0)
        fit_axis(&low, &high, alarm);
    if (!(low <= high))
        low = high = 0.0;
    const double room = 0.08 * (high - low) + wh_kpa_to(5.0, drawing->pressure_unit);
    char since[WH_TIME_SIZE], x_label[64], y_label[64], number[WH_FIXED_SIZE];
    wh_time_text(since, trend->visit_count ? trend->visits[0].at_us : 0, 3);
    snprintf(x_label, sizeof x_label, "days since %.10s", since);
    snprintf(y_label, sizeof y_label, "%s gauge at %s %s", wh_pressure_unit_name(drawing->pressure_unit),
             wh_plain(number, wh_celsius_to(drawing->reference_c, drawing->temperature_unit), 1),
             wh_temperature_unit_name(drawing->temperature_unit));
    const double span = trend->visit_count ? days[trend->visit_count - 1] : 0.0;
    char title[320];
    snprintf(title, sizeof title, "%s: %s", drawing->title, drawing->summary);
    const wh_chart chart = {.title = title,
                            .x_label = x_label,
                            .y_label = y_label,
                            .x_low = 0.0,
                            .x_high = span > 0 ? span : 1.0,
                            .y_low = low - room,
                            .y_high = high + room,
                            .width = 760,
                            .height = 340};
    wh_chart_begin(text, &chart);
    if (target > 0)
        wh_chart_level(text, &chart, target, "target");
    if (alarm > 0)
        wh_chart_level(text, &chart, alarm, "low from here down");
    if (trend->state == WH_TREND_KNOWN && trend->visit_count > 1)
        draw_trend(text, &chart, drawing, days);
    wh_chart_points(text, &chart, days, cold, trend->visit_count, WH_MARK_DISC);
    wh_chart_end(text);
}
