/* What a receiver carried round parked units hears: the levels of simulated tire sensors, for bench checks of everything
 * that relies on levels. It is not the model that attribution uses, on purpose: waves add up with their phases here, people
 * do not stand where they say, bodies and wheels are in the way, and the receiver saturates. Invented where no source is
 * named; only the spread over wheel angles is from outside (IEEE 2017, "Enhanced TPMS Security through Acceleration Timed
 * Transmissions": up to 20 dB between the best and the worst angle). */
#ifndef WH_WALK_AIR_H
#define WH_WALK_AIR_H

#include "rng.h"
#include "unit_geometry.h"

#define WH_WALK_UNITS_MAX 16
#define WH_WALK_MIRRORS   10
#define WH_WALK_OBSTACLES (WH_WALK_UNITS_MAX * WH_WHEELS_MAX)

typedef struct wh_walk_settings {
    double carrier_hz;
    double angle_spread_db; /* between the best and the worst wheel angle: 0..20 */
    double shadow_db;       /* standard deviation of what nothing below explains, per sensor and standing place */
    double reflection;      /* amplitude of what walls, neighbours and frames throw back: 0 (open field) .. 1 (hall) */
    double place_error_m;   /* standard deviation of where people stand, along and across the unit each */
    double reference_dbfs;  /* level at 1 m in the open at the best angle */
    double full_scale_dbfs; /* the receiver shows no more than this */
    double neighbour_gap_m; /* between the sides of units parked beside each other */
} wh_walk_settings;

/* 433.92 MHz, 12 dB spread, 3 dB shadow, reflection 0.25, 0.25 m, -8 dBFS at 1 m, full scale 0 dBFS, 1.2 m. */
void wh_walk_settings_usual(wh_walk_settings *settings);

/* One unit as it really stands: dimensions a little off the typical ones. */
typedef struct wh_walk_unit {
    const wh_unit *unit; /* borrowed */
    wh_geometry geometry;
    double x, y; /* of the unit's first axle in the yard */
} wh_walk_unit;

typedef struct wh_walk_world {
    wh_walk_settings settings;
    uint64_t seed;
    unsigned unit_count;
    wh_walk_unit units[WH_WALK_UNITS_MAX];
    wh_point mirrors[WH_WALK_MIRRORS];
    double mirror_share[WH_WALK_MIRRORS]; /* signed */
    double ground_share;
    unsigned obstacle_count;
    wh_point obstacles[WH_WALK_OBSTACLES]; /* all wheels */
} wh_walk_world;

/* Side by side in a row, unit 0 in the middle of the frame of reference, the others alternately right and left of it, all
 * facing alike, each shifted a little along. At most WH_WALK_UNITS_MAX. The same seed gives the same yard. */
void wh_walk_world_make(wh_walk_world *world, const wh_walk_settings *settings, const wh_unit *const *units,
                        unsigned unit_count, uint64_t seed);

/* A simulated sensor. */
typedef struct wh_walk_sensor {
    unsigned number; /* tells sensors apart in the shadowing; any value */
    wh_point at;
    double offset_db; /* strength at its wheel angle against the best one, with the tolerance of its power; constant */
    double lobe_db, lobe_phase; /* how its pattern differs by direction */
} wh_walk_sensor;

/* A sensor at a wheel of a unit of the world: its wheel stopped at a random angle. */
void wh_walk_sensor_at_wheel(wh_walk_sensor *sensor, const wh_walk_world *world, unsigned unit, wh_position position,
                             unsigned number, wh_rng *rng);
/* A sensor at any other place, e.g. of a vehicle that passes. */
void wh_walk_sensor_at_point(wh_walk_sensor *sensor, const wh_walk_world *world, wh_point at, unsigned number,
                             wh_rng *rng);

/* Where the antenna is during one stand. */
typedef struct wh_walk_antenna {
    wh_point at;
    double facing;   /* +1: he looks towards smaller y, -1: towards larger y; his body is behind the antenna */
    unsigned number; /* tells stands apart in the shadowing; any value */
} wh_walk_antenna;

/* The technician says he stands at a wheel; where he really is, 0.4 to 1.1 m from the tire, differs each time. */
void wh_walk_stand(wh_walk_antenna *antenna, const wh_walk_world *world, unsigned unit, wh_position position,
                   unsigned number, wh_rng *rng);

/* Level in dBFS of one transmission as the receiver shows it; `rng` moves the antenna by a few centimetres. */
double wh_walk_level(const wh_walk_world *world, const wh_walk_antenna *antenna, const wh_walk_sensor *sensor,
                     wh_rng *rng);

#endif
