/* What a row of a roster table says about its wheel. */
#include "roster_import.h"

#include <stdio.h>
#include <string.h>

#define PRESSURE_LEAST_KPA 50.0 /* wider than any road tire: what is outside is a mistake of units or typing */
#define PRESSURE_MOST_KPA  2000.0

wh_status wh_pressure_check(double value, wh_pressure_unit unit, wh_gauge *pressure, wh_error *error)
{
    const double kpa = wh_kpa_from(value, unit);
    if (kpa >= PRESSURE_LEAST_KPA && kpa <= PRESSURE_MOST_KPA) {
        pressure->kpa = kpa;
        return WH_OK;
    }
    char fix[80] = "a cold gauge pressure, such as 724 kPa, 7.24 bar or 105 psi";
    for (int other = 0; other < WH_PRESSURE_UNIT_COUNT; other++) {
        const double meant = wh_kpa_from(value, (wh_pressure_unit)other);
        if (meant >= 150.0 && meant <= 1100.0)
            snprintf(fix, sizeof fix, "is it in %s?", wh_pressure_unit_name((wh_pressure_unit)other));
    }
    return wh_fail(error, WH_ERR_DATA, fix, "%g %s is no tire's pressure", value, wh_pressure_unit_name(unit));
}

static void take_pressure(wh_import *import, size_t row, wh_roster_column column, wh_pressure_unit unit,
                          wh_gauge *pressure)
{
    double value;
    bool empty;
    wh_error error;
    if (import->columns.at[column] < 0)
        return;
    if (!wh_import_number(import, row, column, &value, &empty)) {
        pressure->kpa = 0.0;
        return;
    }
    if (value == 0.0)
        wh_import_complain(import, row, column, "leave the cell empty when none is on record",
                           "0 is no tire's pressure");
    else if (wh_pressure_check(value, unit, pressure, &error) != WH_OK)
        wh_import_complain(import, row, column, error.fix, "%s", error.what);
}

/* Digits of a hex ID in a cell, or 0. */
static size_t hex_length(const char *cell)
{
    static const char hex[] = "0123456789abcdefABCDEF";
    cell += strspn(cell, " ");
    if (cell[0] == '0' && (cell[1] == 'x' || cell[1] == 'X'))
        cell += 2;
    const size_t length = strspn(cell, hex);
    return cell[length + strspn(cell + length, " ")] == '\0' ? length : 0;
}

void wh_import_lengths(wh_import *import)
{
    size_t counts[WH_ID_DIGITS_MAX + 1] = {0};
    for (size_t row = import->columns.header + 1; row < import->table->row_count; row++) {
        const size_t length = hex_length(wh_import_cell(import, row, WH_COLUMN_SENSOR));
        if (length > 0 && length <= WH_ID_DIGITS_MAX)
            counts[length]++;
    }
    for (size_t length = 1; length <= WH_ID_DIGITS_MAX; length++) {
        if (counts[length] >= counts[import->usual_digits] && counts[length] > 0)
            import->usual_digits = length;
    }
}

/* A spreadsheet drops the zeros in front of an ID that is made of digits only. */
static bool lost_zeros(const wh_import *import, const char *cell, size_t expected)
{
    cell += strspn(cell, " ");
    const size_t length = strspn(cell, "0123456789");
    return import->columns.id_base == WH_ID_HEX && length > 0 && cell[length + strspn(cell + length, " ")] == '\0' &&
           length < expected;
}

static void take_sensor(wh_import *import, size_t row, wh_wheel *wheel, unsigned known_digits)
{
    char cell[WH_CSV_CELL_MAX + 1];
    wh_error error;
    wheel->sensor[0] = '\0';
    if (wh_import_trimmed(import, row, WH_COLUMN_SENSOR, cell) == 0)
        return;
    const size_t expected = known_digits ? known_digits : import->usual_digits;
    if (lost_zeros(import, cell, expected)) {
        wh_import_complain(
            import, row, WH_COLUMN_SENSOR,
            "write it as its source has it, with all zeros and 0x before it: a spreadsheet leaves that "
            "alone",
            "'%.40s' has %zu hex digits where %zu are usual: a spreadsheet may have dropped zeros in front", cell,
            strlen(cell), expected);
        return;
    }
    const unsigned asked = import->options->id_digits ? import->options->id_digits : WH_ID_DIGITS_STANDARD;
    if (wh_sensor_id_parse(cell, import->columns.id_base, known_digits ? known_digits : asked, wheel->sensor, &error) !=
        WH_OK) {
        wh_import_complain(import, row, WH_COLUMN_SENSOR, error.fix, "%s", error.what);
        return;
    }
    import->tally->sensors++;
    if (known_digits && wheel->sensor[0] != '~' && strlen(wheel->sensor) != known_digits)
        wh_import_warn(import, row, WH_COLUMN_SENSOR, "is the descriptor right?",
                       "%s has %zu hex digits; IDs of %s have %u", wheel->sensor, strlen(wheel->sensor),
                       wheel->descriptor, known_digits);
}

/* Hex digits of the IDs of the row's kind of sensor; 0: not known. */
static unsigned take_descriptor(const wh_import *import, size_t row, wh_wheel *wheel)
{
    const wh_roster_csv_options *options = import->options;
    if (import->columns.at[WH_COLUMN_DESCRIPTOR] >= 0) {
        wheel->descriptor[0] = '\0';
        wh_import_note(import, row, WH_COLUMN_DESCRIPTOR, wheel->descriptor, sizeof wheel->descriptor);
    }
    if (!options->digits_of || !wheel->descriptor[0])
        return 0;
    const unsigned digits = options->digits_of(options->context, wheel->descriptor);
    if (digits == 0)
        wh_import_warn(import, row, WH_COLUMN_DESCRIPTOR, "'wheelhark descriptor list' lists them",
                       "there is no descriptor '%.47s' here", wheel->descriptor);
    return digits;
}

void wh_import_wheel(wh_import *import, size_t row, wh_wheel *wheel)
{
    import->tally->wheels++;
    const unsigned digits = take_descriptor(import, row, wheel);
    if (import->columns.at[WH_COLUMN_SENSOR] >= 0)
        take_sensor(import, row, wheel, digits);
    take_pressure(import, row, WH_COLUMN_TARGET, import->columns.target_unit, &wheel->target);
    take_pressure(import, row, WH_COLUMN_SIDEWALL, import->columns.sidewall_unit, &wheel->sidewall_max);
    if (import->columns.at[WH_COLUMN_LOAD_NOTE] >= 0)
        wh_import_note(import, row, WH_COLUMN_LOAD_NOTE, wheel->load_note, sizeof wheel->load_note);
    if (wheel->sidewall_max.kpa > 0.0 && wheel->target.kpa > wheel->sidewall_max.kpa + 0.05)
        wh_import_warn(import, row, WH_COLUMN_TARGET, "look at the sidewall",
                       "the target is above the maximum marked on the sidewall");
}
