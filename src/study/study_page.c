#include "study_page.h"

#include "bit_map_svg.h"
#include "burst_picture.h"
#include "html_text.h"
#include "study_text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FRAMES_TOLD 200

struct wh_study_page {
    wh_spectrogram *spectrogram[WH_PAGE_SPECTROGRAMS_MAX];
    size_t recordings;
    wh_text kinds;
};

static const char style[] = "body{font-family:sans-serif;margin:1.5em;max-width:1040px;color:#000;background:#fff}"
                            "pre{background:#f4f4f4;padding:.8em;overflow-x:auto}svg{max-width:100%;height:auto}"
                            "table{border-collapse:collapse}td,th{padding:.1em .7em;text-align:right;border-bottom:1px "
                            "solid #ccc}td:nth-child(2),td:last-child{text-align:left}";

wh_study_page *wh_study_page_create(void)
{
    return calloc(1, sizeof(wh_study_page));
}

void wh_study_page_destroy(wh_study_page **page)
{
    if (!page || !*page)
        return;
    for (size_t i = 0; i < WH_PAGE_SPECTROGRAMS_MAX; i++)
        wh_spectrogram_destroy(&(*page)->spectrogram[i]);
    wh_text_free(&(*page)->kinds);
    free(*page);
    *page = NULL;
}

wh_spectrogram *wh_study_page_recording(wh_study_page *page)
{
    const size_t at = page->recordings++;
    return at < WH_PAGE_SPECTROGRAMS_MAX ? page->spectrogram[at] = wh_spectrogram_create() : NULL;
}

/* Line by line: within a line control characters are shown as such. */
static void preformatted_text(wh_text *html, const char *content)
{
    wh_text_add(html, "<pre>");
    while (content && *content) {
        const size_t length = strcspn(content, "\n");
        char line[1024];
        snprintf(line, sizeof line, "%.*s", (int)(length < sizeof line ? length : sizeof line - 1), content);
        wh_html_add(html, line);
        wh_text_add(html, "\n");
        content += length + (content[length] == '\n');
    }
    wh_text_add(html, "</pre>\n");
}

static void preformatted(wh_text *html, const wh_text *content)
{
    preformatted_text(html, content->data);
    html->failed |= content->failed;
}

/* The burst of the kind that stands out most: its picture shows best how the others would look. */
static const wh_study_burst *strongest(wh_burst_store *store, int kind, size_t *number)
{
    const wh_study_burst *best = NULL;
    for (size_t i = 0; i < wh_burst_store_count(store); i++) {
        const wh_study_burst *burst = wh_burst_store_at(store, i);
        if (burst->kind != kind || burst->clipped || (best && burst->snr_db <= best->snr_db))
            continue;
        best = burst;
        *number = i;
    }
    return best;
}

static void burst_figure(wh_text *html, wh_study *study, size_t kind)
{
    wh_burst_store *store = wh_study_store(study);
    const wh_frame_table *table = wh_study_kind(study, kind);
    size_t number = 0;
    const wh_study_burst *burst = strongest(store, (int)kind, &number);
    wh_error error;
    if (!burst)
        return;
    const wh_study_recording *recording = wh_burst_store_recording(store, burst->recording);
    char title[240];
    snprintf(title, sizeof title, "Kind %zu: burst %zu, in %s", kind + 1, number, recording->name);
    const wh_radio radio = table->kind.radio;
    const wh_burst_view view = {.title = title,
                                .baseband = wh_study_baseband(burst),
                                .first_sample = burst->sample,
                                .samples_per = recording->sample_rate_hz / burst->rate_hz,
                                .radio = radio.chip_rate_hz > 0 ? &radio : NULL};
    wh_text_add(html, "<figure>\n");
    if (wh_burst_picture(&view, html, &error) != WH_OK)
        wh_html_element(html, "p", error.what);
    wh_text_add(html, "</figure>\n");
}

/* C constant, I per sensor, v slowly varying, n counter, r random, k check. */
static char letter_of(wh_column_kind kind)
{
    static const char letters[] = {[WH_COLUMN_CONSTANT] = 'C', [WH_COLUMN_SENSOR] = 'I', [WH_COLUMN_SLOW] = 'v',
                                   [WH_COLUMN_COUNTER] = 'n',  [WH_COLUMN_RANDOM] = 'r', [WH_COLUMN_CHECK] = 'k'};
    return (unsigned)kind < sizeof letters ? letters[kind] : '.';
}

static void rows_map(wh_text *html, const wh_field_study *fields)
{
    char letters[WH_FRAME_BITS_MAX + 1] = {0};
    const size_t rows = fields->rows.count < WH_BIT_MAP_ROWS_MAX ? fields->rows.count : WH_BIT_MAP_ROWS_MAX;
    uint8_t *bits = calloc(rows + 1, WH_FRAME_BITS_MAX / 8);
    const char *names[WH_BIT_MAP_ROWS_MAX];
    char name[WH_BIT_MAP_ROWS_MAX][32];
    for (unsigned c = 0; c < fields->columns.count && c < WH_FRAME_BITS_MAX; c++)
        letters[c] = letter_of(fields->columns.column[c].kind);
    for (size_t r = 0; bits && r < rows; r++) {
        const wh_field_row *row = &fields->rows.row[r];
        char at[WH_FIXED_SIZE];
        memcpy(bits + r * (WH_FRAME_BITS_MAX / 8), row->bits.data, WH_FRAME_BITS_MAX / 8);
        snprintf(name[r], sizeof name[r], "sensor %u, %s s", row->sensor + 1, wh_fixed(at, row->at_s, 2));
        names[r] = name[r];
    }
    const wh_bit_map map = {.title = "Frames with right checks, in order of sensor and time",
                            .columns = fields->columns.count,
                            .letters = letters,
                            .rows = bits ? fields->rows.count : 0,
                            .bits = bits,
                            .row_bytes = WH_FRAME_BITS_MAX / 8,
                            .names = names};
    html->failed |= !bits;
    if (bits && rows > 0 && fields->columns.count > 0) {
        wh_text_add(html, "<figure>\n");
        wh_bit_map_svg(&map, html);
        wh_text_add(html,
                    "<figcaption>C constant, I the same for each sensor, v slowly varying, n counter, r random, k "
                    "check</figcaption></figure>\n");
    }
    free(bits);
}

void wh_study_page_kind(wh_study_page *page, wh_study *study, size_t kind, const wh_field_study *fields,
                        const char *fields_text)
{
    wh_text *html = &page->kinds;
    wh_text text = {0};
    wh_text_print(html, "<section id='kind-%zu'><h2>Kind %zu</h2>\n", kind + 1, kind + 1);
    wh_study_text_kind(study, kind, &text);
    preformatted(html, &text);
    burst_figure(html, study, kind);
    wh_text_clear(&text);
    if (fields)
        rows_map(html, fields);
    wh_study_text_frames(study, kind, FRAMES_TOLD, &text);
    preformatted(html, &text);
    wh_text_free(&text);
    if (fields_text)
        preformatted_text(html, fields_text);
    wh_text_add(html, "</section>\n");
}

static size_t marks_of(wh_burst_store *store, unsigned recording, wh_spectrogram_mark *marks)
{
    const double centre = wh_burst_store_recording(store, recording)->centre_hz;
    size_t count = 0;
    for (size_t i = 0; i < wh_burst_store_count(store) && count < WH_SPECTROGRAM_MARKS_MAX; i++) {
        const wh_study_burst *burst = wh_burst_store_at(store, i);
        if (burst->recording != recording || burst->skirt)
            continue;
        const double middle = burst->carrier_hz - (burst->centre_known ? centre : 0.0);
        marks[count++] = (wh_spectrogram_mark){burst->sample, burst->sample + burst->sample_count,
                                               middle - burst->width_hz / 2, middle + burst->width_hz / 2, i};
    }
    return count;
}

static void recordings(wh_study_page *page, wh_study *study, wh_text *html)
{
    wh_burst_store *store = wh_study_store(study);
    wh_spectrogram_mark *marks = calloc(WH_SPECTROGRAM_MARKS_MAX, sizeof *marks);
    for (unsigned r = 0; marks && r < page->recordings && r < WH_PAGE_SPECTROGRAMS_MAX; r++) {
        if (!page->spectrogram[r] || r >= wh_burst_store_recordings(store))
            continue;
        const wh_study_recording *recording = wh_burst_store_recording(store, r);
        wh_text_add(html, "<figure>\n");
        wh_spectrogram_svg(page->spectrogram[r], recording->name, recording->sample_rate_hz, marks,
                           marks_of(store, r, marks), html);
        wh_text_add(html, "</figure>\n");
    }
    if (page->recordings > WH_PAGE_SPECTROGRAMS_MAX)
        wh_text_print(html, "<p>The first %d recordings are shown; there are %zu.</p>\n", WH_PAGE_SPECTROGRAMS_MAX,
                      page->recordings);
    html->failed |= !marks;
    free(marks);
}

static void cell(wh_text *html, double value, unsigned decimals)
{
    char number[WH_FIXED_SIZE];
    wh_html_element(html, "td", wh_fixed(number, value, decimals));
}

static void burst_row(wh_text *html, const wh_study *study, size_t index, const wh_study_burst *burst,
                      const wh_study_recording *recording)
{
    wh_text_print(html, "<tr><td>%zu</td>", index);
    wh_html_element(html, "td", recording->name);
    cell(html, (double)burst->sample, 0);
    cell(html, (double)burst->sample_count, 0);
    cell(html, burst->at_s, 4);
    cell(html, burst->carrier_hz * 1e-6, 4);
    cell(html, burst->snr_db, 1);
    if (burst->kind >= 0)
        wh_text_print(html, "<td>kind %d</td></tr>\n", burst->kind + 1);
    else
        wh_text_print(html, "<td>%s</td></tr>\n", burst->skirt ? "skirt" : wh_stray_name(wh_study_stray(study, index)));
}

static void burst_table(wh_study *study, wh_text *html)
{
    wh_burst_store *store = wh_study_store(study);
    const size_t count = wh_burst_store_count(store);
    wh_text_add(html, "<h2>Bursts</h2>\n<table id='bursts'><tr><th>burst</th><th>recording</th><th>first "
                      "sample</th><th>samples</th><th>s</th><th>MHz</th><th>dB</th><th>of</th></tr>\n");
    for (size_t i = 0; i < count && i < WH_PAGE_BURSTS_MAX; i++) {
        const wh_study_burst *burst = wh_burst_store_at(store, i);
        burst_row(html, study, i, burst, wh_burst_store_recording(store, burst->recording));
    }
    wh_text_add(html, "</table>\n");
    if (count > WH_PAGE_BURSTS_MAX)
        wh_text_print(html, "<p>and %zu more</p>\n", count - WH_PAGE_BURSTS_MAX);
}

void wh_study_page_write(wh_study_page *page, wh_study *study, wh_text *html)
{
    wh_text text = {0};
    wh_text_print(
        html,
        "<!DOCTYPE html>\n<html lang='en'>\n<head><meta charset='utf-8'><title>Study of %zu recording%s</title>\n"
        "<style>%s</style></head>\n<body>\n<h1>Study of unknown bursts</h1>\n",
        page->recordings, page->recordings == 1 ? "" : "s", style);
    wh_study_text_head(study, &text);
    preformatted(html, &text);
    recordings(page, study, html);
    if (page->kinds.data)
        wh_text_add_bytes(html, page->kinds.data, page->kinds.length);
    burst_table(study, html);
    wh_text_clear(&text);
    wh_study_text_strays(study, &text);
    preformatted(html, &text);
    wh_text_add(html, "</body>\n</html>\n");
    html->failed |= text.failed || page->kinds.failed;
    wh_text_free(&text);
}
