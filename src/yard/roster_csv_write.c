#include "roster_csv.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *const pressure_units[WH_PRESSURE_UNIT_COUNT] = {
    [WH_KPA] = "kPa", [WH_BAR] = "bar", [WH_PSI] = "psi"};

const char *wh_pressure_exact(char text[WH_PRESSURE_TEXT_SIZE], wh_gauge pressure, wh_pressure_unit unit)
{
    text[0] = '\0';
    if (!(pressure.kpa > 0.0))
        return text;
    const double value = wh_kpa_to(pressure.kpa, unit);
    for (unsigned decimals = 0; decimals <= 6; decimals++) {
        const double power = pow(10.0, decimals);
        wh_fixed(text, value, decimals);
        if (fabs(wh_kpa_from(round(value * power) / power, unit) - pressure.kpa) < 1e-4)
            break;
    }
    return text;
}

static void put_header(wh_csv_writer *writer, wh_pressure_unit unit)
{
    static const char *const before[] = {"unit", "kind", "first axle", "position", "sensor hex", "descriptor"};
    char name[40];
    for (size_t i = 0; i < sizeof before / sizeof before[0]; i++)
        wh_csv_put(writer, before[i]);
    snprintf(name, sizeof name, "target %s", pressure_units[unit]);
    wh_csv_put(writer, name);
    snprintf(name, sizeof name, "sidewall maximum %s", pressure_units[unit]);
    wh_csv_put(writer, name);
    wh_csv_put(writer, "load note");
    wh_csv_put(writer, "carrier MHz");
    wh_csv_put(writer, "unit note");
    wh_csv_end_row(writer);
}

/* With 0x a spreadsheet takes an ID for text, and leaves its digits and zeros alone. */
static void put_sensor(wh_csv_writer *writer, const char *sensor)
{
    char text[WH_SENSOR_SIZE + 2];
    snprintf(text, sizeof text, "%s%s", *sensor && *sensor != '~' ? "0x" : "", sensor);
    wh_csv_put(writer, text);
}

static void put_wheel(wh_csv_writer *writer, const wh_unit *unit, const wh_wheel *wheel, wh_pressure_unit pressure_unit)
{
    char position[WH_POSITION_SIZE], number[WH_FIXED_SIZE];
    wh_csv_put(writer, unit->name);
    wh_csv_put(writer, wh_unit_kind_name(unit->kind));
    snprintf(number, sizeof number, "%u", unit->first_axle);
    wh_csv_put_number(writer, number);
    wh_csv_put(writer, wh_position_text(position, wheel->position));
    put_sensor(writer, wheel->sensor);
    wh_csv_put(writer, wheel->descriptor);
    wh_csv_put_number(writer, wh_pressure_exact(number, wheel->target, pressure_unit));
    wh_csv_put_number(writer, wh_pressure_exact(number, wheel->sidewall_max, pressure_unit));
    wh_csv_put(writer, wheel->load_note);
    wh_csv_put_number(writer, unit->carrier_hz > 0.0 ? wh_plain(number, unit->carrier_hz * 1e-6, 6) : "");
    wh_csv_put(writer, unit->note);
    wh_csv_end_row(writer);
}

void wh_roster_csv_write(wh_text *out, const wh_roster *roster, wh_pressure_unit unit)
{
    wh_text rows = {0};
    wh_csv_writer writer = {&rows, false};
    put_header(&writer, unit);
    for (size_t i = 0; i < wh_roster_count(roster); i++) {
        const wh_unit *one = wh_roster_at(roster, i);
        for (unsigned w = 0; w < one->wheel_count; w++)
            put_wheel(&writer, one, &one->wheels[w], unit);
    }
    bool plain = true;
    for (size_t i = 0; i < rows.length && plain; i++)
        plain = (unsigned char)rows.data[i] < 0x80;
    if (!plain)
        wh_text_add(out, "\xEF\xBB\xBF");
    if (rows.length > 0)
        wh_text_add_bytes(out, rows.data, rows.length);
    out->failed = out->failed || rows.failed;
    wh_text_free(&rows);
}
