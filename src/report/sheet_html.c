#include "change_report.h"
#include "finding_report.h"
#include "html_text.h"
#include "sheet_model.h"
#include "unit_svg.h"

#include <stdio.h>
#include <string.h>

/* On screen the tones have fills with a contrast of 7:1 and more against their text (WCAG 2 formula), far apart in every
 * kind of colour vision; on paper the outlines of the cells and the words carry everything, whatever the printer. The page
 * has no size of its own, so that it prints on A4 and Letter alike. */
static const char style[] =
    "body{font:15px/1.35 sans-serif;color:#000;background:#fff;max-width:60em;margin:1em auto;padding:0 1em}"
    "h1{font-size:1.5em;margin:0}h2{font-size:1.1em;margin:1.2em 0 .3em;border-bottom:2px solid #000}"
    "table{border-collapse:collapse;width:100%}th,td{border:1px solid #000;padding:.25em .4em;text-align:left}"
    "caption{text-align:left;padding:.2em 0}td.n,th.n{text-align:right}td.line{min-width:5em}"
    ".box{display:inline-block;width:1em;height:1em;border:2px solid #000;vertical-align:-.15em}"
    ".id{font-family:monospace;font-weight:bold}.caution{border:4px solid #000;padding:.5em 1em}"
    "ol.todo{list-style:none;padding:0}ol.todo>li{border:1px solid #000;padding:.4em .6em;margin:.4em 0}"
    "svg{max-width:100%;height:auto}dl{margin:.3em 0}dt{float:left;width:6em;font-weight:bold}dd{margin:0 0 0 6.5em}"
    "@media screen{.tone-quiet rect{fill:#0c55a0}.tone-quiet text{fill:#fff}.tone-check rect{fill:#ffd23f}"
    ".tone-fault rect{fill:#8e0b1e}.tone-fault text{fill:#fff}}"
    "@media print{@page{margin:12mm}body{font-size:11pt;margin:0;padding:0;max-width:none}"
    "tr,li,.caution{break-inside:avoid}h2{break-after:avoid}svg{max-height:110mm}}";

static void put_pair(wh_text *text, const char *name, const char *value)
{
    wh_html_element(text, "dt", name);
    wh_html_element(text, "dd", value);
}

static void put_head(wh_text *text, const wh_sheet_model *model)
{
    const wh_sheet *sheet = model->sheet;
    const wh_sweep *sweep = sheet->sweep;
    char line[400], number[WH_FIXED_SIZE];
    wh_text_add(text, "<h1>Work sheet: unit ");
    wh_html_add(text, sheet->unit->name);
    wh_text_print(text, " (%s, %u axles)</h1>\n<dl>", wh_unit_kind_name(sheet->unit->kind), sheet->unit->axle_count);
    snprintf(line, sizeof line, "%s to %s", model->begun, model->ended);
    put_pair(text, "Swept", line);
    put_pair(text, "By", sweep->who[0] ? sweep->who : "______________________");
    snprintf(line, sizeof line, "%s%s%s, listened for %s s", sweep->source, sweep->receiver[0] ? ", " : "",
             sweep->receiver, wh_fixed(number, model->listened_s, 0));
    put_pair(text, "Receiver", line);
    snprintf(line, sizeof line, "%s; pressures in %s gauge, air outside %s kPa", sheet->program,
             wh_pressure_unit_name(sheet->pressure_unit), wh_fixed(number, sheet->site.kpa, 1));
    put_pair(text, "Made by", line);
    wh_text_add(text, "</dl>\n");
}

static void put_diagram(wh_text *text, const wh_sheet_model *model)
{
    wh_unit_cell cells[WH_WHEELS_MAX];
    for (unsigned i = 0; i < model->row_count; i++)
        cells[i] = (wh_unit_cell){model->sheet->unit->wheels[i].position, model->rows[i].state, model->rows[i].figure};
    wh_unit_svg(text, model->sheet->unit, cells, model->row_count);
    wh_text_add(text, "<p>");
    for (int tone = 0; tone < WH_TONE_COUNT; tone++)
        wh_text_print(text, "%s%s %s", tone ? " &nbsp; " : "", wh_wheel_tone_symbol((wh_wheel_tone)tone),
                      wh_wheel_tone_name((wh_wheel_tone)tone));
    wh_text_add(text, "</p>\n");
}

static void put_wheels(wh_text *text, const wh_sheet_model *model)
{
    const wh_sheet *sheet = model->sheet;
    char number[WH_FIXED_SIZE];
    const char *degrees = wh_temperature_unit_name(sheet->temperature_unit);
    wh_text_print(
        text,
        "<h2>Wheels</h2><table><caption>In the order of the walk; pressures in %s gauge</caption><thead><tr>"
        "<th scope='col'>done</th><th scope='col'>wheel</th><th scope='col'>state</th><th scope='col'>sensor</th>"
        "<th scope='col' class='n'>as read</th><th scope='col' class='n'>at %s %s</th>"
        "<th scope='col' class='n'>target</th><th scope='col' class='n'>%s</th>"
        "<th scope='col' class='n'>odds</th></tr></thead><tbody>\n",
        wh_pressure_unit_name(sheet->pressure_unit),
        wh_fixed(number, wh_celsius_to(sheet->reference_c, sheet->temperature_unit), 0), degrees, degrees);
    for (unsigned i = 0; i < model->row_count; i++) {
        const wh_sheet_row *row = &model->rows[i];
        wh_text_add(text, "<tr><td><span class='box'></span></td>");
        wh_html_element(text, "th scope='row'", row->position);
        wh_text_print(text, "<td>%s ", row->state.symbol);
        wh_html_add(text, row->state.word);
        wh_text_add(text, "</td>");
        wh_html_element(text, "td class='id'", row->heard);
        wh_html_element(text, "td class='n'", row->pressure);
        wh_html_element(text, "td class='n'", row->cold);
        wh_html_element(text, "td class='n'", row->target);
        wh_html_element(text, "td class='n'", row->temperature);
        wh_html_element(text, "td class='n'", row->odds);
        wh_text_add(text, "</tr>\n");
    }
    wh_text_add(text, "</tbody></table>\n");
}

static void put_finding(wh_text *text, const wh_finding *finding)
{
    char line[320], odds[WH_FIXED_SIZE];
    wh_text where = {0};
    wh_finding_where(&where, finding);
    wh_text_add(text, "<li><span class='box'></span> <b>");
    wh_html_add(text, where.data ? where.data : "");
    text->failed |= where.failed;
    wh_text_free(&where);
    wh_text_add(text, " ");
    wh_html_add(text, wh_finding_kind_text(finding->kind));
    wh_text_print(text, "</b> (%s, odds %s)<dl>", wh_severity_name(finding->severity),
                  wh_fixed_down(odds, finding->odds, 2));
    put_pair(text, "heard", finding->evidence);
    put_pair(text, "do", finding->remedy);
    snprintf(line, sizeof line, "%s (%s)", finding->rule, finding->rule_source);
    put_pair(text, "rule", line);
    wh_text_add(text, "</dl></li>\n");
}

static void put_findings(wh_text *text, const wh_sheet_model *model)
{
    const wh_findings *findings = model->sheet->findings;
    wh_text_add(text, "<h2>To do</h2>\n");
    if (findings->count == 0)
        wh_text_add(text, "<p>Nothing was found. That is no proof that every tire is in order.</p>\n");
    wh_text_add(text, "<ol class='todo'>\n");
    for (size_t i = 0; i < findings->count; i++)
        put_finding(text, &findings->items[i]);
    wh_text_add(text, "</ol>\n");
}

static void put_change(wh_text *text, const wh_change *change)
{
    char position[WH_POSITION_SIZE], byte[8] = "";
    wh_text reason = {0};
    wh_change_reason(&reason, change);
    if (change->has_j1939)
        snprintf(byte, sizeof byte, "0x%02X", change->j1939);
    wh_text_add(text, "<tr><td><span class='box'></span></td>");
    wh_html_element(text, "th scope='row'", wh_position_text(position, change->position));
    wh_html_element(text, "td class='id'", change->old_sensor);
    wh_html_element(text, "td class='id'", change->new_sensor);
    wh_html_element(text, "td class='id'", change->new_decimal);
    wh_html_element(text, "td class='id'", byte);
    wh_html_element(text, "td", reason.data ? reason.data : "");
    wh_text_add(text, "</tr>\n");
    text->failed |= reason.failed;
    wh_text_free(&reason);
}

static void put_changes(wh_text *text, const wh_changes *changes)
{
    wh_text_add(text, "<h2>IDs to enter with the vehicle's own tool</h2>\n");
    if (changes->count == 0) {
        wh_text_add(text, "<p>None, as far as sensors were heard and are surely placed.</p>\n");
        return;
    }
    wh_text_add(text, "<table><thead><tr><th scope='col'>done</th><th scope='col'>wheel</th><th scope='col'>old ID</th>"
                      "<th scope='col'>new ID</th><th scope='col'>decimal</th><th scope='col'>J1939</th>"
                      "<th scope='col'>why</th></tr></thead><tbody>\n");
    for (unsigned i = 0; i < changes->count; i++)
        put_change(text, &changes->items[i]);
    wh_text_add(text, "</tbody></table>\n");
}

static void put_verified(wh_text *text, const wh_verify_row *row)
{
    wh_text where = {0};
    const wh_finding *finding = row->has_before ? &row->before : row->has_after ? &row->after : NULL;
    char position[WH_POSITION_SIZE];
    if (finding)
        wh_finding_where(&where, finding);
    wh_text_add(text, "<tr>");
    wh_html_element(text, "th scope='row'",
                    finding && where.data ? where.data : wh_position_text(position, row->position));
    wh_html_element(text, "td", finding ? wh_finding_kind_text(finding->kind) : "");
    wh_html_element(text, "td", wh_verdict_text(row->verdict));
    wh_html_element(text, "td", row->text);
    wh_text_add(text, "</tr>\n");
    text->failed |= where.failed;
    wh_text_free(&where);
}

static void put_verification(wh_text *text, const wh_verification *verification)
{
    if (!verification)
        return;
    wh_text summary = {0};
    wh_verification_summary(&summary, verification);
    wh_text_add(text, "<h2>After the repair</h2><table><caption>");
    wh_html_add(text, summary.data ? summary.data : "");
    wh_text_add(text,
                "</caption><thead><tr><th scope='col'>wheel</th><th scope='col'>finding</th><th scope='col'>now</th>"
                "<th scope='col'>by what</th></tr></thead><tbody>\n");
    for (size_t i = 0; i < verification->count; i++)
        put_verified(text, &verification->rows[i]);
    wh_text_add(text, "</tbody></table>\n");
    text->failed |= summary.failed;
    wh_text_free(&summary);
}

static void put_cautions(wh_text *text, const wh_sheet_model *model)
{
    if (!model->inflation)
        return;
    wh_text_add(text, "<h2>Caution</h2><div class='caution'><ul>\n");
    for (const char *const *line = wh_cautions; *line; line++)
        wh_html_element(text, "li", *line);
    wh_text_add(text, "</ul></div>\n");
}

static void put_unverified(wh_text *text, const wh_sheet_model *model)
{
    wh_text_add(text, "<h2>Not verified</h2><ul>\n");
    for (const char *line = model->unverified.data; line && *line;) {
        const size_t length = strcspn(line, "\n");
        char copy[512];
        snprintf(copy, sizeof copy, "%.*s", (int)length, line);
        wh_html_element(text, "li", copy);
        line += length + (line[length] ? 1 : 0);
    }
    wh_text_add(text, "</ul>\n");
}

static void put_notes(wh_text *text, const wh_sheet_model *model)
{
    wh_text_add(
        text, "<h2>By hand</h2><table><thead><tr><th scope='col'>wheel</th><th scope='col'>gauge</th>"
              "<th scope='col'>tread</th><th scope='col'>torque</th><th scope='col'>new ID</th></tr></thead><tbody>\n");
    for (unsigned i = 0; i < model->row_count; i++) {
        wh_text_add(text, "<tr>");
        wh_html_element(text, "th scope='row'", model->rows[i].position);
        wh_text_add(text,
                    "<td class='line'></td><td class='line'></td><td class='line'></td><td class='line'></td></tr>\n");
    }
    wh_text_add(text, "</tbody></table>\n<p>Done by ______________________ &nbsp; date ______________ &nbsp; "
                      "signature __________________</p>\n");
}

void wh_sheet_html(wh_text *text, const wh_sheet *sheet)
{
    wh_sheet_model model;
    wh_sheet_model_make(&model, sheet);
    wh_text_add(text, "<!doctype html>\n<html lang='en'><head><meta charset='utf-8'>"
                      "<meta name='viewport' content='width=device-width'><title>Work sheet ");
    wh_html_add(text, sheet->unit->name);
    wh_text_print(text, "</title><style>%s</style></head><body><main>\n", style);
    put_head(text, &model);
    put_diagram(text, &model);
    put_wheels(text, &model);
    put_verification(text, sheet->verification);
    put_findings(text, &model);
    put_changes(text, sheet->changes);
    put_cautions(text, &model);
    put_unverified(text, &model);
    put_notes(text, &model);
    wh_text_add(text, "</main></body></html>\n");
    text->failed |= model.unverified.failed;
    wh_sheet_model_free(&model);
}
