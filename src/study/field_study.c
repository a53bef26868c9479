#include "field_study.h"

#include "bits.h"
#include "truth_match.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define READINGS_MAX 3 /* the order of bits, then the sense: each is decided once */

static int by_reliability(const void *a, const void *b)
{
    const wh_field_row *x = *(const wh_field_row *const *)a, *y = *(const wh_field_row *const *)b;
    if (x->weakest != y->weakest)
        return x->weakest < y->weakest ? 1 : -1;
    return (x->source_row > y->source_row) - (x->source_row < y->source_row);
}

/* The checks of the rows as they are, the most reliable first. */
static wh_status find_checks(const wh_field_rows *rows, bool quick, wh_check_search *checks, wh_error *error)
{
    const size_t count = rows->count;
    const wh_field_row **order = malloc((count ? count : 1) * sizeof *order);
    wh_frame_bits *frames = malloc((count ? count : 1) * sizeof *frames);
    wh_status status = WH_ERR_MEMORY;
    if (order && frames) {
        for (size_t i = 0; i < count; i++)
            order[i] = &rows->row[i];
        qsort(order, count, sizeof *order, by_reliability);
        for (size_t i = 0; i < count; i++)
            frames[i] = order[i]->bits;
        status = quick ? wh_check_search_quick(frames, count, rows->columns, checks, error)
                       : wh_check_search_run(frames, count, rows->columns, checks, error);
    } else {
        wh_fail(error, status, NULL, "not enough memory to study %zu frames", count);
    }
    free(frames);
    free(order);
    return status;
}

static wh_status read_rows(wh_field_study *s, const wh_frame_table *table, wh_error *error)
{
    wh_field_rows_free(&s->rows);
    const wh_status status = wh_field_rows_make(&s->rows, table, &s->reading, error);
    s->heard = s->rows.count;
    if (table->row_count > 0)
        s->dropped_bits = wh_bits_read(table->rows[0].bits, 0, s->reading.dropped);
    return status == WH_OK ? find_checks(&s->rows, false, &s->checks, error) : status;
}

/* How much a reading of the bits has for itself: -log2 of the chance that its best check is none. */
static double conviction(const wh_check_search *checks)
{
    return checks->count ? checks->found[0].evidence_bits - checks->found[0].cost_bits : 0.0;
}

/* Manchester and differential Manchester make the same chips. In the wrong one of them a check is no check any more, or, of a
 * CRC, half of one. */
static wh_status settle_code(wh_field_study *s, const wh_frame_table *table, wh_error *error)
{
    if (!wh_line_has_twin(table))
        return WH_OK;
    wh_field_rows rows;
    wh_bit_reading reading = s->reading;
    reading.twin_code = true;
    wh_check_search *checks = malloc(sizeof *checks);
    wh_status status = checks ? wh_field_rows_make(&rows, table, &reading, error) : WH_ERR_MEMORY;
    bool better = false;
    if (status == WH_OK) {
        status = find_checks(&rows, true, checks, error);
        better = status == WH_OK && conviction(checks) > conviction(&s->checks);
        wh_field_rows_free(&rows);
    }
    free(checks);
    if (!better)
        return status;
    s->reading = reading;
    return read_rows(s, table, error);
}

static bool constant_in_all(const wh_field_rows *rows, unsigned columns)
{
    for (size_t i = 1; i < rows->count; i++)
        for (unsigned c = 0; c < columns; c++)
            if (wh_bit_get(rows->row[i].bits.data, c) != wh_bit_get(rows->row[0].bits.data, c))
                return false;
    return true;
}

static bool checks_hold(void *context, const wh_field_row *row)
{
    const wh_check_search *checks = context;
    for (unsigned i = 0; i < checks->count; i++)
        if (!wh_check_found_holds(&checks->found[i], &row->bits))
            return false;
    return true;
}

/* The printed ID may stand in bytes that are sent low bit first though no check tells so. */
static wh_status look_for_printed(wh_field_study *s, const wh_frame_table *table, const wh_truth *truth,
                                  wh_error *error)
{
    wh_id_by_name(&s->rows, truth, &s->printed);
    for (unsigned phase = 0; phase < 8 && !s->printed.found && !s->reading.low_bit_first && s->checks.count == 0;
         phase++) {
        if (phase >= table->columns || !constant_in_all(&s->rows, phase))
            break;
        wh_field_rows turned;
        const wh_bit_reading reading = {s->reading.twin_code, s->reading.inverted, true, phase};
        const wh_status status = wh_field_rows_make(&turned, table, &reading, error);
        if (status != WH_OK)
            return status;
        wh_id_match match;
        wh_id_by_name(&turned, truth, &match);
        wh_field_rows_free(&turned);
        if (match.found && !match.low_bit_first) {
            s->reading = reading;
            const wh_status again = read_rows(s, table, error);
            if (again != WH_OK)
                return again;
            s->printed = match;
        }
    }
    return WH_OK;
}

/* What stands in the printed ID is no check, however well it holds in the frames of three sensors. */
static void drop_checks_within_id(wh_field_study *s)
{
    unsigned kept = 0;
    for (unsigned i = 0; i < s->checks.count; i++) {
        const wh_piece at = s->checks.found[i].check.at.piece[0];
        const bool within = at.at < s->printed.at + s->printed.bits && s->printed.at < at.at + (unsigned)at.length;
        if (!within)
            s->checks.found[kept++] = s->checks.found[i];
    }
    s->checks.count = kept;
}

/* Sums of bytes sent low bit first say so themselves. */
static wh_status settle_bit_order(wh_field_study *s, const wh_frame_table *table, wh_error *error)
{
    const wh_check_found *first = &s->checks.found[0];
    if (s->checks.count == 0 || !first->bytes_turned || !constant_in_all(&s->rows, first->phase))
        return WH_OK;
    s->reading.low_bit_first = true;
    s->reading.dropped = first->phase;
    return read_rows(s, table, error);
}

/* Bytes end where the last check ends; without checks they begin at bit 0. */
static unsigned byte_grid(const wh_check_search *checks)
{
    for (unsigned i = 0; i < checks->count; i++) {
        const wh_piece at = checks->found[i].check.at.piece[0];
        if (at.length >= 4)
            return at.length % 8 == 0 ? at.at % 8 : (at.at + at.length) % 8;
    }
    return 0;
}

/* Number the sensors by the ID that was found printed. */
static void number_by_printed(wh_field_study *s)
{
    uint64_t ids[WH_STUDY_SENSORS_MAX];
    const wh_places at = {1, {{(uint16_t)s->printed.at, (uint16_t)s->printed.bits}}};
    s->sensors = 0;
    for (size_t i = 0; i < s->rows.count; i++) {
        const uint64_t id = wh_places_read(&s->rows.row[i].bits, &at, false, false);
        unsigned k = 0;
        while (k < s->sensors && ids[k] != id)
            k++;
        if (k == s->sensors && k < WH_STUDY_SENSORS_MAX)
            ids[s->sensors++] = id;
        s->rows.row[i].sensor = k < WH_STUDY_SENSORS_MAX ? k : 0;
    }
    s->sensors_known = true;
}

/* Recordings for which the truth names one sensor hold that sensor; -1: not known. */
static wh_status number_by_recording(wh_field_study *s, const wh_truth *truth)
{
    size_t recordings = 0;
    for (size_t i = 0; i < s->rows.count; i++)
        recordings = s->rows.row[i].recording + 1u > recordings ? s->rows.row[i].recording + 1u : recordings;
    int *known = malloc((recordings ? recordings : 1) * sizeof *known);
    if (!known)
        return WH_ERR_MEMORY;
    bool any = false;
    for (size_t r = 0; r < recordings; r++) {
        const char *name = truth ? wh_truth_only_sensor(truth, (unsigned)r) : NULL;
        known[r] = name ? (int)r : -1;
        for (size_t k = 0; k < r && name; k++) {
            const char *other = wh_truth_only_sensor(truth, (unsigned)k);
            if (other && strcasecmp(other, name) == 0) {
                known[r] = known[k];
                break;
            }
        }
        any |= name != NULL;
    }
    wh_frame_bits ignore = {.count = s->rows.columns};
    for (unsigned i = 0; i < s->checks.count; i++)
        wh_places_write(&ignore, &s->checks.found[i].check.at, false, false, ~(uint64_t)0);
    wh_status status;
    s->sensors = wh_sensors_tell_apart(&s->rows, &ignore, any ? known : NULL, recordings, &status);
    s->sensors_known = any;
    free(known);
    return status;
}

/* What the truth calls the sensors: by the printed ID, or by recordings of one sensor. */
static void name_sensors(wh_field_study *s, const wh_truth *truth)
{
    for (size_t i = 0; i < s->rows.count; i++) {
        const wh_field_row *row = &s->rows.row[i];
        const char *only = wh_truth_only_sensor(truth, row->recording);
        if (only && row->sensor < WH_STUDY_SENSORS_MAX && !s->sensor_names[row->sensor][0] && !s->printed.found)
            memcpy(s->sensor_names[row->sensor], only, strlen(only) + 1);
    }
    if (!s->printed.found)
        return;
    for (size_t i = 0; i < s->rows.count; i++)
        for (size_t k = 0; k < truth->count; k++) {
            wh_truth one = {.rows = &truth->rows[k], .count = 1};
            wh_field_rows row = {.columns = s->rows.columns, .count = 1, .row = &s->rows.row[i]};
            wh_id_match match;
            if (!truth->rows[k].sensor[0] || s->sensor_names[s->rows.row[i].sensor][0])
                continue;
            wh_id_by_name(&row, &one, &match);
            if (match.found && match.at == s->printed.at && match.bits == s->printed.bits)
                memcpy(s->sensor_names[s->rows.row[i].sensor], truth->rows[k].sensor, sizeof s->sensor_names[0]);
        }
}

static void take(wh_frame_bits *taken, unsigned at, unsigned bits)
{
    for (unsigned c = at; c < at + bits && c < WH_FRAME_BITS_MAX; c++)
        wh_bit_put(taken->data, c, 1);
}

static void choose_id(wh_field_study *s, const wh_frame_bits *taken)
{
    memset(&s->id_field, 0, sizeof s->id_field);
    s->id_field.role = WH_ROLE_SENSOR;
    if (s->printed.found) {
        s->has_id = true;
        s->id_probability = 1.0 - s->printed.chance;
        s->id_field.at = (wh_places){1, {{(uint16_t)s->printed.at, (uint16_t)s->printed.bits}}};
        s->id_field.low_bit_first = s->printed.low_bit_first;
        s->id_field.low_byte_first = s->printed.low_byte_first;
        s->id_field.inverted = s->printed.inverted;
        return;
    }
    wh_id_search_run(&s->columns, taken, s->grid, &s->id);
    if (s->id.count == 0)
        return;
    const wh_id_candidate *best = &s->id.candidate[0];
    s->id_probability = best->probability;
    s->has_id = best->probability >= WH_ID_SURE;
    s->id_field.at = (wh_places){1, {{(uint16_t)best->at, (uint16_t)best->bits}}};
}

/* Bits for a nickname: the likeliest ID, or else what differs from sensor to sensor and nothing more. */
static void choose_steady(wh_field_study *s)
{
    memset(&s->steady, 0, sizeof s->steady);
    if (s->has_id || s->id.count > 0) {
        s->steady = s->id_field.at;
        return;
    }
    for (unsigned c = 0; c < s->columns.count && s->steady.count < WH_PIECES_MAX; c++) {
        if (s->columns.column[c].kind != WH_COLUMN_SENSOR)
            continue;
        wh_piece *last = &s->steady.piece[s->steady.count ? s->steady.count - 1 : 0];
        if (s->steady.count > 0 && last->at + last->length == c)
            last->length++;
        else
            s->steady.piece[s->steady.count++] = (wh_piece){(uint16_t)c, 1};
    }
}

/* One pass with the bits as s->reading has them. *again: the reading was changed, everything is to be done anew. */
static wh_status study_once(wh_field_study *s, const wh_frame_table *table, const wh_truth *truth, bool *again,
                            wh_error *error)
{
    wh_status status = read_rows(s, table, error);
    if (status == WH_OK && s->sense == WH_SENSE_OPEN)
        status = settle_code(s, table, error);
    if (status == WH_OK)
        status = settle_bit_order(s, table, error);
    if (status == WH_OK && truth)
        status = look_for_printed(s, table, truth, error);
    if (status != WH_OK)
        return status;
    if (s->printed.found && s->printed.inverted && s->sense == WH_SENSE_OPEN) {
        s->reading.inverted = !s->reading.inverted;
        s->sense = WH_SENSE_BY_ID;
        *again = true;
        return WH_OK;
    }
    if (s->printed.found && s->sense == WH_SENSE_OPEN)
        s->sense = WH_SENSE_BY_ID;
    if (s->printed.found)
        drop_checks_within_id(s);
    s->damaged = wh_field_rows_filter(&s->rows, checks_hold, &s->checks);
    s->grid = byte_grid(&s->checks);
    if (s->printed.found)
        number_by_printed(s);
    else if ((status = number_by_recording(s, truth)) != WH_OK)
        return wh_fail(error, status, NULL, "not enough memory to tell sensors apart");
    memset(s->sensor_names, 0, sizeof s->sensor_names);
    if (truth)
        name_sensors(s, truth);
    wh_columns_classify(&s->rows, s->sensors, &s->checks, s->grid, &s->columns);
    wh_gas_law_run(&s->rows, &s->columns, &s->gas);
    wh_frame_bits taken = {.count = s->rows.columns};
    for (unsigned c = 0; c < s->columns.count; c++)
        if (s->columns.column[c].kind == WH_COLUMN_CHECK)
            take(&taken, c, 1);
    if (s->printed.found)
        take(&taken, s->printed.at, s->printed.bits);
    if (truth) {
        const char(*names)[WH_TRUTH_SENSOR_SIZE] = s->sensor_names;
        status = wh_truth_fit_run(&s->rows, &s->columns, &taken, s->grid, truth, names, WH_FIT_PRESSURE, &s->pressure);
        if (status == WH_OK && s->pressure.found && s->pressure.scale < 0.0 && s->sense == WH_SENSE_OPEN) {
            s->reading.inverted = !s->reading.inverted; /* a pressure counts upwards: these are the inverse bits */
            s->sense = WH_SENSE_BY_PRESSURE;
            *again = true;
            return WH_OK;
        }
        if (s->pressure.found) {
            s->sense = s->sense == WH_SENSE_OPEN ? WH_SENSE_BY_PRESSURE : s->sense;
            take(&taken, s->pressure.at, s->pressure.bits);
        }
        if (status == WH_OK)
            status = wh_truth_fit_run(&s->rows, &s->columns, &taken, s->grid, truth, names, WH_FIT_TEMPERATURE,
                                      &s->temperature);
        if (s->temperature.found)
            take(&taken, s->temperature.at, s->temperature.bits);
        if (status != WH_OK)
            return wh_fail(error, status, NULL, "not enough memory to fit the truth");
    }
    choose_id(s, &taken);
    choose_steady(s);
    return WH_OK;
}

wh_status wh_field_study_run(wh_field_study *out, const wh_frame_table *table, const wh_truth *truth, wh_error *error)
{
    memset(out, 0, sizeof *out);
    bool again = true;
    wh_status status = WH_OK;
    for (unsigned i = 0; i < READINGS_MAX && again && status == WH_OK; i++) {
        again = false;
        status = study_once(out, table, truth, &again, error);
    }
    out->line = wh_bit_reading_line(table, &out->reading);
    if (status != WH_OK)
        wh_field_study_free(out);
    return status;
}

void wh_field_study_free(wh_field_study *study)
{
    wh_field_rows_free(&study->rows);
}

double wh_nickname_two_sensors(const wh_field_study *study)
{
    unsigned pairs = 0;
    for (unsigned i = 0; i < study->steady.count; i++)
        pairs = study->columns.column[study->steady.piece[i].at].pairs; /* the same for every column */
    return (pairs + 1.0) / (pairs + 2.0);
}

double wh_nickname_collision(const wh_field_study *study)
{
    const unsigned bits = wh_places_bits(&study->steady);
    return exp2(-(double)(bits < 24 ? bits : 24));
}
