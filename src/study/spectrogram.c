#include "spectrogram.h"

#include "fft.h"
#include "html_text.h"
#include "svg_chart.h"

#include <math.h>
#include <nettle/base64.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define BINS    WH_SPECTROGRAM_BINS
#define COLUMNS WH_SPECTROGRAM_COLUMNS
#define SHADES  64

struct wh_spectrogram {
    wh_fft *fft;
    float window[BINS], iq[2 * BINS];
    size_t filled;              /* samples in iq */
    uint64_t samples;           /* in all */
    uint64_t per_column;        /* transforms joined in a column */
    uint64_t in_column;         /* so far in the last */
    size_t count;               /* columns begun */
    float power[COLUMNS][BINS]; /* bin 0 is the lowest frequency */
};

wh_spectrogram *wh_spectrogram_create(void)
{
    wh_spectrogram *s = calloc(1, sizeof *s);
    if (s && !(s->fft = wh_fft_create(BINS, 1))) {
        free(s);
        return NULL;
    }
    if (!s)
        return NULL;
    s->per_column = 1;
    double energy = 0.0;
    for (size_t i = 0; i < BINS;
         i++) { /* Hann, scaled so that a bin holds the power of a tone in it spread over its width */
        const double w = 0.5 - 0.5 * cos(2.0 * acos(-1.0) * ((double)i + 0.5) / BINS);
        s->window[i] = (float)w;
        energy += w * w;
    }
    for (size_t i = 0; i < BINS; i++)
        s->window[i] = (float)(s->window[i] / sqrt(energy * BINS));
    return s;
}

void wh_spectrogram_destroy(wh_spectrogram **spectrogram)
{
    if (!spectrogram || !*spectrogram)
        return;
    wh_fft_destroy(&(*spectrogram)->fft);
    free(*spectrogram);
    *spectrogram = NULL;
}

/* Pairs of columns become one, the strongest of both. */
static void halve(wh_spectrogram *s)
{
    for (size_t c = 0; c < COLUMNS / 2; c++)
        for (size_t b = 0; b < BINS; b++)
            s->power[c][b] = fmaxf(s->power[2 * c][b], s->power[2 * c + 1][b]);
    s->count = COLUMNS / 2;
    s->per_column *= 2;
}

static void add_spectrum(wh_spectrogram *s)
{
    float complex *in = wh_fft_input(s->fft);
    for (size_t i = 0; i < BINS; i++)
        in[i] = s->window[i] * (s->iq[2 * i] + s->iq[2 * i + 1] * (float complex)I);
    wh_fft_execute(s->fft);
    const float complex *out = wh_fft_output(s->fft);
    if (s->count == 0 || s->in_column == s->per_column) {
        if (s->count == COLUMNS)
            halve(s);
        memset(s->power[s->count++], 0, sizeof s->power[0]);
        s->in_column = 0;
    }
    float *column = s->power[s->count - 1];
    for (size_t b = 0; b < BINS; b++) {
        const float complex z = out[(b + BINS / 2) % BINS];
        column[b] = fmaxf(column[b], crealf(z) * crealf(z) + cimagf(z) * cimagf(z));
    }
    s->in_column++;
}

void wh_spectrogram_push(wh_spectrogram *s, wh_iq_format format, const void *samples, size_t count)
{
    const unsigned char *from = samples;
    s->samples += count;
    while (count > 0) {
        const size_t room = BINS - s->filled, step = count < room ? count : room;
        wh_iq_to_float(format, from, step, s->iq + 2 * s->filled);
        from += step * wh_iq_bytes(format);
        s->filled += step;
        count -= step;
        if (s->filled == BINS) {
            add_spectrum(s);
            s->filled = 0;
        }
    }
}

uint64_t wh_spectrogram_samples(const wh_spectrogram *s)
{
    return s->samples;
}

double wh_spectrogram_power(const wh_spectrogram *s, uint64_t sample, double frequency)
{
    const uint64_t column = sample / (BINS * s->per_column);
    const double bin = floor((frequency + 0.5) * BINS + 0.5);
    if (column >= s->count || !(bin >= 0 && bin < BINS))
        return 0.0;
    return s->power[column][(size_t)bin];
}

static int by_size(const void *a, const void *b)
{
    const float x = *(const float *)a, y = *(const float *)b;
    return (x > y) - (x < y);
}

static double decibel(double power)
{
    return 10.0 * log10(fmax(power, 1e-14));
}

/* Between the middle of all powers, which is noise, and the strongest. */
static bool shades(const wh_spectrogram *s, double *low_db, double *high_db)
{
    float *sorted = malloc((s->count * BINS + 1) * sizeof *sorted);
    if (!sorted)
        return false;
    memcpy(sorted, s->power, s->count * BINS * sizeof *sorted);
    qsort(sorted, s->count * BINS, sizeof *sorted, by_size);
    *low_db = decibel(sorted[s->count * BINS / 2]);
    *high_db = fmax(decibel(sorted[s->count * BINS - 1]), *low_db + 10.0);
    free(sorted);
    return true;
}

static void put_le(unsigned char *at, uint32_t value, unsigned bytes)
{
    for (unsigned i = 0; i < bytes; i++)
        at[i] = (unsigned char)(value >> (8 * i));
}

/* A bitmap of 8 bits with a palette: the simplest picture that browsers show, and small enough uncompressed. */
static void put_bitmap(const wh_spectrogram *s, double low_db, double high_db, wh_text *svg)
{
    enum { HEAD = 54, PALETTE = 4 * SHADES };
    const size_t stride = (s->count + 3) / 4 * 4, size = HEAD + PALETTE + stride * BINS;
    unsigned char *file = calloc(size, 1);
    char *text = malloc(BASE64_ENCODE_RAW_LENGTH(size) + 1);
    if (!file || !text) {
        svg->failed = true;
    } else {
        memcpy(file, "BM", 2);
        put_le(file + 2, (uint32_t)size, 4);
        put_le(file + 10, HEAD + PALETTE, 4);
        put_le(file + 14, 40, 4);
        put_le(file + 18, (uint32_t)s->count, 4);
        put_le(file + 22, BINS, 4);
        put_le(file + 26, 1, 2);
        put_le(file + 28, 8, 2);
        put_le(file + 34, (uint32_t)(stride * BINS), 4);
        put_le(file + 46, SHADES, 4);
        for (unsigned i = 0; i < SHADES; i++) /* white is quiet, black is strong: prints well */
            memset(file + HEAD + 4 * i, (int)(255 - i * 255 / (SHADES - 1)), 3);
        for (size_t c = 0; c < s->count; c++)
            for (size_t b = 0; b < BINS; b++) { /* the lowest row, which is the lowest frequency, comes first */
                const double shade = (decibel(s->power[c][b]) - low_db) / (high_db - low_db) * SHADES;
                file[HEAD + PALETTE + b * stride + c] = (unsigned char)fmin(fmax(shade, 0.0), SHADES - 1);
            }
        base64_encode_raw(text, size, file);
        wh_text_add_bytes(svg, text, BASE64_ENCODE_RAW_LENGTH(size));
    }
    free(file);
    free(text);
}

void wh_spectrogram_svg(const wh_spectrogram *s, const char *title, double rate_hz, const wh_spectrogram_mark *marks,
                        size_t mark_count, wh_text *svg)
{
    double low_db = 0.0, high_db = 0.0;
    if (!shades(s, &low_db, &high_db))
        svg->failed = true;
    const wh_chart chart = {.title = title,
                            .x_label = "sample of the recording",
                            .y_label = "kHz from the centre",
                            .x_high = s->samples ? (double)s->samples : 1.0,
                            .y_low = -0.5e-3 * rate_hz,
                            .y_high = 0.5e-3 * rate_hz,
                            .width = 1000,
                            .height = 360};
    wh_chart_begin(svg, &chart);
    if (s->count > 0) {
        /* The last column may stand for samples that are not there. */
        const double end = (double)(s->count * s->per_column * BINS);
        wh_chart_image_begin(svg, &chart, 0.0, end, chart.y_low, chart.y_high, "image/bmp");
        put_bitmap(s, low_db, high_db, svg);
        wh_chart_image_end(svg);
    }
    const size_t shown = mark_count < WH_SPECTROGRAM_MARKS_MAX ? mark_count : WH_SPECTROGRAM_MARKS_MAX;
    for (size_t i = 0; i < shown; i++) {
        char label[24];
        snprintf(label, sizeof label, "%zu", marks[i].number);
        wh_chart_box(svg, &chart, (double)marks[i].from, (double)marks[i].to, marks[i].low_hz * 1e-3,
                     marks[i].high_hz * 1e-3, label);
    }
    wh_chart_end(svg);
}
