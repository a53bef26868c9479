#include "roster_columns.h"

#include "nearest_word.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

#define HEADER_SIZE 48

static const char *const column_names[WH_COLUMN_COUNT] = {
    [WH_COLUMN_UNIT] = "unit",
    [WH_COLUMN_KIND] = "kind",
    [WH_COLUMN_AXLES] = "axles",
    [WH_COLUMN_FIRST_AXLE] = "first axle",
    [WH_COLUMN_POSITION] = "position",
    [WH_COLUMN_SENSOR] = "sensor",
    [WH_COLUMN_DESCRIPTOR] = "descriptor",
    [WH_COLUMN_TARGET] = "target",
    [WH_COLUMN_SIDEWALL] = "sidewall maximum",
    [WH_COLUMN_LOAD_NOTE] = "load note",
    [WH_COLUMN_CARRIER] = "carrier",
    [WH_COLUMN_UNIT_NOTE] = "unit note",
};

/* What people are likely to write as well. */
static const struct {
    const char *name;
    wh_roster_column column;
} other_names[] = {
    {"sensor id", WH_COLUMN_SENSOR},
    {"id", WH_COLUMN_SENSOR},
    {"wheel", WH_COLUMN_POSITION},
    {"wheel position", WH_COLUMN_POSITION},
    {"target pressure", WH_COLUMN_TARGET},
    {"cold pressure", WH_COLUMN_TARGET},
    {"sidewall max", WH_COLUMN_SIDEWALL},
    {"layout", WH_COLUMN_AXLES},
    {"unit kind", WH_COLUMN_KIND},
    {"frequency", WH_COLUMN_CARRIER},
    {"carrier frequency", WH_COLUMN_CARRIER},
    {"note", WH_COLUMN_UNIT_NOTE},
};

const char *wh_roster_column_name(wh_roster_column column)
{
    return column_names[column];
}

/* "Target (kPa gauge)" and "target_kpa" both become "target kpa". */
static void plain_words(char words[HEADER_SIZE], const char *cell)
{
    size_t length = 0;
    for (; *cell && length < HEADER_SIZE - 1; cell++) {
        if (isalnum((unsigned char)*cell) || (unsigned char)*cell >= 0x80)
            words[length++] = (char)tolower((unsigned char)*cell);
        else if (length > 0 && words[length - 1] != ' ')
            words[length++] = ' ';
    }
    while (length > 0 && words[length - 1] == ' ')
        length--;
    words[length] = '\0';
    if (length > 6 && strcmp(words + length - 6, " gauge") == 0)
        words[length - 6] = '\0';
}

typedef enum qualifier { Q_NONE, Q_HEX, Q_DECIMAL, Q_KPA, Q_BAR, Q_PSI, Q_HZ, Q_KHZ, Q_MHZ } qualifier;

/* Cut a unit or number base off the end. */
static qualifier take_qualifier(char words[HEADER_SIZE])
{
    static const struct {
        const char *word;
        qualifier meaning;
    } qualifiers[] = {{"hex", Q_HEX}, {"hexadecimal", Q_HEX}, {"decimal", Q_DECIMAL}, {"dec", Q_DECIMAL},
                      {"kpa", Q_KPA}, {"bar", Q_BAR},         {"psi", Q_PSI},         {"hz", Q_HZ},
                      {"khz", Q_KHZ}, {"mhz", Q_MHZ}};
    char *blank = strrchr(words, ' ');
    for (size_t i = 0; blank && i < sizeof qualifiers / sizeof qualifiers[0]; i++) {
        if (strcmp(blank + 1, qualifiers[i].word) == 0) {
            *blank = '\0';
            return qualifiers[i].meaning;
        }
    }
    return Q_NONE;
}

static int find_column(const char *words)
{
    for (int i = 0; i < WH_COLUMN_COUNT; i++) {
        if (strcmp(words, column_names[i]) == 0)
            return i;
    }
    for (size_t i = 0; i < sizeof other_names / sizeof other_names[0]; i++) {
        if (strcmp(words, other_names[i].name) == 0)
            return (int)other_names[i].column;
    }
    return -1;
}

/* A column nobody knows: likely misspelt, or the fleet's own. */
static void complain_unknown(wh_csv_complaints *complaints, unsigned row, unsigned column, const char *cell,
                             const char *words)
{
    const char *names[WH_COLUMN_COUNT];
    memcpy(names, column_names, sizeof names);
    const char *nearest = wh_nearest_word(words, names, WH_COLUMN_COUNT);
    char fix[80];
    snprintf(fix, sizeof fix, "did you mean '%s'?", nearest ? nearest : "");
    if (nearest)
        wh_csv_complain(complaints, row, column, fix, "there is no column '%.40s'", cell);
    else
        wh_csv_warn(complaints, row, column, NULL, "the column '%.40s' is none of a roster's: it is left out", cell);
}

static bool take_pressure_unit(qualifier said, wh_pressure_unit *unit)
{
    static const wh_pressure_unit units[] = {[Q_KPA] = WH_KPA, [Q_BAR] = WH_BAR, [Q_PSI] = WH_PSI};
    if (said < Q_KPA || said > Q_PSI)
        return false;
    *unit = units[said];
    return true;
}

/* NULL when the qualifier fits the column, else what to write. */
static const char *take_meaning(wh_roster_columns *columns, int column, qualifier said)
{
    switch (column) {
    case WH_COLUMN_SENSOR:
        if (said == Q_HEX || said == Q_DECIMAL)
            columns->id_base = said == Q_HEX ? WH_ID_HEX : WH_ID_DECIMAL;
        return said <= Q_DECIMAL ? NULL : "write 'sensor hex' or 'sensor decimal'";
    case WH_COLUMN_TARGET:
        return take_pressure_unit(said, &columns->target_unit) ? NULL
                                                               : "write 'target kPa', 'target bar' or 'target psi'";
    case WH_COLUMN_SIDEWALL:
        return take_pressure_unit(said, &columns->sidewall_unit)
                   ? NULL
                   : "write 'sidewall maximum kPa', 'sidewall maximum bar' or 'sidewall maximum psi'";
    case WH_COLUMN_CARRIER:
        columns->carrier_scale = said == Q_MHZ ? 1e6 : said == Q_KHZ ? 1e3 : 1.0;
        return said >= Q_HZ ? NULL : "write 'carrier MHz'";
    default: return said == Q_NONE ? NULL : "leave the unit out";
    }
}

static bool has_content(const wh_csv *table, size_t header, size_t column)
{
    for (size_t row = header + 1; row < table->row_count; row++) {
        const char *cell = wh_csv_at(table, row, column);
        if (cell[strspn(cell, " ")] != '\0')
            return true;
    }
    return false;
}

static void read_cell(const wh_csv *table, size_t column, wh_roster_columns *columns, wh_csv_complaints *complaints)
{
    const char *cell = wh_csv_at(table, columns->header, column);
    const unsigned row = (unsigned)columns->header + 1, number = (unsigned)column + 1;
    char words[HEADER_SIZE];
    plain_words(words, cell);
    if (words[0] == '\0') {
        if (has_content(table, columns->header, column))
            wh_csv_warn(complaints, row, number, NULL, "the column has no name: it is left out");
        return;
    }
    const qualifier said = take_qualifier(words);
    const int found = find_column(words);
    if (found < 0) {
        complain_unknown(complaints, row, number, cell, words);
        return;
    }
    if (columns->at[found] >= 0) {
        wh_csv_complain(complaints, row, number, "delete one of them", "two columns say '%s'", column_names[found]);
        return;
    }
    columns->at[found] = (int)column;
    const char *fix = take_meaning(columns, found, said);
    if (fix)
        wh_csv_complain(complaints, row, number, fix,
                        said == Q_NONE ? "the column '%.40s' does not say its unit"
                                       : "the column '%.40s' has a unit that it cannot have",
                        cell);
}

bool wh_roster_columns_read(const wh_csv *table, wh_id_base id_base, wh_roster_columns *columns,
                            wh_csv_complaints *complaints)
{
    const unsigned errors = complaints->errors;
    *columns = (wh_roster_columns){.id_base = id_base, .carrier_scale = 1e6};
    for (int i = 0; i < WH_COLUMN_COUNT; i++)
        columns->at[i] = -1;
    while (columns->header < table->row_count && wh_csv_row_blank(table, columns->header))
        columns->header++;
    if (columns->header == table->row_count) {
        wh_csv_complain(complaints, 0, 0,
                        "'wheelhark roster export' of a roster with one unit shows what a table looks like",
                        "the table is empty");
        return false;
    }
    for (size_t column = 0; column < table->rows[columns->header].count; column++)
        read_cell(table, column, columns, complaints);
    static const char first_row[] = "the first row names the columns: unit, position, sensor hex, target kPa, ...";
    if (columns->at[WH_COLUMN_UNIT] < 0)
        wh_csv_complain(complaints, (unsigned)columns->header + 1, 0, first_row, "there is no column 'unit'");
    if (columns->at[WH_COLUMN_POSITION] < 0 && columns->at[WH_COLUMN_AXLES] < 0)
        wh_csv_complain(complaints, (unsigned)columns->header + 1, 0, first_row, "there is no column 'position'");
    return complaints->errors == errors;
}
