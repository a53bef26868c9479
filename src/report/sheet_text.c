#include "change_report.h"
#include "finding_report.h"
#include "sheet_model.h"
#include "text_wrap.h"

#include <stdio.h>

enum { COLUMNS = 80 };

static void put_title(wh_text *text, const char *title)
{
    wh_text_print(text, "\n%s\n", title);
}

static void put_head(wh_text *text, const wh_sheet_model *model)
{
    const wh_sheet *sheet = model->sheet;
    char number[WH_FIXED_SIZE];
    wh_text_print(text, "WORK SHEET   unit %s (%s, %u axles)\n", sheet->unit->name,
                  wh_unit_kind_name(sheet->unit->kind), sheet->unit->axle_count);
    wh_text_print(text, "Swept     %s to %s\n", model->begun, model->ended);
    wh_text_print(text, "By        %s\n", sheet->sweep->who[0] ? sheet->sweep->who : "______________________");
    wh_text_print(text, "Receiver  %s%s%s, listened for %s s\n", sheet->sweep->source,
                  sheet->sweep->receiver[0] ? ", " : "", sheet->sweep->receiver,
                  wh_fixed(number, model->listened_s, 0));
    wh_text_print(text, "Made by   %s; pressures in %s gauge, ", sheet->program,
                  wh_pressure_unit_name(sheet->pressure_unit));
    wh_text_print(text, "air outside %s kPa\n", wh_fixed(number, sheet->site.kpa, 1));
}

static const wh_sheet_row *row_at(const wh_sheet_model *model, wh_position position)
{
    for (unsigned i = 0; i < model->row_count; i++) {
        if (wh_position_equal(model->sheet->unit->wheels[i].position, position))
            return &model->rows[i];
    }
    return NULL;
}

/* One cell of the diagram, 8 columns: "[X 1LO ]"; blank where the axle has no such wheel. */
static void put_cell(wh_text *text, const wh_sheet_model *model, unsigned axle, wh_side side, wh_place place)
{
    const wh_sheet_row *row =
        row_at(model, (wh_position){.axle = (uint8_t)axle, .side = (uint8_t)side, .place = (uint8_t)place});
    if (row)
        wh_text_print(text, "[%c %-4s]", row->state.ascii, row->position);
    else
        wh_text_add(text, "        ");
}

static void put_diagram(wh_text *text, const wh_sheet_model *model)
{
    const wh_unit *unit = model->sheet->unit;
    wh_text_add(text, "\n                     front\n");
    for (unsigned axle = 1; axle <= unit->axle_count; axle++) {
        const bool dual = unit->dual[axle - 1];
        wh_text_add(text, "    ");
        put_cell(text, model, axle, WH_LEFT, dual ? WH_OUTER : WH_SINGLE);
        put_cell(text, model, axle, WH_LEFT, WH_INNER);
        wh_text_add(text, "---+---");
        put_cell(text, model, axle, WH_RIGHT, WH_INNER);
        put_cell(text, model, axle, WH_RIGHT, dual ? WH_OUTER : WH_SINGLE);
        wh_text_print(text, "  axle %u\n", axle + (unit->first_axle > 0 ? unit->first_axle - 1 : 0));
    }
    wh_text_add(text, "\n    ");
    for (int tone = 0; tone < WH_TONE_COUNT; tone++)
        wh_text_print(text, "%s%c %s", tone ? "   " : "", wh_wheel_tone_ascii((wh_wheel_tone)tone),
                      wh_wheel_tone_name((wh_wheel_tone)tone));
    wh_text_add(text, "\n");
}

static void put_wheels(wh_text *text, const wh_sheet_model *model)
{
    char head[48], number[WH_FIXED_SIZE];
    const wh_sheet *sheet = model->sheet;
    put_title(text, "WHEELS, in the order of the walk");
    snprintf(head, sizeof head, "at %s %s",
             wh_fixed(number, wh_celsius_to(sheet->reference_c, sheet->temperature_unit), 0),
             wh_temperature_unit_name(sheet->temperature_unit));
    wh_text_print(text, "    %-5s %-14s %-10s%8s%9s%8s%7s%6s\n", "wheel", "state", "sensor", "as read", head, "target",
                  "temp.", "odds");
    for (unsigned i = 0; i < model->row_count; i++) {
        const wh_sheet_row *row = &model->rows[i];
        wh_text_print(text, "[ ] %-5s %c %-12s %-10s%8s%9s%8s%7s%6s\n", row->position, row->state.ascii,
                      row->state.word, row->heard, row->pressure, row->cold, row->target, row->temperature, row->odds);
    }
}

static void put_changes(wh_text *text, const wh_sheet *sheet)
{
    put_title(text, "IDs TO ENTER with the vehicle's own tool");
    wh_changes_lines(text, WH_TABLE_TEXT, sheet->unit->name, sheet->changes);
}

static void put_verification(wh_text *text, const wh_sheet *sheet)
{
    if (!sheet->verification)
        return;
    put_title(text, "AFTER THE REPAIR, by what was heard since its mark");
    wh_verification_lines(text, WH_TABLE_TEXT, sheet->unit->name, sheet->verification);
}

static void put_findings(wh_text *text, const wh_sheet_model *model)
{
    const wh_findings *findings = model->sheet->findings;
    put_title(text, "TO DO");
    if (findings->count == 0)
        wh_text_add(text, "Nothing was found. That is no proof that every tire is in order.\n");
    for (size_t i = 0; i < findings->count; i++) {
        char lead[32];
        snprintf(lead, sizeof lead, "[ ] %zu. ", i + 1);
        wh_finding_put_text(text, lead, &findings->items[i], COLUMNS);
    }
}

static void put_unverified(wh_text *text, const wh_sheet_model *model)
{
    put_title(text, "NOT VERIFIED");
    const char *line = model->unverified.data ? model->unverified.data : "";
    while (*line) {
        const char *end = line;
        while (*end && *end != '\n')
            end++;
        char copy[512];
        snprintf(copy, sizeof copy, "%.*s", (int)(end - line), line);
        wh_text_wrap(text, "  *", copy, 4, COLUMNS);
        line = *end ? end + 1 : end;
    }
}

static void put_notes(wh_text *text, const wh_sheet_model *model)
{
    put_title(text, "BY HAND");
    for (unsigned i = 0; i < model->row_count; i++)
        wh_text_print(text, "%-5s gauge __________  tread __________  torque __________  new ID __________\n",
                      model->rows[i].position);
    wh_text_add(text, "\nDone by ____________________   date ______________   signature ______________\n");
}

/* Names come from files: nothing in them may steer a terminal or a printer. Empty columns leave no blanks at line ends. */
static void tame(wh_text *text)
{
    size_t kept = 0;
    for (size_t i = 0; i < text->length; i++) {
        const unsigned char byte = (unsigned char)text->data[i];
        while (byte == '\n' && kept > 0 && text->data[kept - 1] == ' ')
            kept--;
        text->data[kept++] = (byte < 0x20 && byte != '\n') || byte == 0x7F ? '?' : text->data[i];
    }
    text->length = kept;
    if (text->data)
        text->data[kept] = '\0';
}

void wh_sheet_text(wh_text *text, const wh_sheet *sheet)
{
    wh_sheet_model model;
    wh_sheet_model_make(&model, sheet);
    put_head(text, &model);
    put_diagram(text, &model);
    put_wheels(text, &model);
    put_verification(text, sheet);
    put_findings(text, &model);
    put_changes(text, sheet);
    wh_findings_put_cautions(text, sheet->findings, COLUMNS);
    put_unverified(text, &model);
    put_notes(text, &model);
    tame(text);
    text->failed |= model.unverified.failed;
    wh_sheet_model_free(&model);
}
