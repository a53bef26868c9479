#include "roster_report.h"

#include "json_writer.h"
#include "layouts.h"
#include "location_codes.h"
#include "roster_csv.h"
#include "sensor_id.h"

#include <stdio.h>
#include <string.h>

static unsigned sensors_of(const wh_unit *unit)
{
    unsigned count = 0;
    for (unsigned i = 0; i < unit->wheel_count; i++)
        count += unit->wheels[i].sensor[0] != '\0';
    return count;
}

void wh_roster_put_list(wh_text *text, const wh_roster *roster)
{
    wh_text_pad(text, "unit", 18);
    wh_text_pad(text, "kind", 9);
    wh_text_add(text, "sensors   axles\n");
    for (size_t i = 0; i < wh_roster_count(roster); i++) {
        const wh_unit *unit = wh_roster_at(roster, i);
        char sensors[24], axles[WH_AXLES_TEXT_SIZE];
        snprintf(sensors, sizeof sensors, "%u of %u", sensors_of(unit), unit->wheel_count);
        wh_text_pad(text, unit->name, 17);
        wh_text_add(text, " ");
        wh_text_pad(text, wh_unit_kind_name(unit->kind), 9);
        wh_text_pad(text, sensors, 10);
        wh_text_print(text, "%s\n", wh_axles_text(axles, unit->axle_count, unit->dual));
    }
}

typedef struct codes {
    char j1939[8], centre8[8], x12[8];
} codes;

/* "-" where a scheme has no code for the wheel. */
static codes codes_of(const wh_unit *unit, wh_position position)
{
    codes found = {"-", "-", "-"};
    uint8_t byte;
    char code[WH_X12_SIZE];
    if (wh_position_to_j1939(unit, position, &byte, NULL) == WH_OK)
        snprintf(found.j1939, sizeof found.j1939, "0x%02X", byte);
    if (wh_position_to_centre8(unit, position, &byte, NULL) == WH_OK)
        snprintf(found.centre8, sizeof found.centre8, "0x%02X", byte);
    if (wh_position_to_x12(unit, position, code, NULL) == WH_OK)
        snprintf(found.x12, sizeof found.x12, "%s", code);
    return found;
}

static void put_pressure(wh_text *text, wh_gauge pressure, wh_pressure_unit unit)
{
    char number[WH_FIXED_SIZE];
    const unsigned decimals = unit == WH_BAR ? 2 : 0;
    wh_text_pad(text, pressure.kpa > 0 ? wh_fixed(number, wh_kpa_to(pressure.kpa, unit), decimals) : "-", -8);
}

static void put_head(wh_text *text, const wh_unit *unit)
{
    char axles[WH_AXLES_TEXT_SIZE], number[WH_FIXED_SIZE];
    wh_text_print(text, "%s  %s, axles %s", unit->name, wh_unit_kind_name(unit->kind),
                  wh_axles_text(axles, unit->axle_count, unit->dual));
    if (unit->first_axle != 1)
        wh_text_print(text, ", called axle %u to %u", unit->first_axle, unit->first_axle + unit->axle_count - 1);
    if (unit->carrier_hz > 0)
        wh_text_print(text, ", sensors on %s MHz", wh_plain(number, unit->carrier_hz * 1e-6, 6));
    wh_text_add(text, "\n");
    if (unit->note[0])
        wh_text_print(text, "%s\n", unit->note);
}

static void put_wheel(wh_text *text, const wh_unit *unit, const wh_wheel *wheel, wh_pressure_unit pressure_unit,
                      bool with_codes)
{
    char position[WH_POSITION_SIZE], decimal[WH_ID_DECIMAL_SIZE] = "";
    wh_text_pad(text, wh_position_text(position, wheel->position), 7);
    if (with_codes) {
        const codes code = codes_of(unit, wheel->position);
        wh_text_pad(text, code.j1939, 7);
        wh_text_pad(text, code.centre8, 10);
        wh_text_pad(text, code.x12, 6);
    }
    wh_sensor_id_decimal(wheel->sensor, decimal);
    wh_text_pad(text, wheel->sensor[0] ? wheel->sensor : "none", 11);
    wh_text_pad(text, decimal, -12);
    put_pressure(text, wheel->target, pressure_unit);
    put_pressure(text, wheel->sidewall_max, pressure_unit);
    if (wheel->descriptor[0] || wheel->load_note[0])
        wh_text_print(text, "  %s%s%s", wheel->descriptor, wheel->descriptor[0] && wheel->load_note[0] ? ", " : "",
                      wheel->load_note);
    wh_text_add(text, "\n");
}

void wh_roster_put_unit(wh_text *text, const wh_unit *unit, wh_pressure_unit pressure_unit, bool with_codes)
{
    put_head(text, unit);
    wh_text_pad(text, "wheel", 7);
    wh_text_add(text, with_codes ? "J1939  centre-8  X12   " : "");
    wh_text_pad(text, "sensor", 11);
    wh_text_pad(text, "decimal", -12);
    wh_text_add(text, "  target sidewall\n");
    for (unsigned i = 0; i < unit->wheel_count; i++)
        put_wheel(text, unit, &unit->wheels[i], pressure_unit, with_codes);
    wh_text_print(text, "Pressures in %s gauge, cold: the target to set, and the maximum on the sidewall.\n",
                  wh_pressure_unit_name(pressure_unit));
}

void wh_roster_put_layouts(wh_text *text)
{
    char axles[WH_AXLES_TEXT_SIZE];
    for (size_t i = 0; i < wh_layout_count; i++) {
        const wh_layout *layout = &wh_layouts[i];
        wh_text_pad(text, layout->name, 25);
        wh_text_pad(text, wh_axles_text(axles, layout->axle_count, layout->dual), 31);
        wh_text_print(text, "%s\n", layout->summary);
    }
    wh_text_add(text, "Any other, up to 15 axles from the front: --layout \"single, dual, single\"\n");
}

void wh_roster_put_unit_json(wh_text *text, const wh_unit *unit)
{
    char axles[WH_AXLES_TEXT_SIZE];
    wh_json_open(text);
    wh_json_put_string(text, "record", "unit");
    wh_json_put_string(text, "unit", unit->name);
    wh_json_put_string(text, "kind", wh_unit_kind_name(unit->kind));
    wh_json_put_string(text, "axles", wh_axles_text(axles, unit->axle_count, unit->dual));
    wh_json_put_count(text, "first_axle", unit->first_axle);
    if (unit->carrier_hz > 0)
        wh_json_put_fixed(text, "carrier_hz", unit->carrier_hz, 0);
    wh_json_put_count(text, "wheels", unit->wheel_count);
    wh_json_put_count(text, "sensors", sensors_of(unit));
    if (unit->note[0])
        wh_json_put_string(text, "note", unit->note);
    wh_json_close(text);
    wh_text_add(text, "\n");
}

static void put_known(wh_text *text, const char *key, const char *string)
{
    if (string[0] && strcmp(string, "-") != 0)
        wh_json_put_string(text, key, string);
}

static void put_wheel_json(wh_text *text, const wh_unit *unit, const wh_wheel *wheel)
{
    char position[WH_POSITION_SIZE], decimal[WH_ID_DECIMAL_SIZE] = "";
    const codes code = codes_of(unit, wheel->position);
    wh_json_open(text);
    wh_json_put_string(text, "record", "wheel");
    wh_json_put_string(text, "unit", unit->name);
    wh_json_put_string(text, "position", wh_position_text(position, wheel->position));
    wh_sensor_id_decimal(wheel->sensor, decimal);
    put_known(text, "sensor", wheel->sensor);
    put_known(text, "sensor_decimal", decimal);
    put_known(text, "descriptor", wheel->descriptor);
    if (wheel->target.kpa > 0)
        wh_json_put_fixed(text, "target_gauge_kpa", wheel->target.kpa, 1);
    if (wheel->sidewall_max.kpa > 0)
        wh_json_put_fixed(text, "sidewall_max_gauge_kpa", wheel->sidewall_max.kpa, 1);
    put_known(text, "load_note", wheel->load_note);
    put_known(text, "j1939_location", code.j1939);
    put_known(text, "centre8_location", code.centre8);
    put_known(text, "x12_location", code.x12);
    wh_json_close(text);
    wh_text_add(text, "\n");
}

void wh_roster_put_wheels_json(wh_text *text, const wh_unit *unit)
{
    for (unsigned i = 0; i < unit->wheel_count; i++)
        put_wheel_json(text, unit, &unit->wheels[i]);
}
