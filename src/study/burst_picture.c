#include "burst_picture.h"

#include "bit_map_svg.h"
#include "burst_trace.h"
#include "html_text.h"
#include "svg_chart.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define WIDTH       900
#define TALL        220
#define ENVELOPE    450 /* points: the least and the most of so many stretches each */
#define CHIPS_SHOWN 64
#define PER_CHIP    12 /* points of the frequency over a chip */
#define EYES        60
#define EYE_POINTS  25
#define BINS        60

typedef struct picture {
    const wh_burst_view *view;
    const wh_burst_trace *trace;
    wh_text *svg;
    int y; /* where the next chart goes */
} picture;

static double sample_of(const picture *p, double baseband_sample)
{
    return (double)p->view->first_sample + baseband_sample * p->view->samples_per;
}

static void begin(picture *p, const wh_chart *chart)
{
    wh_text_print(p->svg, "<g transform='translate(0 %d)'>\n", p->y);
    wh_chart_begin(p->svg, chart);
    p->y += chart->height;
}

static void end(picture *p)
{
    wh_chart_end(p->svg);
    wh_text_add(p->svg, "</g>\n");
}

static void envelope(picture *p)
{
    const wh_burst_trace *trace = p->trace;
    double x[2 * ENVELOPE], y[2 * ENVELOPE], most = 0.0;
    size_t points = 0;
    for (size_t i = 0; i < ENVELOPE; i++) {
        const size_t from = i * trace->count / ENVELOPE, to = (i + 1) * trace->count / ENVELOPE;
        float least = INFINITY, greatest = 0.0f;
        for (size_t n = from; n < to; n++) {
            least = fminf(least, trace->level[n]);
            greatest = fmaxf(greatest, trace->level[n]);
        }
        if (to == from)
            continue;
        x[points] = x[points + 1] = sample_of(p, 0.5 * (double)(from + to));
        y[points++] = least;
        y[points++] = greatest;
        most = fmax(most, greatest);
    }
    const wh_chart chart = {.title = "Envelope",
                            .x_label = "sample of the recording",
                            .y_label = "level, 1 = full scale",
                            .x_low = sample_of(p, 0.0),
                            .x_high = sample_of(p, (double)trace->count),
                            .y_high = most > 0 ? 1.1 * most : 1.0,
                            .width = WIDTH,
                            .height = TALL};
    begin(p, &chart);
    if (trace->keyed)
        wh_chart_span(p->svg, &chart, sample_of(p, trace->start),
                      sample_of(p, trace->start + (double)trace->chip_count * trace->chip), "chips");
    wh_chart_line(p->svg, &chart, x, y, points, false);
    end(p);
}

/* Limits of what tells the chips. */
static void range(const wh_burst_trace *trace, double *low, double *high)
{
    *low = trace->on_off ? 0.0 : (trace->carrier_hz - 2.2 * trace->deviation_hz) * 1e-3;
    *high = trace->on_off ? 1.8 * trace->on_level : (trace->carrier_hz + 2.2 * trace->deviation_hz) * 1e-3;
}

static double value_at(const wh_burst_trace *trace, double sample)
{
    return wh_burst_trace_at(trace, sample) * (trace->on_off ? 1.0 : 1e-3);
}

static const char *value_label(const wh_burst_trace *trace)
{
    return trace->on_off ? "level, 1 = full scale" : "kHz";
}

/* The first chips one by one: a full disc is a 1, a ring a 0. */
static void chips(picture *p)
{
    const wh_burst_trace *trace = p->trace;
    const size_t shown = trace->chip_count < CHIPS_SHOWN ? trace->chip_count : CHIPS_SHOWN;
    double x[CHIPS_SHOWN * PER_CHIP], y[CHIPS_SHOWN * PER_CHIP], low, high;
    double at[2][CHIPS_SHOWN], level[2][CHIPS_SHOWN];
    size_t count[2] = {0, 0};
    range(trace, &low, &high);
    for (size_t i = 0; i < shown * PER_CHIP; i++) {
        const double sample = trace->start + (double)i / PER_CHIP * trace->chip;
        x[i] = sample_of(p, sample);
        y[i] = value_at(trace, sample);
    }
    for (size_t k = 0; k < shown; k++) {
        const unsigned chip = trace->chips[k];
        const double one = trace->on_off ? trace->on_level : (trace->carrier_hz + trace->deviation_hz) * 1e-3;
        const double zero = trace->on_off ? 0.03 * high : (trace->carrier_hz - trace->deviation_hz) * 1e-3;
        at[chip][count[chip]] = sample_of(p, trace->start + ((double)k + 0.5) * trace->chip);
        level[chip][count[chip]++] = chip ? one : zero;
    }
    char title[120];
    snprintf(title, sizeof title, "%s of the first %zu of %zu chips (disc 1, ring 0)",
             trace->on_off ? "Level" : "Instantaneous frequency", shown, trace->chip_count);
    const wh_chart chart = {.title = title,
                            .x_label = "sample of the recording",
                            .y_label = value_label(trace),
                            .x_low = sample_of(p, trace->start),
                            .x_high = sample_of(p, trace->start + (double)shown * trace->chip),
                            .y_low = low,
                            .y_high = high,
                            .width = WIDTH,
                            .height = TALL};
    begin(p, &chart);
    wh_chart_line(p->svg, &chart, x, y, shown * PER_CHIP, false);
    wh_chart_points(p->svg, &chart, at[1], level[1], count[1], WH_MARK_DISC);
    wh_chart_points(p->svg, &chart, at[0], level[0], count[0], WH_MARK_RING);
    end(p);
}

/* Two chips wide, many times over each other: open in the middle when chips can be told. */
static void eye(picture *p)
{
    const wh_burst_trace *trace = p->trace;
    double x[EYE_POINTS], y[EYE_POINTS];
    wh_chart chart = {.title = "Eye: two chips, laid over each other",
                      .x_label = "chips",
                      .y_label = value_label(trace),
                      .x_high = 2.0,
                      .width = WIDTH,
                      .height = TALL};
    range(trace, &chart.y_low, &chart.y_high);
    begin(p, &chart);
    const size_t pairs = trace->chip_count / 2, shown = pairs < EYES ? pairs : EYES;
    for (size_t e = 0; e < shown; e++) {
        const double from = trace->start + 2.0 * (double)(e * pairs / shown) * trace->chip;
        for (size_t i = 0; i < EYE_POINTS; i++) {
            x[i] = 2.0 * (double)i / (EYE_POINTS - 1);
            y[i] = value_at(trace, from + x[i] * trace->chip);
        }
        wh_chart_line(p->svg, &chart, x, y, EYE_POINTS, false);
    }
    end(p);
}

/* How often which frequency (or level) is there in the middle of a chip. */
static void histogram(picture *p)
{
    const wh_burst_trace *trace = p->trace;
    double x[2 * BINS], y[2 * BINS], low, high, most = 1.0;
    size_t bin[BINS] = {0};
    range(trace, &low, &high);
    for (size_t k = 0; k < trace->chip_count; k++) {
        const double value = value_at(trace, trace->start + ((double)k + 0.5) * trace->chip);
        const double place = (value - low) / (high - low) * BINS;
        if (place >= 0 && place < BINS)
            most = fmax(most, (double)++bin[(size_t)place]);
    }
    for (size_t i = 0; i < BINS; i++) { /* steps */
        x[2 * i] = low + (high - low) * (double)i / BINS;
        x[2 * i + 1] = low + (high - low) * (double)(i + 1) / BINS;
        y[2 * i] = y[2 * i + 1] = (double)bin[i];
    }
    const wh_chart chart = {.title = trace->on_off ? "Levels in mid-chip" : "Tones in mid-chip",
                            .x_label = value_label(trace),
                            .y_label = "chips",
                            .x_low = low,
                            .x_high = high,
                            .y_high = 1.1 * most,
                            .width = WIDTH,
                            .height = TALL};
    begin(p, &chart);
    wh_chart_line(p->svg, &chart, x, y, 2 * (size_t)BINS, false);
    end(p);
}

static void bit_map(picture *p)
{
    const wh_burst_view *view = p->view;
    const wh_bit_map map = {.title = "Bits of the frame",
                            .columns = view->bit_count,
                            .letters = view->bit_letters,
                            .rows = 1,
                            .bits = view->bits,
                            .row_bytes = (view->bit_count + 7) / 8};
    wh_text_print(p->svg, "<g transform='translate(0 %d)'>\n", p->y);
    p->y += wh_bit_map_svg(&map, p->svg);
    wh_text_add(p->svg, "</g>\n");
}

wh_status wh_burst_picture(const wh_burst_view *view, wh_text *svg, wh_error *error)
{
    if (view->baseband.count < 16 || view->bit_count > WH_BIT_MAP_COLUMNS_MAX)
        return wh_fail(error, WH_ERR_ARGUMENT, NULL, "the burst is too short for a picture");
    wh_burst_trace *trace = calloc(1, sizeof *trace);
    wh_text inside = {0};
    picture p = {view, trace, &inside, 26};
    bool good = trace && wh_burst_trace_make(&view->baseband, view->radio, trace);
    if (good) {
        envelope(&p);
        if (trace->keyed) {
            chips(&p);
            eye(&p);
            histogram(&p);
        }
        if (view->bits && view->bit_count > 0)
            bit_map(&p);
        /* The outer picture knows its height only now. */
        wh_text_print(svg,
                      "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 %d %d' width='%d' height='%d' role='img' "
                      "font-family='sans-serif' aria-label='",
                      WIDTH, p.y, WIDTH, p.y);
        wh_html_add(svg, view->title);
        wh_text_add(svg, "'>\n<text x='8' y='18' font-size='16'>");
        wh_html_add(svg, view->title);
        wh_text_add(svg, "</text>\n");
        wh_text_add_bytes(svg, inside.data, inside.length);
        wh_text_add(svg, "</svg>\n");
    }
    good = good && !inside.failed && !svg->failed;
    wh_text_free(&inside);
    if (trace)
        wh_burst_trace_free(trace);
    free(trace);
    return good ? WH_OK : wh_fail(error, WH_ERR_MEMORY, "close other programs", "no memory for a picture");
}
