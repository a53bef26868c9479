#include "burst_page.h"

#include "burst_look.h"
#include "html_text.h"

#include <stdio.h>

static const char style[] = "body{font-family:sans-serif;margin:1em auto;max-width:60rem;padding:0 1em;color:#000;"
                            "background:#fff}table{border-collapse:collapse}td,th{border:1px solid #000;padding:.2em "
                            ".6em;text-align:left;vertical-align:top}code{background:#eee;padding:.1em .3em}"
                            "a.save{display:inline-flex;align-items:center;min-height:64px;padding:0 1em;border:3px "
                            "solid #000;border-radius:.5rem;color:#000}a:focus-visible{outline:6px solid #0c55a0}"
                            "svg{max-width:100%;height:auto}figure{margin:1em 0}pre{overflow-x:auto}";

void wh_burst_page_name(char name[WH_BURST_NAME_SIZE], const wh_burst *burst)
{
    snprintf(name, WH_BURST_NAME_SIZE, "burst-%llu", (unsigned long long)burst->number);
}

static void row(wh_text *html, const char *head, double value, unsigned decimals, const char *unit)
{
    char number[WH_FIXED_SIZE];
    wh_text_print(html, "<tr><th scope='row'>%s</th><td>%s %s</td></tr>\n", head, wh_fixed(number, value, decimals),
                  unit);
}

static void put_facts(wh_text *html, const wh_burst *burst)
{
    char time[WH_TIME_SIZE];
    wh_text outcome = {0};
    wh_burst_outcome(&outcome, burst);
    wh_text_add(html, "<p>");
    wh_html_add(html, outcome.data ? outcome.data : "");
    wh_text_add(html, "</p>\n<table><caption>What was heard</caption>\n");
    wh_text_free(&outcome);
    if (burst->has_time)
        wh_text_print(html, "<tr><th scope='row'>time</th><td>%s</td></tr>\n", wh_time_text(time, burst->at_utc_us, 3));
    row(html, "since the start", burst->offset_s, 4, "s");
    row(html, "carrier", burst->carrier_hz * 1e-6, 4, "MHz");
    row(html, "width", burst->width_hz * 1e-3, 1, "kHz");
    row(html, "length", burst->duration_s * 1e3, 2, "ms");
    row(html, "SNR", burst->snr_db, 1, "dB");
    row(html, "level", burst->level_dbfs, 1, "dB of full scale");
    wh_text_add(html, "</table>\n");
}

static void put_attempts(wh_text *html, const wh_shelf_burst *burst)
{
    size_t order[WH_SHELF_ATTEMPTS];
    wh_attempts_furthest_first(burst, order);
    wh_text_add(html, "<h2>What each descriptor made of it</h2>\n");
    if (burst->attempt_count == 0) {
        wh_text_add(html, "<p>None tried.</p>\n");
        return;
    }
    wh_text_add(html, "<table><thead><tr><th scope='col'>descriptor</th><th scope='col'>came to</th><th "
                      "scope='col'>why no further</th><th scope='col'>figures</th></tr></thead>\n<tbody>\n");
    for (size_t i = 0; i < burst->attempt_count; i++) {
        const wh_attempt *attempt = &burst->attempts[order[i]];
        wh_text_add(html, "<tr>");
        wh_html_element(html, "td", attempt->descriptor);
        wh_html_element(html, "td", wh_stage_name(attempt->stage));
        wh_html_element(html, "td", wh_reason_text(attempt->reason));
        wh_html_element(html, "td", attempt->detail);
        wh_text_add(html, "</tr>\n");
    }
    wh_text_add(html, "</tbody></table>\n");
    if (burst->left_out > 0)
        wh_text_print(html, "<p>%zu more descriptors are not shown.</p>\n", burst->left_out);
}

static void put_save(wh_text *html, const wh_shelf_burst *burst, const char *name, const char *token)
{
    wh_text_add(html, "<h2>Study it</h2>\n");
    if (!burst->cut.samples) {
        wh_text_add(html, "<p>Its samples are no longer remembered.</p>\n");
        return;
    }
    wh_text_print(html, "<p><a class='save' download='%s.sigmf' href='/burst?number=%llu&amp;form=sigmf", name,
                  (unsigned long long)burst->burst.number);
    if (token) {
        wh_text_add(html, "&amp;token=");
        wh_html_add(html, token);
    }
    wh_text_print(html,
                  "'>Save this burst (SigMF)</a></p>\n<p>Then <code>wheelhark study %s.sigmf</code> tells what it "
                  "is made of; several bursts of one kind tell more.</p>\n",
                  name);
}

void wh_burst_page(const wh_shelf_burst *burst, const wh_descriptor_set *descriptors, const char *token, wh_text *html)
{
    char name[WH_BURST_NAME_SIZE];
    wh_burst_page_name(name, &burst->burst);
    const unsigned long long number = burst->burst.number;
    wh_text_print(html,
                  "<!doctype html>\n<html lang='en'>\n<head><meta charset='utf-8'><title>Burst %llu</title>\n"
                  "<style>%s</style></head>\n<body>\n<main>\n<h1>Burst %llu</h1>\n",
                  number, style, number);
    put_facts(html, &burst->burst);
    put_save(html, burst, name, token);
    wh_error error;
    if (burst->cut.samples && wh_burst_look(&burst->cut, descriptors, html, &error) != WH_OK)
        wh_html_element(html, "p", error.what);
    put_attempts(html, burst);
    wh_text_add(html, "</main>\n</body>\n</html>\n");
}
