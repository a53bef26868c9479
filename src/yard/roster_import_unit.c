/* The rows of one unit: its axles from the positions they name, then wheel by wheel. */
#include "roster_import.h"

#include "layouts.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* What the rows say about the unit as a whole. Rows (of the table) say where it was said first; 0: nowhere. */
typedef struct draft {
    const char *name;
    const wh_unit *known; /* on record already, or NULL */
    wh_unit_kind kind;
    size_t kind_row;
    wh_layout layout;
    size_t layout_row;
    unsigned last_axle;
    bool unclear;                  /* a position could not be read: what looks missing may be it */
    size_t axle_row[WH_AXLES_MAX]; /* by axle: first row with a wheel on it */
    bool dual[WH_AXLES_MAX];
} draft;

/* The cell of a column that must say the same in all rows of a unit, or nothing. NULL when it says nothing new. */
static const char *said_once(const wh_import *import, size_t row, wh_roster_column column, size_t *first_row,
                             char cell[WH_CSV_CELL_MAX + 1])
{
    char before[WH_CSV_CELL_MAX + 1];
    if (wh_import_trimmed(import, row, column, cell) == 0)
        return NULL;
    if (*first_row == 0) {
        *first_row = row;
        return cell;
    }
    wh_import_trimmed(import, *first_row, column, before);
    if (strcmp(before, cell) != 0)
        wh_import_complain(import, row, column, "make all rows of the unit say the same",
                           "the %s is '%.40s' here and '%.40s' in row %zu", wh_roster_column_name(column), cell, before,
                           *first_row + 1);
    return NULL;
}

static void take_kind(const wh_import *import, size_t row, draft *unit)
{
    char text[WH_CSV_CELL_MAX + 1];
    const char *cell = said_once(import, row, WH_COLUMN_KIND, &unit->kind_row, text);
    if (cell && !wh_unit_kind_parse(cell, &unit->kind))
        wh_import_complain(import, row, WH_COLUMN_KIND, "tractor, trailer, dolly or other",
                           "'%.40s' is no kind of unit", cell);
}

static void take_layout(const wh_import *import, size_t row, draft *unit)
{
    char text[WH_CSV_CELL_MAX + 1];
    wh_error error;
    const char *cell = said_once(import, row, WH_COLUMN_AXLES, &unit->layout_row, text);
    if (cell && wh_layout_parse(cell, &unit->layout, &error) != WH_OK)
        wh_import_complain(import, row, WH_COLUMN_AXLES, error.fix, "%s", error.what);
}

/* The position of a row: false when it names none, or a wrong one. */
static bool take_position(const wh_import *import, size_t row, draft *unit, wh_position *position)
{
    const char *cell = wh_import_cell(import, row, WH_COLUMN_POSITION);
    if (cell[strspn(cell, " ")] == '\0')
        return false;
    if (!wh_position_parse(cell, position)) {
        unit->unclear = true;
        wh_import_complain(import, row, WH_COLUMN_POSITION,
                           "axle from the front, L or R, then O or I on a dual axle: 1L, 2RO", "'%.30s' is no position",
                           cell);
        return false;
    }
    const unsigned axle = position->axle - 1u;
    const bool dual = position->place != WH_SINGLE;
    if (unit->axle_row[axle] && unit->dual[axle] != dual) {
        wh_import_complain(import, row, WH_COLUMN_POSITION, "an axle has either L and R, or LO, LI, RI and RO",
                           "axle %u is %s here and %s in row %zu", axle + 1, dual ? "dual" : "single",
                           dual ? "single" : "dual", unit->axle_row[axle] + 1);
        return false;
    }
    if (!unit->axle_row[axle]) {
        unit->axle_row[axle] = row;
        unit->dual[axle] = dual;
        unit->last_axle = axle + 1 > unit->last_axle ? axle + 1 : unit->last_axle;
    }
    return true;
}

/* Do the positions the rows name fit these axles? */
static bool fits(const draft *unit, unsigned axle_count, const bool *dual)
{
    for (unsigned axle = 0; axle < unit->last_axle; axle++) {
        if (unit->axle_row[axle] && (axle >= axle_count || dual[axle] != unit->dual[axle]))
            return false;
    }
    return true;
}

static void complain_axles(const wh_import *import, const draft *unit)
{
    char axles[WH_AXLES_TEXT_SIZE];
    wh_axles_text(axles, unit->layout.axle_count, unit->layout.dual);
    for (unsigned axle = 0; axle < unit->last_axle; axle++) {
        if (unit->axle_row[axle] && (axle >= unit->layout.axle_count || unit->layout.dual[axle] != unit->dual[axle]))
            wh_import_complain(import, unit->axle_row[axle], WH_COLUMN_POSITION, "correct the axles or the position",
                               "unit %.47s has no such wheel: its axles are %s", unit->name, axles);
    }
}

static void complain_gaps(const wh_import *import, const draft *unit, size_t first_row)
{
    static const char fix[] = "add the wheels of all axles, or a column 'axles' such as \"single, dual, dual\"";
    if (unit->last_axle == 0)
        wh_import_complain(import, first_row, WH_COLUMN_UNIT, fix, "no row of unit %.47s has a position", unit->name);
    for (unsigned axle = 0; axle < unit->last_axle; axle++) {
        if (!unit->axle_row[axle])
            wh_import_complain(import, first_row, WH_COLUMN_UNIT, fix,
                               "unit %.47s has wheels on axle %u but none on axle %u", unit->name, unit->last_axle,
                               axle + 1);
    }
}

/* The unit without what its wheels carry: axles as the table says in so many words, else as they are on record if that fits
 * the wheels named, else as the wheels named show. Units with complaints are still made, so that their rows are read for
 * further mistakes. */
static wh_status make_unit(const wh_import *import, const draft *unit, size_t first_row, wh_unit *made)
{
    unsigned axle_count = unit->last_axle;
    const bool *dual = unit->dual;
    if (unit->layout.axle_count > 0) {
        axle_count = unit->layout.axle_count;
        dual = unit->layout.dual;
        complain_axles(import, unit);
    } else if (unit->known && fits(unit, unit->known->axle_count, unit->known->dual)) {
        axle_count = unit->known->axle_count;
        dual = unit->known->dual;
    } else if (!unit->layout_row && !unit->unclear) {
        complain_gaps(import, unit, first_row);
    }
    const wh_unit_kind standard = unit->known               ? unit->known->kind
                                  : unit->layout.axle_count ? unit->layout.kind
                                                            : WH_OTHER_UNIT;
    wh_error error;
    const wh_status status = wh_unit_make(made, unit->name, unit->kind_row ? unit->kind : standard,
                                          axle_count ? axle_count : 1, dual, &error);
    if (status != WH_OK)
        wh_import_complain(import, first_row, WH_COLUMN_UNIT, error.fix, "%s", error.what);
    return status;
}

/* What was on record and the table may not speak of. */
static void keep_known(const wh_unit *known, wh_unit *made)
{
    made->first_axle = known->first_axle;
    made->carrier_hz = known->carrier_hz;
    memcpy(made->note, known->note, sizeof made->note);
    for (unsigned i = 0; i < made->wheel_count; i++) {
        const wh_wheel *wheel = wh_unit_wheel_const(known, made->wheels[i].position);
        if (wheel)
            made->wheels[i] = *wheel;
    }
}

static void take_first_axle(wh_import *import, const wh_import_row *rows, size_t count, wh_unit *unit)
{
    char text[WH_CSV_CELL_MAX + 1];
    size_t first = 0;
    for (size_t i = 0; i < count; i++) {
        double number;
        bool empty;
        if (!said_once(import, rows[i].row, WH_COLUMN_FIRST_AXLE, &first, text) ||
            !wh_import_number(import, rows[i].row, WH_COLUMN_FIRST_AXLE, &number, &empty))
            continue;
        if (number >= 1.0 && number <= 99.0 && number == floor(number))
            unit->first_axle = (unsigned)number;
        else
            wh_import_complain(import, rows[i].row, WH_COLUMN_FIRST_AXLE,
                               "1, or what people call the unit's front axle, e.g. 4 behind a three-axle tractor",
                               "'%.20s' is no axle's number", text);
    }
}

static void take_carrier(wh_import *import, const wh_import_row *rows, size_t count, wh_unit *unit)
{
    char text[WH_CSV_CELL_MAX + 1];
    size_t first = 0;
    if (import->columns.at[WH_COLUMN_CARRIER] >= 0)
        unit->carrier_hz = 0.0;
    for (size_t i = 0; i < count; i++) {
        double number;
        bool empty;
        if (!said_once(import, rows[i].row, WH_COLUMN_CARRIER, &first, text) ||
            !wh_import_number(import, rows[i].row, WH_COLUMN_CARRIER, &number, &empty))
            continue;
        const double hz = round(number * import->columns.carrier_scale);
        if (hz >= 24e6 && hz <= 1.766e9) /* what the dongles tune to */
            unit->carrier_hz = hz;
        else
            wh_import_complain(import, rows[i].row, WH_COLUMN_CARRIER,
                               "such as 433.92 or 315 in a column 'carrier MHz'",
                               "%g MHz is nowhere a dongle can listen", hz * 1e-6);
    }
}

static void take_unit_note(const wh_import *import, const wh_import_row *rows, size_t count, wh_unit *unit)
{
    char text[WH_CSV_CELL_MAX + 1];
    size_t first = 0;
    if (import->columns.at[WH_COLUMN_UNIT_NOTE] >= 0)
        unit->note[0] = '\0';
    for (size_t i = 0; i < count; i++) {
        if (said_once(import, rows[i].row, WH_COLUMN_UNIT_NOTE, &first, text))
            wh_import_note(import, rows[i].row, WH_COLUMN_UNIT_NOTE, unit->note, sizeof unit->note);
    }
}

/* Does a row without a position say something that belongs to a wheel? */
static bool speaks_of_wheel(const wh_import *import, size_t row)
{
    static const wh_roster_column columns[] = {WH_COLUMN_SENSOR, WH_COLUMN_DESCRIPTOR, WH_COLUMN_TARGET,
                                               WH_COLUMN_SIDEWALL, WH_COLUMN_LOAD_NOTE};
    for (size_t i = 0; i < sizeof columns / sizeof columns[0]; i++) {
        const char *cell = wh_import_cell(import, row, columns[i]);
        if (cell[strspn(cell, " ")] != '\0')
            return true;
    }
    return false;
}

static void take_wheels(wh_import *import, const wh_import_row *rows, size_t count, wh_unit *unit)
{
    size_t taken[WH_WHEELS_MAX] = {0};
    for (size_t i = 0; i < count; i++) {
        const size_t row = rows[i].row;
        const char *cell = wh_import_cell(import, row, WH_COLUMN_POSITION);
        wh_position position;
        if (!wh_position_parse(cell, &position)) {
            if (cell[strspn(cell, " ")] == '\0' && speaks_of_wheel(import, row))
                wh_import_complain(import, row, WH_COLUMN_POSITION, "say which wheel the row is about",
                                   "the row has no position");
            continue;
        }
        wh_wheel *wheel = wh_unit_wheel(unit, position);
        if (!wheel)
            continue; /* complained about with the axles */
        const size_t index = (size_t)(wheel - unit->wheels);
        if (taken[index])
            wh_import_complain(import, row, WH_COLUMN_POSITION, "delete one of the rows",
                               "unit %.47s has this wheel in row %zu already", unit->name, taken[index] + 1);
        taken[index] = row;
        import->named[import->named_count++] = (wh_import_named){rows[i].unit, position, row};
        wh_import_wheel(import, row, wheel);
    }
}

wh_status wh_import_unit(wh_import *import, const wh_import_row *rows, size_t count, wh_roster *roster)
{
    draft unit = {.name = rows[0].unit};
    unit.known = import->existing ? wh_roster_find(import->existing, unit.name) : NULL;
    for (size_t i = 0; i < count; i++) {
        wh_position position;
        take_kind(import, rows[i].row, &unit);
        take_layout(import, rows[i].row, &unit);
        take_position(import, rows[i].row, &unit, &position);
    }
    wh_unit *made = malloc(sizeof *made);
    if (!made)
        return WH_ERR_MEMORY;
    wh_status status = WH_OK;
    if (make_unit(import, &unit, rows[0].row, made) == WH_OK) {
        if (unit.known)
            keep_known(unit.known, made);
        take_first_axle(import, rows, count, made);
        take_carrier(import, rows, count, made);
        take_unit_note(import, rows, count, made);
        take_wheels(import, rows, count, made);
        import->tally->units++;
        import->tally->new_units += unit.known == NULL;
        wh_error error;
        status = wh_roster_put(roster, made, &error);
        if (status == WH_ERR_LIMIT)
            wh_import_complain(import, rows[0].row, WH_COLUMN_UNIT, error.fix, "%s", error.what);
    }
    free(made);
    return status == WH_ERR_MEMORY ? status : WH_OK;
}
