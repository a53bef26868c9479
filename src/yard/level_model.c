#include "level_model.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* Where the antenna usually is: 0.7 m from the tire, at chest height. */
#define ANTENNA_M        0.7
#define ANTENNA_HEIGHT_M 0.95

/* What is in the way costs this much on the average (invented; the spread below covers the error). */
#define MATE_DB   4.0 /* the outer wheel of a pair before the inner one */
#define ACROSS_DB 6.0 /* frame and wheels, to the other side of a unit */

/* Sites beside the unit: lines of wheels of neighbours with 1.2 m between the sides, 1.3 m apart along the unit and 4 m beyond
 * its ends. */
#define NEIGHBOUR_GAP_M 1.2
#define NEIGHBOUR_LINES 4
#define ALONG_M         1.3
#define BEYOND_M        4.0
#define FAR_SHARE       0.3 /* of sensors elsewhere: traffic and far rows */
#define FAR_DB          (-30.0)
#define OTHER_UNIT_DB   (-20.0) /* from a place at one unit to the wheels of another: where it stands is not known */

/* Level at 1 m of the single sensor about the mean: 20 dB between best and worst wheel angle, evenly spread, is a standard
 * deviation of 20 / sqrt(12) = 5.8 dB (IEEE 2017, "Enhanced TPMS Security through Acceleration Timed Transmissions"). */
#define OFFSET_DB 6.0

/* Residual of one place's mean level: reflections, body, antenna, where exactly he stands. Most of it is about normal; fades go
 * deeper than that. Standard deviations from the walk simulator by trial: those with the least error of calibration, see
 * tests/yard/RESULTS.md. */
#define USUAL_DB   4.5
#define FADE_SHARE 0.2
#define FADE_DB    (-4.0)
#define FADE_SD_DB 9.0
#define WIDE_DB    9.0

/* Levels at 1 m that are tried: FIRST_DBFS + STEP_DB x 0 .. STEPS - 1. */
#define FIRST_DBFS (-76.0)
#define STEP_DB    2.0
#define STEPS      52
/* The table of densities by residual: FINE columns per STEP_DB, ROWS steps from LOWEST_DB on. */
#define FINE      8
#define ROWS      256
#define LOWEST_DB (-256.0)
#define KINDS     4 /* usual or wide, plus 2 where the receiver was at its limit */
/* Densities are per 20 dB, so that products over many places neither vanish nor overflow; and of very many places the
 * latest count. */
#define SCALE_DB    20.0
#define LEVELS_MOST 64
/* From here on the receiver shows "at least this much". */
#define LIMIT_DBFS (-3.0)

static double normal(double x, double sd)
{
    return 0.3989422804014327 / sd * exp(-0.5 * x * x / (sd * sd));
}

/* P(X >= x) */
static double normal_above(double x, double sd)
{
    return 0.5 * erfc(x / sd * 0.7071067811865475);
}

static double density(double residual, bool wide, bool at_limit)
{
    const double sd = wide ? WIDE_DB : USUAL_DB, fade_sd = wide ? 1.5 * WIDE_DB : FADE_SD_DB, fade = residual - FADE_DB;
    if (at_limit) /* the true level is anything above */
        return (1.0 - FADE_SHARE) * normal_above(residual, sd) + FADE_SHARE * normal_above(fade, fade_sd) + 2e-4;
    return SCALE_DB * ((1.0 - FADE_SHARE) * normal(residual, sd) + FADE_SHARE * normal(fade, fade_sd)) + 2e-4;
}

/* Row `fine` of kind `kind`: densities at residuals LOWEST_DB + (fine / FINE + row) STEP_DB, falling with the row so that
 * going through the levels at 1 m upwards goes through the table upwards. */
static double *table_row(const wh_level_model *model, unsigned kind, unsigned fine)
{
    return model->table + (size_t)(kind * FINE + fine) * ROWS;
}

static void fill_table(wh_level_model *model)
{
    for (unsigned kind = 0; kind < KINDS; kind++)
        for (unsigned fine = 0; fine < FINE; fine++)
            for (unsigned row = 0; row < ROWS; row++)
                table_row(model, kind, fine)[row] =
                    density(-LOWEST_DB - (row - (double)fine / FINE) * STEP_DB, kind & 1, kind & 2);
}

static double way_db(wh_point from, wh_point to)
{
    const double d = wh_point_distance(from, to);
    return -20.0 * log10(d < 0.2 ? 0.2 : d);
}

/* From a wheel of a unit to a place at the same unit. */
static double wheel_gain(const wh_geometry *geometry, wh_position wheel, wh_position place)
{
    double gain =
        way_db(wh_geometry_wheel(geometry, wheel), wh_geometry_place(geometry, place, ANTENNA_M, ANTENNA_HEIGHT_M));
    if (wheel.side != place.side)
        gain -= ACROSS_DB;
    else if (wheel.place == WH_INNER)
        gain -= MATE_DB;
    return gain;
}

static double beside_gain(const wh_geometry *geometry, wh_point site, wh_position place)
{
    const wh_point at = wh_geometry_place(geometry, place, ANTENNA_M, ANTENNA_HEIGHT_M);
    return way_db(site, at) - (site.y * at.y < 0.0 ? ACROSS_DB : 0.0);
}

typedef struct beside {
    unsigned along, count; /* sites on one line, and in all */
    double first_x;
} beside;

static beside lay_out(const wh_geometry *geometry)
{
    const unsigned last = geometry->axle_count ? geometry->axle_count - 1 : 0;
    const double length = geometry->axle_x[last] + 2.0 * BEYOND_M;
    beside sites = {.along = (unsigned)(length / ALONG_M) + 1, .first_x = -BEYOND_M};
    sites.count = 2 * NEIGHBOUR_LINES * sites.along;
    return sites;
}

static wh_point beside_point(const wh_geometry *geometry, const beside *sites, unsigned index)
{
    const double near_y = geometry->face_y + NEIGHBOUR_GAP_M + (geometry->face_y - geometry->outer_y);
    const double pitch = 2.0 * geometry->face_y + NEIGHBOUR_GAP_M;
    const unsigned line = index / sites->along, row = line / 2;
    const double y = near_y + (row / 2) * pitch + (row % 2) * 2.0 * geometry->outer_y;
    return (wh_point){sites->first_x + index % sites->along * ALONG_M, line % 2 ? -y : y, geometry->axle_z};
}

static void set_gain(wh_level_model *model, unsigned site, size_t place, double gain_db, bool wide)
{
    model->gain_db[site * model->place_count + place] = (float)gain_db;
    model->wide[site * model->place_count + place] = wide;
}

static void fill_gains(wh_level_model *model, const wh_walk_log *walk, const wh_geometry *geometry, const beside *sites)
{
    const unsigned far = model->seat_count + sites->count;
    for (size_t k = 0; k < walk->place_count; k++) {
        const wh_log_place *place = &walk->places[k];
        for (unsigned p = 0; p < model->seat_count; p++)
            set_gain(model, p, k,
                     place->own ? wheel_gain(geometry, walk->unit->wheels[p].position, place->position) : OTHER_UNIT_DB,
                     !place->own);
        for (unsigned i = 0; i < sites->count; i++)
            set_gain(model, model->seat_count + i, k,
                     place->own ? beside_gain(geometry, beside_point(geometry, sites, i), place->position)
                                : OTHER_UNIT_DB,
                     !place->own);
        set_gain(model, far, k, FAR_DB, true);
        for (unsigned site = far + 1; site < model->site_count; site++) {
            const wh_log_place *at = &walk->places[model->sites[site].other_place];
            const bool same = strcmp(at->unit, place->unit) == 0;
            set_gain(model, site, k, same ? wheel_gain(geometry, at->position, place->position) : OTHER_UNIT_DB, !same);
        }
    }
}

wh_status wh_level_model_make(wh_level_model *model, const wh_walk_log *walk)
{
    wh_geometry geometry;
    wh_geometry_typical(&geometry, walk->unit);
    const beside sites = lay_out(&geometry);
    unsigned others = 0;
    for (size_t k = 0; k < walk->place_count; k++)
        others += !walk->places[k].own;
    *model = (wh_level_model){.seat_count = walk->unit->wheel_count,
                              .site_count = walk->unit->wheel_count + sites.count + 1 + others,
                              .place_count = walk->place_count};
    const size_t cells = (size_t)model->site_count * (model->place_count + 1);
    model->sites = calloc(model->site_count, sizeof *model->sites);
    model->gain_db = calloc(cells, sizeof *model->gain_db);
    model->wide = calloc(cells, sizeof *model->wide);
    model->table = malloc((size_t)KINDS * FINE * ROWS * sizeof *model->table);
    if (!model->sites || !model->gain_db || !model->wide || !model->table)
        return WH_ERR_MEMORY;
    /* Where other units were stood at, half of what is elsewhere is at their wheels. */
    const double at_others = others ? 0.5 : 0.0;
    for (unsigned i = 0; i < model->site_count; i++)
        model->sites[i] = (wh_site){.share = 0.0, .other_place = WH_LOG_NOWHERE};
    for (unsigned i = 0; i < sites.count; i++)
        model->sites[model->seat_count + i].share = (1.0 - at_others) * (1.0 - FAR_SHARE) / sites.count;
    model->sites[model->seat_count + sites.count].share = (1.0 - at_others) * FAR_SHARE;
    unsigned site = model->seat_count + sites.count + 1;
    for (size_t k = 0; k < walk->place_count; k++)
        if (!walk->places[k].own)
            model->sites[site++] = (wh_site){.share = at_others / others, .other_place = (int)k};
    fill_gains(model, walk, &geometry, &sites);
    fill_table(model);
    return WH_OK;
}

void wh_level_model_free(wh_level_model *model)
{
    free(model->sites);
    free(model->gain_db);
    free(model->wide);
    free(model->table);
    *model = (wh_level_model){0};
}

/* Multiply the densities of one place's mean level, for all levels at 1 m, into `product`. */
static void multiply(const wh_level_model *model, const wh_log_level *level, unsigned site, double product[STEPS])
{
    const size_t cell = (size_t)site * model->place_count + level->place;
    const bool at_limit = level->most_dbfs >= LIMIT_DBFS;
    const double mean = level->sum_dbfs / level->readings;
    double first = (at_limit ? LIMIT_DBFS : mean) - (double)model->gain_db[cell] - FIRST_DBFS; /* residual at step 0 */
    first = fmin(fmax(first, -140.0), -LOWEST_DB - 2.0 * STEP_DB);
    const long index = lround((-LOWEST_DB - first) / STEP_DB * FINE);
    const unsigned fine = (unsigned)((FINE - index % FINE) % FINE);
    const double *row = table_row(model, model->wide[cell] + (at_limit ? 2u : 0u), fine) + (index + fine) / FINE;
    /* A reading that may be wrong says less: mixed with a level that could be anything over 60 dB. */
    const double sure = fmin(fmax(level->confidence, 0.0), 1.0), other = (1.0 - sure) * SCALE_DB / 60.0;
    for (int a = 0; a < STEPS; a++)
        product[a] *= sure * row[a] + other;
}

static void products(const wh_level_model *model, const wh_walk_log *walk, const wh_witness *witness, unsigned site,
                     double product[STEPS])
{
    for (int a = 0; a < STEPS; a++)
        product[a] = 1.0;
    int left = LEVELS_MOST;
    for (size_t i = witness->first_level; i != SIZE_MAX && left > 0; i = walk->levels[i].next, left--)
        multiply(model, &walk->levels[i], site, product);
}

/* Weights of the levels at 1 m about the one at index STEPS - 1: of level `a` about level `r`, weight[STEPS - 1 + a - r]. */
static void offset_weights(double weight[2 * STEPS - 1])
{
    for (int i = 0; i < 2 * STEPS - 1; i++)
        weight[i] = STEP_DB * normal((i - (STEPS - 1)) * STEP_DB, OFFSET_DB) + 1e-6;
}

static double weighted_sum(const double weight[2 * STEPS - 1], int reference, const double value[STEPS])
{
    const double *about = weight + (STEPS - 1 - reference);
    double sum = 0.0;
    for (int a = 0; a < STEPS; a++)
        sum += about[a] * value[a];
    return sum;
}

void wh_level_model_fit(wh_level_model *model, const wh_walk_log *walk, wh_site_shares shares, void *context,
                        double *room)
{
    double log_likelihood[STEPS], weight[2 * STEPS - 1];
    offset_weights(weight);
    for (int a = 0; a < STEPS; a++) { /* a receiver's gain may be set as anybody likes: -20 +- 20 dBFS */
        const double z = (FIRST_DBFS + a * STEP_DB + 20.0) / 20.0;
        log_likelihood[a] = -0.5 * z * z;
    }
    for (size_t i = 0; i < walk->witness_count; i++) {
        const wh_witness *witness = &walk->witnesses[i];
        if (witness->first_level == SIZE_MAX)
            continue;
        double mixed[STEPS] = {0.0}, product[STEPS];
        shares(context, i, room);
        for (unsigned site = 0; site < model->site_count; site++) {
            products(model, walk, witness, site, product);
            for (int a = 0; a < STEPS; a++)
                mixed[a] += room[site] * product[a];
        }
        for (int r = 0; r < STEPS; r++)
            log_likelihood[r] += log(weighted_sum(weight, r, mixed) + 1e-300);
    }
    int best = 0;
    for (int r = 1; r < STEPS; r++)
        if (log_likelihood[r] > log_likelihood[best])
            best = r;
    model->reference_dbfs = FIRST_DBFS + best * STEP_DB;
}

void wh_level_model_fits(const wh_level_model *model, const wh_walk_log *walk, const wh_witness *witness, double *fit)
{
    double weight[2 * STEPS - 1], product[STEPS];
    offset_weights(weight);
    const int reference = (int)lround((model->reference_dbfs - FIRST_DBFS) / STEP_DB);
    for (unsigned site = 0; site < model->site_count; site++) {
        products(model, walk, witness, site, product);
        fit[site] = weighted_sum(weight, reference, product);
    }
    double most = 1e-300;
    for (unsigned site = 0; site < model->site_count; site++)
        most = fmax(most, fit[site]);
    for (unsigned site = 0; site < model->site_count; site++)
        fit[site] = witness->first_level == SIZE_MAX ? 1.0 : fit[site] / most;
}
