#include "truth.h"

#include "decimal.h"
#include "quantity.h"
#include "wheelhark/units.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define CELL_SIZE 96

typedef enum part { PART_RECORDING, PART_TIME, PART_SENSOR, PART_PRESSURE, PART_TEMPERATURE, PART_AIR, PARTS } part;

static const char *const part_names[PARTS] = {"recording", "time", "sensor", "pressure", "temperature", "air pressure"};

typedef struct reader {
    wh_csv table;
    wh_csv_complaints *complaints;
    const char *const *recordings;
    size_t recording_count;
    int column[PARTS]; /* -1: none */
    char unit[PARTS][16];
    wh_truth *out;
} reader;

/* Without blanks at either end; lower case when asked for. Cut to the capacity. */
static void tidy(const char *text, bool lower, char *out, size_t capacity)
{
    while (isspace((unsigned char)*text))
        text++;
    size_t length = 0;
    for (; *text && length + 1 < capacity; text++)
        out[length++] = lower && *text >= 'A' && *text <= 'Z' ? (char)(*text + 32) : *text;
    while (length > 0 && isspace((unsigned char)out[length - 1]))
        length--;
    out[length] = '\0';
}

/* "pressure (kPa)" is part "pressure" with the unit "kPa". */
static bool read_heading(reader *r, unsigned column, const char *cell)
{
    char lower[CELL_SIZE], plain[CELL_SIZE];
    tidy(cell, true, lower, sizeof lower);
    tidy(cell, false, plain, sizeof plain);
    if (!lower[0])
        return true;
    for (unsigned i = 0; i < PARTS; i++) {
        const size_t length = strlen(part_names[i]);
        if (strncmp(lower, part_names[i], length) != 0 || isalnum((unsigned char)lower[length]))
            continue;
        if (r->column[i] >= 0) {
            wh_csv_complain(r->complaints, 1, column + 1, "keep one of them", "a second column '%s'", part_names[i]);
            return false;
        }
        r->column[i] = (int)column;
        const char *unit = plain + length + strspn(plain + length, " ([,");
        snprintf(r->unit[i], sizeof r->unit[i], "%.*s", (int)strcspn(unit, ")] "), unit);
        return true;
    }
    wh_csv_complain(r->complaints, 1, column + 1,
                    "the columns are recording, time, sensor, pressure, temperature and air pressure",
                    "no column is called '%s'", plain);
    return false;
}

static void read_headings(reader *r)
{
    for (unsigned i = 0; i < PARTS; i++)
        r->column[i] = -1;
    if (r->table.row_count == 0) {
        wh_csv_complain(r->complaints, 0, 0, "the first row names the columns", "the table is empty");
        return;
    }
    for (unsigned c = 0; c < r->table.rows[0].count; c++)
        read_heading(r, c, wh_csv_at(&r->table, 0, c));
    if (r->column[PART_SENSOR] < 0 && r->column[PART_PRESSURE] < 0 && r->column[PART_TEMPERATURE] < 0)
        wh_csv_complain(r->complaints, 1, 0, "add a column sensor, pressure or temperature", "the table tells nothing");
}

/* The cell of a part, tidied; false when empty or no such column. */
static bool cell_of(const reader *r, size_t row, part which, char out[CELL_SIZE])
{
    out[0] = '\0';
    if (r->column[which] >= 0)
        tidy(wh_csv_at(&r->table, row, (size_t)r->column[which]), false, out, CELL_SIZE);
    return out[0] != '\0';
}

static void complain_at(const reader *r, size_t row, part which, const char *fix, const char *what, const char *cell)
{
    wh_csv_complain(r->complaints, (unsigned)row + 1, (unsigned)r->column[which] + 1, fix, "%s: '%s'", what, cell);
}

/* "rec/dock.sigmf-meta" and "dock" are the same recording. */
static size_t stem_of(const char *path, const char **stem)
{
    const char *slash = strrchr(path, '/');
    *stem = slash ? slash + 1 : path;
    const char *dot = strrchr(*stem, '.');
    return dot && dot != *stem ? (size_t)(dot - *stem) : strlen(*stem);
}

static int find_recording(const reader *r, const char *name)
{
    const char *wanted, *have;
    const size_t length = stem_of(name, &wanted);
    for (size_t i = 0; i < r->recording_count; i++)
        if (strcmp(r->recordings[i], name) == 0)
            return (int)i;
    for (size_t i = 0; i < r->recording_count; i++) {
        const size_t other = stem_of(r->recordings[i], &have);
        if ((other == length && strncmp(have, wanted, length) == 0) ||
            (strlen(name) == other && strncmp(have, name, other) == 0))
            return (int)i;
    }
    return -1;
}

/* Days from 1970-01-01 to a date of the Gregorian calendar. */
static int64_t days_of(int64_t year, int64_t month, int64_t day)
{
    const int64_t y = month <= 2 ? year - 1 : year, era = (y >= 0 ? y : y - 399) / 400, of_era = y - era * 400;
    const int64_t of_year = (153 * (month + (month > 2 ? -3 : 9)) + 2) / 5 + day - 1;
    return era * 146097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719468;
}

static bool read_utc(const char *text, int64_t *utc_us)
{
    unsigned part_of[5];
    int used = 0;
    double seconds;
    if (sscanf(text, "%4u-%2u-%2u%*1[T ]%2u:%2u:%n", &part_of[0], &part_of[1], &part_of[2], &part_of[3], &part_of[4],
               &used) < 5 ||
        used == 0)
        return false;
    const size_t length = wh_decimal_read(text + used, &seconds);
    const char *rest = text + used + length;
    if (length == 0 || (strcmp(rest, "Z") != 0 && strcmp(rest, "") != 0) || part_of[1] < 1 || part_of[1] > 12 ||
        part_of[2] < 1 || part_of[2] > 31 || part_of[3] > 23 || part_of[4] > 59 || !(seconds >= 0.0 && seconds < 61.0))
        return false;
    *utc_us =
        ((days_of(part_of[0], part_of[1], part_of[2]) * 24 + part_of[3]) * 60 + part_of[4]) * 60 * INT64_C(1000000) +
        (int64_t)(seconds * 1e6);
    return true;
}

static void read_time(const reader *r, size_t row, wh_truth_row *to)
{
    char cell[CELL_SIZE];
    double seconds;
    if (!cell_of(r, row, PART_TIME, cell))
        return;
    const size_t length = wh_decimal_read(cell, &seconds);
    to->has_time = true;
    if (length > 0 && cell[length] == '\0')
        to->at_s = seconds;
    else if (wh_quantity_read(cell, WH_DIM_DURATION, &seconds) == WH_QUANTITY_OK)
        to->at_s = seconds;
    else if (read_utc(cell, &to->at_utc_us))
        to->is_utc = true;
    else
        complain_at(r, row, PART_TIME, "seconds from the start of the recording, or UTC as 2026-03-02T07:15:04Z",
                    "no time", cell);
}

/* A number with the cell's own unit or the column's. "absolute" at the end of a pressure is taken off and told. */
static bool read_measured(const reader *r, size_t row, part which, double least, double most, double *value,
                          bool *absolute)
{
    char cell[CELL_SIZE], with_unit[CELL_SIZE + 16];
    if (!cell_of(r, row, which, cell))
        return false;
    char *word = strstr(cell, " absolute");
    if (absolute && word) {
        *absolute = true;
        *word = '\0';
    }
    double number;
    const wh_csv_number_kind kind = wh_csv_number(&r->table, cell, &number);
    const wh_dimension dimension = which == PART_TEMPERATURE ? WH_DIM_TEMPERATURE : WH_DIM_PRESSURE;
    snprintf(with_unit, sizeof with_unit, "%s", cell);
    if (kind == WH_CSV_NUMBER || kind == WH_CSV_COMMA_NUMBER) {
        if (!r->unit[which][0]) {
            complain_at(r, row, which,
                        which == PART_TEMPERATURE ? "write 18 degC, or name the column 'temperature degC'"
                                                  : "write 724 kPa, or name the column 'pressure kPa'",
                        "a number without unit", cell);
            return false;
        }
        snprintf(with_unit, sizeof with_unit, "%.9g %s", number, r->unit[which]);
        for (char *c = with_unit; *c; c++) /* %g writes the locale's decimal sign */
            if (*c == ',')
                *c = '.';
    }
    if (wh_quantity_read(with_unit, dimension, value) != WH_QUANTITY_OK) {
        complain_at(r, row, which, wh_dimension_units(dimension), "not understood", with_unit);
        return false;
    }
    if (!(*value >= least && *value <= most)) {
        complain_at(r, row, which, "check number and unit", "no such value is possible", with_unit);
        return false;
    }
    return true;
}

static void read_row(reader *r, size_t row)
{
    char cell[CELL_SIZE];
    wh_truth_row to = {.line = (unsigned)row + 1, .recording = -1};
    if (cell_of(r, row, PART_RECORDING, cell)) {
        to.recording = find_recording(r, cell);
        if (to.recording < 0)
            complain_at(r, row, PART_RECORDING, "name one of the files that are studied", "no such recording", cell);
    }
    read_time(r, row, &to);
    if (cell_of(r, row, PART_SENSOR, cell))
        snprintf(to.sensor, sizeof to.sensor, "%.*s", (int)sizeof to.sensor - 1, cell);
    to.has_pressure = read_measured(r, row, PART_PRESSURE, -110.0, 3000.0, &to.pressure_kpa, &to.absolute);
    to.has_temperature = read_measured(r, row, PART_TEMPERATURE, -80.0, 250.0, &to.temperature_c, NULL);
    to.has_air = read_measured(r, row, PART_AIR, 40.0, 120.0, &to.air_kpa, NULL);
    if (r->out->count == WH_TRUTH_ROWS_MAX) {
        wh_csv_complain(r->complaints, (unsigned)row + 1, 0, "leave some out", "more than %d rows", WH_TRUTH_ROWS_MAX);
        return;
    }
    r->out->rows[r->out->count++] = to;
}

static void read_rows(reader *r)
{
    double air = 0.0;
    unsigned air_count = 0;
    for (size_t row = 1; row < r->table.row_count && r->out->count <= WH_TRUTH_ROWS_MAX; row++)
        if (!wh_csv_row_blank(&r->table, row))
            read_row(r, row);
    for (size_t i = 0; i < r->out->count; i++)
        if (r->out->rows[i].has_air) {
            air += r->out->rows[i].air_kpa;
            air_count++;
        }
    r->out->has_air = air_count > 0;
    r->out->air_kpa = air_count ? air / air_count : WH_STANDARD_ATMOSPHERE_KPA;
    if (r->out->count == 0 && r->complaints->errors == 0)
        wh_csv_complain(r->complaints, 0, 0, "one row for each reading of the gauge",
                        "the table has no rows but its heading");
}

wh_status wh_truth_read(wh_truth *out, const char *text, size_t length, const char *const *recordings,
                        size_t recording_count, wh_csv_complaints *complaints)
{
    memset(out, 0, sizeof *out);
    reader r = {.complaints = complaints, .recordings = recordings, .recording_count = recording_count, .out = out};
    wh_status status = wh_csv_read(&r.table, text, length, complaints);
    if (status != WH_OK)
        return status;
    out->rows = calloc(WH_TRUTH_ROWS_MAX, sizeof *out->rows);
    if (out->rows) {
        read_headings(&r);
        if (complaints->errors == 0)
            read_rows(&r);
    }
    wh_csv_free(&r.table);
    status = !out->rows || complaints->memory_out ? WH_ERR_MEMORY : complaints->errors ? WH_ERR_DATA : WH_OK;
    if (status != WH_OK)
        wh_truth_free(out);
    return status;
}

void wh_truth_free(wh_truth *truth)
{
    free(truth->rows);
    memset(truth, 0, sizeof *truth);
}
