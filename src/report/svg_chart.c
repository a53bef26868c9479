#include "svg_chart.h"

#include "html_text.h"

#include <math.h>
#include <stdio.h>

enum { LEFT = 64, RIGHT = 16, TOP = 30, BOTTOM = 44 };

double wh_chart_tick(double range, unsigned wanted)
{
    const double rough = range / (wanted > 0 ? wanted : 1);
    if (!(rough > 0) || !isfinite(rough))
        return 1.0;
    const double decade = pow(10.0, floor(log10(rough))), lead = rough / decade;
    /* The next of 1, 2, 5, 10 that is not smaller; a hair of slack for roundings such as 1.9999999. */
    const double step = lead <= 1.0 + 1e-9 ? 1.0 : lead <= 2.0 + 1e-9 ? 2.0 : lead <= 5.0 + 1e-9 ? 5.0 : 10.0;
    return step * decade;
}

static double span_of(double low, double high)
{
    return high > low ? high - low : 1.0;
}

static double place(double value, double low, double high, double from, double to)
{
    return from + (value - low) / span_of(low, high) * (to - from);
}

static double x_place(const wh_chart *chart, double x)
{
    return place(x, chart->x_low, chart->x_high, LEFT, chart->width - RIGHT);
}

static double y_place(const wh_chart *chart, double y)
{
    return place(y, chart->y_low, chart->y_high, chart->height - BOTTOM, TOP);
}

static void put_number(wh_text *text, const char *key, double value)
{
    char number[WH_FIXED_SIZE];
    wh_text_print(text, " %s='%s'", key, wh_plain(number, value, 2));
}

static void put_label(wh_text *text, double x, double y, const char *attributes, const char *label)
{
    wh_text_add(text, "<text");
    put_number(text, "x", x);
    put_number(text, "y", y);
    wh_text_print(text, " %s>", attributes);
    wh_html_add(text, label);
    wh_text_add(text, "</text>\n");
}

static void put_segment(wh_text *text, double x1, double y1, double x2, double y2, const char *attributes)
{
    wh_text_add(text, "<line");
    put_number(text, "x1", x1);
    put_number(text, "y1", y1);
    put_number(text, "x2", x2);
    put_number(text, "y2", y2);
    wh_text_print(text, " %s/>\n", attributes);
}

/* As many decimals as the tick has. */
static const char *tick_text(char out[WH_FIXED_SIZE], double value, double tick)
{
    const double decimals = ceil(-log10(tick) - 1e-9);
    return wh_fixed(out, value, decimals > 0 ? (unsigned)fmin(decimals, 9.0) : 0);
}

static void put_ticks(wh_text *text, const wh_chart *chart, bool vertical)
{
    const double low = vertical ? chart->y_low : chart->x_low, high = vertical ? chart->y_high : chart->x_high;
    const double tick = wh_chart_tick(span_of(low, high), vertical ? 5 : 8);
    /* Counted, not added up: no rounding drifts, and no more than a bounded number of ticks. */
    const double first = ceil(low / tick - 1e-9);
    for (unsigned i = 0; i < 32; i++) {
        char number[WH_FIXED_SIZE];
        const double value = (first + i) * tick;
        if (!(value <= high + 1e-9 * tick))
            break;
        if (vertical) {
            const double y = y_place(chart, value);
            put_segment(text, LEFT, y, chart->width - RIGHT, y, "stroke='#bbb'");
            put_label(text, LEFT - 6, y + 4, "text-anchor='end'", tick_text(number, value, tick));
        } else {
            const double x = x_place(chart, value);
            put_segment(text, x, TOP, x, chart->height - BOTTOM, "stroke='#ddd'");
            put_label(text, x, chart->height - BOTTOM + 16, "text-anchor='middle'", tick_text(number, value, tick));
        }
    }
}

void wh_chart_begin(wh_text *text, const wh_chart *chart)
{
    wh_text_print(text,
                  "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 %d %d' width='%d' height='%d' role='img' "
                  "font-family='sans-serif' font-size='12' aria-label='",
                  chart->width, chart->height, chart->width, chart->height);
    wh_html_add(text, chart->title);
    wh_text_add(text, "'>\n<rect width='100%' height='100%' fill='#fff'/>\n");
    put_ticks(text, chart, false);
    put_ticks(text, chart, true);
    wh_text_print(text, "<rect x='%d' y='%d' width='%d' height='%d' fill='none' stroke='#000'/>\n", LEFT, TOP,
                  chart->width - LEFT - RIGHT, chart->height - TOP - BOTTOM);
    put_label(text, LEFT, 18, "font-weight='bold' font-size='14'", chart->title);
    put_label(text, (LEFT + chart->width - RIGHT) / 2.0, chart->height - 8, "text-anchor='middle'", chart->x_label);
    const double middle = (TOP + chart->height - BOTTOM) / 2.0;
    char turn[96], number[WH_FIXED_SIZE];
    snprintf(turn, sizeof turn, "text-anchor='middle' transform='rotate(-90 14 %s)'", wh_plain(number, middle, 1));
    put_label(text, 14, middle, turn, chart->y_label);
}

static bool inside(const wh_chart *chart, double x, double y)
{
    return isfinite(x) && isfinite(y) && x >= chart->x_low && x <= chart->x_high && y >= chart->y_low &&
           y <= chart->y_high;
}

void wh_chart_points(wh_text *text, const wh_chart *chart, const double *x, const double *y, size_t count,
                     wh_chart_mark mark)
{
    for (size_t i = 0; i < count; i++) {
        if (!inside(chart, x[i], y[i]))
            continue;
        const double at_x = x_place(chart, x[i]), at_y = y_place(chart, y[i]);
        if (mark == WH_MARK_CROSS) {
            put_segment(text, at_x - 4, at_y - 4, at_x + 4, at_y + 4, "stroke='#000'");
            put_segment(text, at_x - 4, at_y + 4, at_x + 4, at_y - 4, "stroke='#000'");
            continue;
        }
        wh_text_add(text, "<circle r='4'");
        put_number(text, "cx", at_x);
        put_number(text, "cy", at_y);
        wh_text_add(text, mark == WH_MARK_DISC ? " fill='#0c55a0'/>\n" : " fill='#fff' stroke='#000'/>\n");
    }
}

void wh_chart_line(wh_text *text, const wh_chart *chart, const double *x, const double *y, size_t count, bool dashed)
{
    bool open = false;
    for (size_t i = 0; i < count; i++) {
        if (!isfinite(x[i]) || !isfinite(y[i])) {
            if (open)
                wh_text_add(text, "'/>\n");
            open = false;
            continue;
        }
        if (!open)
            wh_text_print(text, "<polyline fill='none' stroke='#0c55a0' stroke-width='1.5'%s points='",
                          dashed ? " stroke-dasharray='6 4'" : "");
        char left[WH_FIXED_SIZE], up[WH_FIXED_SIZE];
        const double at_x = x_place(chart, fmin(fmax(x[i], chart->x_low), chart->x_high));
        const double at_y = y_place(chart, fmin(fmax(y[i], chart->y_low), chart->y_high));
        wh_text_print(text, "%s%s,%s", open ? " " : "", wh_plain(left, at_x, 2), wh_plain(up, at_y, 2));
        open = true;
    }
    if (open)
        wh_text_add(text, "'/>\n");
}

void wh_chart_level(wh_text *text, const wh_chart *chart, double y, const char *label)
{
    if (!inside(chart, chart->x_low, y))
        return;
    const double at = y_place(chart, y);
    put_segment(text, LEFT, at, chart->width - RIGHT, at, "stroke='#8e0b1e' stroke-dasharray='8 4'");
    put_label(text, chart->width - RIGHT - 4, at - 4, "text-anchor='end' fill='#8e0b1e'", label);
}

void wh_chart_span(wh_text *text, const wh_chart *chart, double x_from, double x_to, const char *label)
{
    const double from = x_place(chart, fmin(fmax(x_from, chart->x_low), chart->x_high));
    const double to = x_place(chart, fmin(fmax(x_to, chart->x_low), chart->x_high));
    if (!(to > from))
        return;
    wh_text_print(text, "<rect y='%d' height='%d' fill='#000' fill-opacity='.08'", TOP, chart->height - TOP - BOTTOM);
    put_number(text, "x", from);
    put_number(text, "width", to - from);
    wh_text_add(text, "/>\n");
    put_label(text, (from + to) / 2, TOP + 14, "text-anchor='middle'", label);
}

void wh_chart_box(wh_text *text, const wh_chart *chart, double x_from, double x_to, double y_from, double y_to,
                  const char *label)
{
    const double left = x_place(chart, fmin(fmax(x_from, chart->x_low), chart->x_high));
    const double right = x_place(chart, fmin(fmax(x_to, chart->x_low), chart->x_high));
    const double low = y_place(chart, fmin(fmax(y_from, chart->y_low), chart->y_high));
    const double high = y_place(chart, fmin(fmax(y_to, chart->y_low), chart->y_high));
    wh_text_add(text, "<rect fill='none' stroke='#8e0b1e' stroke-width='1.5'");
    put_number(text, "x", left);
    put_number(text, "y", high);
    put_number(text, "width", fmax(right - left, 2.0)); /* short ones must be seen as well */
    put_number(text, "height", fmax(low - high, 2.0));
    wh_text_add(text, "/>\n");
    put_label(text, left, high - 3, "fill='#8e0b1e' font-size='10'", label);
}

/* A picture of its own coordinates inside the chart cuts what reaches over the axes. */
void wh_chart_image_begin(wh_text *text, const wh_chart *chart, double x_from, double x_to, double y_from, double y_to,
                          const char *media_type)
{
    const double left = x_place(chart, x_from) - LEFT, right = x_place(chart, x_to) - LEFT;
    const double low = y_place(chart, y_from) - TOP, high = y_place(chart, y_to) - TOP;
    wh_text_print(text, "<svg x='%d' y='%d' width='%d' height='%d' overflow='hidden'><image preserveAspectRatio='none'",
                  LEFT, TOP, chart->width - LEFT - RIGHT, chart->height - TOP - BOTTOM);
    put_number(text, "x", left);
    put_number(text, "y", high);
    put_number(text, "width", right - left);
    put_number(text, "height", low - high);
    wh_text_print(text, " href='data:%s;base64,", media_type);
}

void wh_chart_image_end(wh_text *text)
{
    wh_text_add(text, "'/></svg>\n");
}

void wh_chart_end(wh_text *text)
{
    wh_text_add(text, "</svg>\n");
}
