/* How well the levels of one sensor, heard at several standing places, fit each place the sensor may be at. The model is
 * written down in DEVELOPERS.md, "Attribution". */
#ifndef WH_LEVEL_MODEL_H
#define WH_LEVEL_MODEL_H

#include "unit_geometry.h"
#include "walk_log.h"

/* Where a sensor may be: first the wheels of the unit, in order, then sites elsewhere. */
typedef struct wh_site {
    double share;    /* of sensors elsewhere, before anything was heard; the shares of sites that are no wheels of the
                           unit add up to 1 */
    int other_place; /* a wheel of another unit that was stood at: index of the place; else WH_LOG_NOWHERE */
} wh_site;

typedef struct wh_level_model {
    unsigned seat_count, site_count; /* site_count includes the seats */
    wh_site *sites;
    size_t place_count;
    float *gain_db;        /* site_count x place_count: mean level there over the level at 1 m in the open */
    unsigned char *wide;   /* ... and whether that is known roughly only */
    double *table;         /* probability densities of residuals, see level_model.c */
    double reference_dbfs; /* mean level of a sensor at 1 m: fitted to what was heard */
} wh_level_model;

/* Sites and gains, the reference not yet known. WH_ERR_MEMORY; wh_level_model_free in any case. */
wh_status wh_level_model_make(wh_level_model *model, const wh_walk_log *walk);
void wh_level_model_free(wh_level_model *model);

/* How likely a witness is at each site by everything but its levels; adds up to 1; [site_count]. */
typedef void (*wh_site_shares)(void *context, size_t witness, double *share);

/* Find the level that sensors have at 1 m by maximum likelihood over all witnesses. `room` holds site_count numbers. */
void wh_level_model_fit(wh_level_model *model, const wh_walk_log *walk, wh_site_shares shares, void *context,
                        double *room);

/* Of one witness: density of its levels for each site, up to a factor common to all; [site_count]. All 1 when it was heard
 * at no place. */
void wh_level_model_fits(const wh_level_model *model, const wh_walk_log *walk, const wh_witness *witness, double *fit);

#endif
