#include "board_json.h"

#include "cold_pressure.h"
#include "figures.h"
#include "finding_report.h"
#include "json_writer.h"
#include "wheel_state.h"

#include <stdio.h>
#include <string.h>

/* Without the word "gauge": the page says it once. */
static void put_pressure(wh_text *text, const char *key, double kpa, wh_pressure_unit unit)
{
    char figure[WH_FIGURE_SIZE];
    wh_json_put_string(text, key, wh_difference_figure(figure, kpa, unit));
}

void wh_board_put_heard(wh_text *text, const wh_board *board, const wh_heard *heard)
{
    char figure[WH_FIGURE_SIZE];
    const wh_tire_air air = wh_tire_air_of(heard, board->reference_c, board->site);
    wh_json_put_string(text, "sensor", heard->sensor);
    wh_json_put_string(text, "descriptor", heard->descriptor);
    wh_json_put_bool(text, "layout_known", !heard->nickname);
    if (air.basis != WH_COLD_NONE)
        put_pressure(text, "pressure", air.pressure.kpa, board->pressure_unit);
    else if (heard->pressure_state != WH_VALUE_ABSENT)
        wh_json_put_string(text, "pressure", wh_value_state_name(heard->pressure_state));
    if (air.basis == WH_COLD_CORRECTED)
        put_pressure(text, "cold", air.cold.kpa, board->pressure_unit);
    if (heard->temperature_state == WH_VALUE_OK)
        wh_json_put_string(text, "temperature",
                           wh_temperature_figure(figure, heard->temperature_c, board->temperature_unit));
    wh_json_put_fixed(text, "level_dbfs", heard->level_dbfs, 0);
}

static const wh_seat *seat_at(const wh_board *board, wh_position position)
{
    for (unsigned i = 0; i < board->attribution->seat_count; i++)
        if (wh_position_equal(board->attribution->seats[i].position, position))
            return &board->attribution->seats[i];
    return NULL;
}

static void put_wheel(wh_text *text, const wh_board *board, const wh_wheel *wheel)
{
    static const char *const tones[WH_TONE_COUNT] = {"waiting", "silent", "quiet", "check", "fault"};
    char name[WH_POSITION_SIZE], figure[WH_FIGURE_SIZE];
    const wh_seat nobody = {.position = wheel->position}, *found = seat_at(board, wheel->position);
    const wh_seat *seat = found ? found : &nobody;
    const wh_wheel_state state = wh_wheel_state_of(seat, board->unit->name, board->findings);
    wh_json_item(text);
    wh_json_open(text);
    wh_json_put_string(text, "position", wh_position_text(name, wheel->position));
    wh_json_put_string(text, "tone", tones[state.tone]);
    wh_json_put_string(text, "symbol", state.symbol);
    wh_json_put_string(text, "word", state.word);
    wh_json_put_count(text, "further", state.further);
    wh_json_put_string(text, "recorded", wheel->sensor);
    if (wheel->target.kpa > 0)
        put_pressure(text, "target", wheel->target.kpa, board->pressure_unit);
    wh_json_put_bool(text, "bound", seat->state == WH_SEAT_BOUND);
    wh_json_put_bool(text, "woken", seat->woken);
    if (seat->sensor[0]) {
        wh_json_put_string(text, "odds", wh_share_figure(figure, seat->odds));
        if (seat->runner_up[0])
            wh_json_put_string(text, "runner_up", seat->runner_up);
    }
    if (seat->answered) {
        const int64_t age_us = board->now_us - seat->latest_us;
        wh_json_put_count(text, "age_s", age_us > 0 ? (uint64_t)age_us / 1000000 : 0);
        wh_board_put_heard(text, board, &seat->latest);
    } else {
        wh_json_put_string(text, "sensor", seat->sensor);
    }
    wh_json_close(text);
}

/* From left to right as seen from above: outer left, inner left, inner right, outer right. */
static void put_axle(wh_text *text, const wh_board *board, unsigned axle)
{
    static const struct {
        wh_side side;
        wh_place place;
    } across[] = {{WH_LEFT, WH_SINGLE}, {WH_LEFT, WH_OUTER},  {WH_LEFT, WH_INNER},
                  {WH_RIGHT, WH_INNER}, {WH_RIGHT, WH_OUTER}, {WH_RIGHT, WH_SINGLE}};
    char label[24];
    const wh_unit *unit = board->unit;
    snprintf(label, sizeof label, "axle %u", axle + (unit->first_axle > 0 ? unit->first_axle - 1 : 0));
    wh_json_item(text);
    wh_json_open(text);
    wh_json_put_count(text, "axle", axle);
    wh_json_put_string(text, "label", label);
    wh_json_put_bool(text, "dual", unit->dual[axle - 1]);
    wh_json_key(text, "wheels");
    wh_json_open_array(text);
    for (size_t i = 0; i < sizeof across / sizeof *across; i++) {
        const wh_position position = {(uint8_t)axle, (uint8_t)across[i].side, (uint8_t)across[i].place};
        const wh_wheel *wheel = wh_unit_wheel_const(unit, position);
        if (wheel)
            put_wheel(text, board, wheel);
    }
    wh_json_close_array(text);
    wh_json_close(text);
}

static void put_finding(wh_text *text, const wh_finding *finding)
{
    char odds[WH_FIGURE_SIZE];
    wh_text where = {0};
    wh_finding_where(&where, finding);
    wh_json_item(text);
    wh_json_open(text);
    wh_json_put_string(text, "where", where.data ? where.data : "");
    wh_json_put_string(text, "finding", wh_finding_kind_name(finding->kind));
    wh_json_put_string(text, "text", wh_finding_kind_text(finding->kind));
    wh_json_put_string(text, "severity", wh_severity_name(finding->severity));
    wh_json_put_string(text, "odds", wh_share_figure(odds, finding->odds));
    wh_json_put_string(text, "evidence", finding->evidence);
    wh_json_put_string(text, "remedy", finding->remedy);
    wh_json_put_string(text, "rule", finding->rule);
    wh_json_put_string(text, "rule_source", finding->rule_source);
    wh_json_close(text);
    text->failed |= where.failed;
    wh_text_free(&where);
}

void wh_board_put(wh_text *text, const wh_board *board)
{
    bool inflation = false;
    wh_json_open(text);
    wh_json_put_string(text, "unit", board->unit->name);
    wh_json_put_string(text, "kind", wh_unit_kind_name(board->unit->kind));
    wh_json_put_string(text, "pressure_unit", wh_pressure_unit_name(board->pressure_unit));
    wh_json_put_string(text, "temperature_unit", wh_temperature_unit_name(board->temperature_unit));
    wh_json_key(text, "axles");
    wh_json_open_array(text);
    for (unsigned axle = 1; axle <= board->unit->axle_count; axle++)
        put_axle(text, board, axle);
    wh_json_close_array(text);
    wh_json_key(text, "findings");
    wh_json_open_array(text);
    for (size_t i = 0; i < board->findings->count; i++) {
        put_finding(text, &board->findings->items[i]);
        inflation |= board->findings->items[i].inflation;
    }
    wh_json_close_array(text);
    wh_json_key(text, "cautions");
    wh_json_open_array(text);
    for (const char *const *line = wh_cautions; inflation && *line; line++) {
        wh_json_item(text);
        wh_json_string(text, *line);
    }
    wh_json_close_array(text);
    wh_json_close(text);
}
