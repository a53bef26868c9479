#include "svg_plot.h"

#include <math.h>
#include <stdio.h>

#define WIDTH  720
#define HEIGHT 460
#define LEFT   70
#define RIGHT  20
#define TOP    40
#define BOTTOM 55

/* Dark enough on white, and told apart by people who see few colours: they also differ in lightness. */
static const char *const colours[SVG_SERIES_MAX] = {"#00356b", "#b34700", "#2e7d32", "#7b1fa2",
                                                    "#616161", "#0277bd", "#000000", "#9e1b1b"};

static double x_at(const svg_plot *plot, double x)
{
    return LEFT + (x - plot->x_low) / (plot->x_high - plot->x_low) * (WIDTH - LEFT - RIGHT);
}

static double y_at(const svg_plot *plot, double y)
{
    return TOP - fmax(log10(y), -plot->decades) / plot->decades * (HEIGHT - TOP - BOTTOM);
}

static void draw_grid(const svg_plot *plot, FILE *out)
{
    for (int d = 0; d <= plot->decades; d++) {
        const double y = y_at(plot, pow(10.0, -d));
        fprintf(out,
                "<path d=\"M%d %.1fH%d\" stroke=\"#ccc\"/><text x=\"%d\" y=\"%.1f\" text-anchor=\"end\">%g</text>\n",
                LEFT, y, WIDTH - RIGHT, LEFT - 6, y + 4.0, pow(10.0, -d));
    }
    const double step = plot->x_high - plot->x_low > 16.0 ? 2.0 : 1.0;
    for (double v = ceil(plot->x_low); v <= plot->x_high + 1e-9; v += step) {
        const double x = x_at(plot, v);
        fprintf(out,
                "<path d=\"M%.1f %dV%d\" stroke=\"#eee\"/><text x=\"%.1f\" y=\"%d\" text-anchor=\"middle\">%g</text>\n",
                x, TOP, HEIGHT - BOTTOM, x, HEIGHT - BOTTOM + 16, v);
    }
    fprintf(out, "<text x=\"%d\" y=\"%d\" text-anchor=\"middle\">%s</text>\n", (WIDTH + LEFT) / 2, HEIGHT - 14,
            plot->x_label);
    fprintf(out, "<text transform=\"translate(16 %d) rotate(-90)\" text-anchor=\"middle\">%s</text>\n", HEIGHT / 2,
            plot->y_label);
}

static void draw_series(const svg_plot *plot, size_t index, FILE *out)
{
    const svg_series *series = &plot->series[index];
    const char *colour = colours[index];
    fprintf(out, "<path fill=\"none\" stroke-width=\"2\" stroke=\"%s\"%s d=\"", colour,
            series->dashed ? " stroke-dasharray=\"6 4\"" : "");
    bool pen = false;
    for (size_t i = 0; i < series->count; i++) {
        if (!(series->y[i] > 0.0))
            continue;
        fprintf(out, "%c%.1f %.1f", pen ? 'L' : 'M', x_at(plot, series->x[i]), y_at(plot, series->y[i]));
        pen = true;
    }
    fprintf(out, "\"/>\n");
    for (size_t i = 0; !series->dashed && i < series->count; i++)
        if (series->y[i] > 0.0)
            fprintf(out, "<circle r=\"3\" fill=\"%s\" cx=\"%.1f\" cy=\"%.1f\"/>\n", colour, x_at(plot, series->x[i]),
                    y_at(plot, series->y[i]));
    const double y = HEIGHT - BOTTOM - 14.0 * (double)(plot->series_count - index);
    fprintf(out, "<path d=\"M%d %.1fh24\" stroke-width=\"2\" stroke=\"%s\"%s/><text x=\"%d\" y=\"%.1f\">%s</text>\n",
            LEFT + 8, y - 4.0, colour, series->dashed ? " stroke-dasharray=\"6 4\"" : "", LEFT + 38, y, series->name);
}

bool svg_plot_write(const svg_plot *plot, const char *path)
{
    FILE *out = fopen(path, "w");
    if (!out)
        return false;
    fprintf(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %d %d\" font-family=\"sans-serif\" font-size=\"12\">\n"
        "<rect width=\"100%%\" height=\"100%%\" fill=\"#fff\"/>\n<text x=\"%d\" y=\"24\" font-size=\"15\" "
        "text-anchor=\"middle\">%s</text>\n",
        WIDTH, HEIGHT, WIDTH / 2, plot->title);
    draw_grid(plot, out);
    for (size_t i = 0; i < plot->series_count; i++)
        draw_series(plot, i, out);
    fprintf(out, "</svg>\n");
    const bool written = !ferror(out);
    return fclose(out) == 0 && written;
}
