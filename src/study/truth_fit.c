#include "truth_fit.h"

#include "bits.h"
#include "simple_number.h"
#include "text_buffer.h"
#include "truth_match.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define BITS_LEAST    6
#define BITS_MOST     16
#define NOTHING_BONUS 5.0 /* nats: about ten places on whole bytes are tried, and a field must be e^2 better */
#define PSI_KPA       6.894757
#define RESIDUAL_MOST                                                                                                  \
    0.4 /* of the truth's own deviation: a field that leaves more unexplained is none, however many were tried */
#define SURE 0.95 /* probability from which a place is certain */

/* Errors of instruments that are not told: a tire gauge of +-1 % class at 700 kPa is better than 7 kPa, but reads the same
 * way each time, so that the scatter is what its scale can show (common practice, no source). */
typedef struct instrument {
    double scatter;      /* of single values, never below this */
    double systematic;   /* of all values together: what an offset can be wrong by */
    double level;        /* values closer than this are one level */
    double spread_least; /* with less between least and most, scale and offset cannot be told apart */
} instrument;
static const instrument instruments[] = {
    [WH_FIT_PRESSURE] = {0.5, 2.0, 2.0, 40.0},
    [WH_FIT_TEMPERATURE] = {0.15, 1.5, 0.5, 8.0},
};

typedef struct sample {
    const wh_field_row *row;
    double value;
} sample;

typedef struct fitting {
    wh_fit_quantity quantity;
    const wh_columns *columns;
    const wh_frame_bits *taken;
    unsigned grid;
    sample *samples;
    size_t count;
    unsigned levels;
    double least, most, mean, deviation;
    double best_score;
    wh_fit best;
    double weight, alike; /* relative to the best: of all places, and of those that differ by bits that never change */
} fitting;

static int by_value(const void *a, const void *b)
{
    const double x = ((const sample *)a)->value, y = ((const sample *)b)->value;
    return (x > y) - (x < y);
}

static void summarise(fitting *f)
{
    double sum = 0.0, squares = 0.0, last = -INFINITY;
    qsort(f->samples, f->count, sizeof *f->samples, by_value);
    f->levels = 0;
    for (size_t i = 0; i < f->count; i++) {
        const double value = f->samples[i].value;
        if (value - last >= instruments[f->quantity].level) {
            f->levels++;
            last = value;
        }
        sum += value;
    }
    f->mean = sum / (double)f->count;
    for (size_t i = 0; i < f->count; i++)
        squares += (f->samples[i].value - f->mean) * (f->samples[i].value - f->mean);
    f->deviation = sqrt(squares / (double)f->count);
    f->least = f->samples[0].value;
    f->most = f->samples[f->count - 1].value;
}

static double count_of(const wh_fit *fit, const wh_field_row *row)
{
    const uint32_t raw = wh_field_row_value(row, fit->at, fit->bits, fit->low_bit_first, fit->low_byte_first);
    if (fit->sign == WH_TWOS_COMPLEMENT && raw >> (fit->bits - 1))
        return (double)raw - exp2(fit->bits);
    return raw;
}

/* Least squares; false when the counts do not differ. */
static bool regress(const fitting *f, wh_fit *fit)
{
    const double n = (double)f->count;
    double x = 0.0, xx = 0.0, xy = 0.0;
    for (size_t i = 0; i < f->count; i++)
        x += count_of(fit, f->samples[i].row);
    const double mean = x / n;
    for (size_t i = 0; i < f->count; i++) {
        const double off = count_of(fit, f->samples[i].row) - mean;
        xx += off * off;
        xy += off * (f->samples[i].value - f->mean);
    }
    if (xx <= 0.0)
        return false;
    fit->scale = xy / xx;
    fit->offset = f->mean - fit->scale * mean;
    double squares = 0.0, most = 0.0;
    for (size_t i = 0; i < f->count; i++) {
        const double off = f->samples[i].value - fit->offset - fit->scale * count_of(fit, f->samples[i].row);
        squares += off * off;
        most = fmax(most, fabs(off));
    }
    fit->residual_rms = sqrt(squares / n);
    fit->residual_most = most;
    /* Frames with the same truth share its error: levels count, not frames. */
    const double scatter = fmax(fit->residual_rms, instruments[f->quantity].scatter),
                 freedom = fmax(1.0, f->levels - 2.0);
    fit->scale_error = scatter * sqrt(n / f->levels) / sqrt(xx) * sqrt(f->levels / freedom);
    fit->offset_error = sqrt(scatter * scatter / f->levels + fit->scale_error * fit->scale_error * mean * mean);
    return true;
}

/* Columns that move but are left out just below the number, up to the end of the byte: with pressures in equal steps the upper
 * bits alone may fit as well, but then something else would have to move there. */
static unsigned left_below(const fitting *f, const wh_fit *fit)
{
    unsigned count = 0;
    if (fit->low_bit_first)
        for (unsigned c = fit->at; c > 0 && c % 8 != f->grid && f->columns->column[c - 1].changes > 0; c--)
            count++;
    else
        for (unsigned c = fit->at + fit->bits;
             c < f->columns->count && c % 8 != f->grid && f->columns->column[c].changes > 0; c++)
            count++;
    return count;
}

/* The column of bit k of a number, the most significant first. */
static unsigned column_of(const wh_fit *fit, unsigned k)
{
    if (fit->low_bit_first)
        return fit->at + fit->bits - 1 - k;
    return fit->low_byte_first ? fit->at + fit->bits - 8 - k / 8 * 8 + k % 8 : fit->at + k;
}

/* Lower bits of a number change at least as often as the higher ones. Where the rate falls to less than half, another begins. */
static unsigned breaks_within(const fitting *f, const wh_fit *fit)
{
    unsigned count = 0;
    double most = 0.0;
    for (unsigned k = 0; k < fit->bits; k++) {
        const wh_column *column = &f->columns->column[column_of(fit, k)];
        const double rate = column->pairs ? (double)column->changes / column->pairs : 0.0;
        if (rate < 0.5 * most && most - rate > 0.15) {
            count++;
            most = rate;
        }
        most = fmax(most, rate);
    }
    return count;
}

/* How usual a place is, in nats: whole bytes, most significant bit first, unsigned. */
static double liking(const fitting *f, const wh_fit *fit)
{
    const unsigned begin = (fit->at + 8 - f->grid) % 8, end = (fit->at + fit->bits + 8 - f->grid) % 8;
    double sum = fit->bits == 8 ? 0.0 : fit->bits == 16 || fit->bits == 12 ? -1.0 : fit->bits == 10 ? -2.0 : -3.5;
    sum += begin == 0 ? 0.0 : end == 0 ? -0.7 : begin % 4 == 0 || end % 4 == 0 ? -1.5 : -3.5;
    sum -= fit->low_bit_first ? 2.0 : 0.0;
    sum -= fit->low_byte_first ? 1.0 : 0.0;
    sum -= 1.5 * left_below(f, fit) + 3.0 * breaks_within(f, fit);
    if (fit->sign == WH_TWOS_COMPLEMENT)
        sum -= f->quantity == WH_FIT_PRESSURE ? 6.0 : 1.0;
    return sum;
}

typedef void (*place_fn)(fitting *f, const wh_fit *fit, double score);

static void keep_best(fitting *f, const wh_fit *fit, double score)
{
    if (score > f->best_score) {
        f->best_score = score;
        f->best = *fit;
    }
}

static void weigh(fitting *f, const wh_fit *fit, double score)
{
    const double weight = exp(score - f->best_score);
    const bool alike = fabs(fit->residual_rms - f->best.residual_rms) <= 1e-6 * (1.0 + f->best.residual_rms);
    f->weight += weight;
    f->alike += alike ? weight : 0.0;
}

static void try_place(fitting *f, wh_fit *fit, place_fn visit)
{
    if (!regress(f, fit))
        return;
    const double r = hypot(fit->residual_rms, instruments[f->quantity].scatter);
    visit(f, fit, -((double)f->levels - 2.0) * log(r) + liking(f, fit));
}

/* May the columns be one number, and does it change within a sensor, as a pressure does and an ID does not? */
static bool possible(const fitting *f, unsigned at, unsigned bits)
{
    bool moves = false;
    for (unsigned c = at; c < at + bits; c++) {
        const wh_column_kind kind = f->columns->column[c].kind;
        if (wh_bit_get(f->taken->data, c) || kind == WH_COLUMN_CHECK)
            return false;
        moves |= kind == WH_COLUMN_SLOW || kind == WH_COLUMN_RANDOM || kind == WH_COLUMN_COUNTER;
    }
    return moves;
}

static void try_all(fitting *f, place_fn visit)
{
    for (unsigned bits = BITS_LEAST; bits <= BITS_MOST; bits++)
        for (unsigned at = 0; at + bits <= f->columns->count; at++) {
            if (!possible(f, at, bits))
                continue;
            for (unsigned order = 0; order < 3; order++)
                for (unsigned sign = 0; sign < 2; sign++) {
                    wh_fit fit = {.at = at,
                                  .bits = bits,
                                  .low_bit_first = order == 1,
                                  .low_byte_first = order == 2,
                                  .sign = sign ? WH_TWOS_COMPLEMENT : WH_UNSIGNED};
                    if (order < 2 || bits == 16)
                        try_place(f, &fit, visit);
                }
        }
}

/* The simplest step within the error, in the units that makers use; psi has to be simpler than kPa to be believed. */
static double simple_scale(const wh_fit *fit, bool pressure)
{
    unsigned digits, psi_digits = 0;
    const double error = 2.5 * fit->scale_error;
    const double plain = wh_simple_number(fit->scale, error, &digits);
    if (!pressure)
        return plain;
    const double psi = wh_simple_number(fit->scale / PSI_KPA, error / PSI_KPA, &psi_digits);
    return psi_digits + 1 < digits ? psi * PSI_KPA : plain;
}

static double mean_offset(const fitting *f, const wh_fit *fit)
{
    double sum = 0.0;
    for (size_t i = 0; i < f->count; i++)
        sum += f->samples[i].value - fit->simple_scale * count_of(fit, f->samples[i].row);
    return sum / (double)f->count;
}

static void measure_residuals(const fitting *f, wh_fit *fit, double offset)
{
    double squares = 0.0;
    fit->residual_most = 0.0;
    for (size_t i = 0; i < f->count; i++) {
        const double off = f->samples[i].value - offset - fit->simple_scale * count_of(fit, f->samples[i].row);
        squares += off * off;
        fit->residual_most = fmax(fit->residual_most, fabs(off));
    }
    fit->residual_rms = sqrt(squares / (double)f->count);
}

static void advise(wh_fit *fit, const char *text)
{
    const size_t used = strlen(fit->advice);
    snprintf(fit->advice + used, sizeof fit->advice - used, "%s%s", used ? " " : "", text);
}

/* Counts from vacuum or from the air around? Both describe these recordings; the offset that is zero tells, when only one is. */
static void choose_reference(wh_fit *fit, double offset, double tolerance, const wh_truth *truth)
{
    const double air_error = truth->has_air ? 0.5 : 3.0; /* weather; the height of the place may add more */
    const bool gauge = fabs(offset) <= tolerance, absolute = fabs(offset + truth->air_kpa) <= tolerance + air_error;
    fit->absolute = absolute || !gauge;
    if (gauge != absolute) {
        fit->simple_offset = 0.0;
        fit->reference = truth->has_air ? WH_CERTAIN : WH_LIKELY;
        return;
    }
    fit->reference = WH_OPEN;
    fit->simple_offset = wh_simple_number(fit->absolute ? offset + truth->air_kpa : offset, tolerance, NULL);
    if (gauge)
        advise(fit, "Gauge or absolute is open: the offset is known too badly. Record the sensor lying open in the "
                    "air, with the "
                    "air pressure noted, and again well inflated.");
    else
        advise(fit, "Gauge or absolute is open: neither makes the offset zero. Record the sensor lying open at two air "
                    "pressures (500 m of height apart), and note both in the column 'air pressure'.");
}

static void calibrate(const fitting *f, const wh_truth *truth, wh_fit *fit)
{
    const instrument *with = &instruments[f->quantity];
    const bool pressure = f->quantity == WH_FIT_PRESSURE;
    const bool spread = f->most - f->least >= with->spread_least && f->levels >= 3;
    fit->simple_scale = simple_scale(fit, pressure);
    if (fit->simple_scale == 0.0)
        fit->simple_scale = fit->scale;
    const double offset = mean_offset(f, fit);
    /* A count may be rounded or cut: half a count either way. */
    const double tolerance = with->systematic + 0.5 * fabs(fit->simple_scale) +
                             2.5 * fmax(fit->residual_rms, with->scatter) / sqrt(f->levels) +
                             (spread ? 0.0 : 2.5 * fit->offset_error);
    if (pressure)
        choose_reference(fit, offset, tolerance, truth);
    else
        fit->simple_offset = wh_simple_number(offset, tolerance, NULL);
    measure_residuals(f, fit, pressure && fit->absolute ? fit->simple_offset - truth->air_kpa : fit->simple_offset);
    fit->calibration = !spread ? WH_OPEN : fit->scale_error < 0.01 * fabs(fit->scale) ? WH_CERTAIN : WH_LIKELY;
    if (fit->calibration == WH_OPEN)
        advise(fit,
               pressure
                   ? "Scale and offset are not told apart: record three pressures at least, 100 kPa apart or more."
                   : "Scale and offset are not told apart: record three temperatures at least, 10 degC apart or more "
                     "(a sensor out of the refrigerator, at rest, warmed by hand).");
}

static void conclude(fitting *f, const wh_truth *truth, wh_fit *out)
{
    const double nothing =
        -((double)f->levels - 2.0) * log(hypot(f->deviation, instruments[f->quantity].scatter)) + NOTHING_BONUS;
    const char *quantity = f->quantity == WH_FIT_PRESSURE ? "pressure" : "temperature";
    const bool fits = f->best_score > -INFINITY && f->levels >= 3;
    if (fits) {
        *out = f->best;
        out->probability = f->alike / (f->weight + exp(nothing - f->best_score));
        out->found = f->best_score > nothing && out->residual_rms < RESIDUAL_MOST * f->deviation;
        out->place = out->probability >= SURE ? WH_CERTAIN : WH_LIKELY;
    }
    out->told = true;
    out->samples = (unsigned)f->count;
    out->levels = f->levels;
    out->least = f->least;
    out->most = f->most;
    if (out->found) {
        calibrate(f, truth, out);
        return;
    }
    snprintf(
        out->advice, sizeof out->advice,
        f->levels < 3
            ? "The truth gives %u different %s%s for these frames: any bits that differ would do. Record the same "
              "sensor "
              "at three or more."
            : "Of %u different %s%s no bits follow them better than chance would. Record more, and look whether the "
              "table names the right recordings and times.",
        f->levels, quantity, f->levels == 1 ? "" : "s");
}

wh_status wh_truth_fit_run(const wh_field_rows *rows, const wh_columns *columns, const wh_frame_bits *taken,
                           unsigned grid, const wh_truth *truth, const char (*sensor_names)[WH_TRUTH_SENSOR_SIZE],
                           wh_fit_quantity quantity, wh_fit *out)
{
    memset(out, 0, sizeof *out);
    fitting f = {.quantity = quantity, .columns = columns, .taken = taken, .grid = grid, .best_score = -INFINITY};
    f.samples = malloc((rows->count ? rows->count : 1) * sizeof *f.samples);
    if (!f.samples)
        return WH_ERR_MEMORY;
    for (size_t i = 0; i < rows->count; i++) {
        const wh_field_row *row = &rows->row[i];
        const char *name = sensor_names ? sensor_names[row->sensor] : NULL;
        if (wh_truth_value(truth, row, name, quantity == WH_FIT_PRESSURE, &f.samples[f.count].value))
            f.samples[f.count++].row = row;
    }
    if (f.count > 0) {
        summarise(&f);
        try_all(&f, keep_best);
        try_all(&f, weigh);
        conclude(&f, truth, out);
    }
    free(f.samples);
    return WH_OK;
}
