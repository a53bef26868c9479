#include "sheet_model.h"

#include "cold_pressure.h"

#include <stdio.h>
#include <string.h>

void wh_sheet_time(char out[48], const wh_sheet *sheet, int64_t at_us)
{
    char time[WH_TIME_SIZE], number[WH_FIXED_SIZE];
    if (!sheet->sweep->dated) {
        snprintf(out, 48, "%s s", wh_fixed(number, (double)at_us * 1e-6, 1));
        return;
    }
    const int offset = sheet->utc_offset_min, size = offset < 0 ? -offset : offset;
    wh_time_text(time, at_us + (int64_t)offset * 60 * 1000000, 3);
    snprintf(out, 48, "%.10s %.8s %c%02d:%02d", time, time + 11, offset < 0 ? '-' : '+', size / 60, size % 60);
}

static unsigned pressure_decimals(wh_pressure_unit unit)
{
    return unit == WH_BAR ? 2 : unit == WH_PSI ? 1 : 0;
}

static void put_pressure(char out[WH_SHEET_FIGURE_SIZE], double kpa, wh_pressure_unit unit)
{
    char number[WH_FIXED_SIZE];
    snprintf(out, WH_SHEET_FIGURE_SIZE, "%s", wh_fixed(number, wh_kpa_to(kpa, unit), pressure_decimals(unit)));
}

static const char *word_without_number(wh_value_state state)
{
    return state == WH_VALUE_ABSENT        ? ""
           : state == WH_VALUE_FAULT       ? "fault"
           : state == WH_VALUE_IMPLAUSIBLE ? "odd"
                                           : "n/a";
}

/* The value alone, its unit stands in the heading; in the diagram it stands beside it. */
static void put_answer(wh_sheet_row *row, const wh_sheet *sheet, const wh_heard *heard)
{
    char number[WH_FIXED_SIZE];
    const wh_tire_air air = wh_tire_air_of(heard, sheet->reference_c, sheet->site);
    if (air.basis == WH_COLD_CORRECTED)
        put_pressure(row->cold, air.cold.kpa, sheet->pressure_unit);
    if (air.basis != WH_COLD_NONE) {
        char read[WH_SHEET_FIGURE_SIZE];
        put_pressure(read, air.pressure.kpa, sheet->pressure_unit);
        snprintf(row->pressure, sizeof row->pressure, "%s", read);
        snprintf(row->figure, sizeof row->figure, "%.15s %.6s", read, wh_pressure_unit_name(sheet->pressure_unit));
    } else {
        snprintf(row->pressure, sizeof row->pressure, "%s", word_without_number(heard->pressure_state));
    }
    if (heard->temperature_state == WH_VALUE_OK)
        snprintf(row->temperature, sizeof row->temperature, "%s",
                 wh_fixed(number, wh_celsius_to(heard->temperature_c, sheet->temperature_unit), 0));
    else
        snprintf(row->temperature, sizeof row->temperature, "%s", word_without_number(heard->temperature_state));
}

static void make_row(wh_sheet_row *row, const wh_sheet *sheet, const wh_wheel *wheel, const wh_seat *seat)
{
    char number[WH_FIXED_SIZE];
    *row = (wh_sheet_row){.recorded = wheel->sensor, .heard = ""};
    wh_position_text(row->position, wheel->position);
    row->state = wh_wheel_state_of(seat, sheet->unit->name, sheet->findings);
    if (wheel->target.kpa > 0)
        put_pressure(row->target, wheel->target.kpa, sheet->pressure_unit);
    if (seat->state != WH_SEAT_UNSURE && seat->state != WH_SEAT_SURE && seat->state != WH_SEAT_BOUND)
        return;
    row->heard = seat->sensor;
    snprintf(row->odds, sizeof row->odds, "%s", wh_fixed_down(number, seat->odds, 2));
    if (seat->answered)
        put_answer(row, sheet, &seat->latest);
}

/* Time in which the receiver heard, and the pauses between. */
static void measure_listening(wh_sheet_model *model)
{
    const wh_sweep *sweep = model->sheet->sweep;
    int64_t since = 0, silent_since = 0;
    bool listening = false, interrupted = false;
    for (size_t i = 0; i < sweep->event_count; i++) {
        const wh_event *event = &sweep->events[i];
        if (event->kind == WH_EVENT_LISTEN && !listening) {
            if (interrupted) {
                model->gaps_s += (double)(event->at_us - silent_since) * 1e-6;
                model->gap_count++;
            }
            since = event->at_us;
            listening = true;
        } else if ((event->kind == WH_EVENT_GAP || event->kind == WH_EVENT_END) && listening) {
            model->listened_s += (double)(event->at_us - since) * 1e-6;
            listening = false;
            interrupted = event->kind == WH_EVENT_GAP;
            silent_since = event->at_us;
        }
    }
    if (listening && sweep->event_count > 0)
        model->listened_s += (double)(sweep->events[sweep->event_count - 1].at_us - since) * 1e-6;
}

static void list_positions(wh_text *text, const wh_sheet_model *model, const char *head, wh_seat_state state)
{
    bool any = false;
    for (unsigned i = 0; i < model->sheet->attribution->seat_count && i < model->row_count; i++) {
        if (model->sheet->attribution->seats[i].state != state)
            continue;
        wh_text_print(text, "%s%s", any ? ", " : head, model->rows[i].position);
        any = true;
    }
    if (any)
        wh_text_add(text, "\n");
}

/* Which of two wheels side by side a sensor is in does not show in its levels. */
static void list_mates(wh_text *text, const wh_sheet_model *model)
{
    bool any = false;
    for (unsigned i = 0; i < model->sheet->attribution->seat_count && i < model->row_count; i++) {
        if (!model->sheet->attribution->seats[i].mates_by_record)
            continue;
        wh_text_print(text, "%s%s", any ? ", " : "Outer or inner is taken from the record, levels do not tell it, at: ",
                      model->rows[i].position);
        any = true;
    }
    if (any)
        wh_text_add(text, "\n");
}

static void list_unverified(wh_sheet_model *model)
{
    wh_text *text = &model->unverified;
    char number[WH_FIXED_SIZE];
    list_positions(text, model, "Nobody stood at: ", WH_SEAT_NOT_VISITED);
    list_positions(text, model, "Nothing heard at (a silent sensor is not a missing one): ", WH_SEAT_NOTHING);
    list_positions(text, model, "Not sure which sensor is at: ", WH_SEAT_UNSURE);
    list_mates(text, model);
    if (model->gap_count > 0)
        wh_text_print(text, "Listening was interrupted %u time%s, %s s in all; what was silent then proves nothing.\n",
                      model->gap_count, model->gap_count == 1 ? "" : "s", wh_fixed(number, model->gaps_s, 0));
    wh_text_add(text, "Tread, damage, valves, wheel nuts, and the pressure by gauge: look and measure.\n"
                      "That the vehicle's own system has taken the IDs: its warning lamp after a drive tells.\n");
}

void wh_sheet_model_make(wh_sheet_model *model, const wh_sheet *sheet)
{
    *model = (wh_sheet_model){.sheet = sheet};
    const wh_attribution *attribution = sheet->attribution;
    for (unsigned i = 0; i < sheet->unit->wheel_count && i < attribution->seat_count; i++)
        make_row(&model->rows[model->row_count++], sheet, &sheet->unit->wheels[i], &attribution->seats[i]);
    for (size_t i = 0; i < sheet->findings->count; i++)
        model->inflation |= sheet->findings->items[i].inflation;
    const wh_sweep *sweep = sheet->sweep;
    wh_sheet_time(model->begun, sheet, sweep->event_count > 0 ? sweep->events[0].at_us : sweep->begun_us);
    wh_sheet_time(model->ended, sheet,
                  sweep->event_count > 0 ? sweep->events[sweep->event_count - 1].at_us : sweep->begun_us);
    measure_listening(model);
    list_unverified(model);
}

void wh_sheet_model_free(wh_sheet_model *model)
{
    wh_text_free(&model->unverified);
}
