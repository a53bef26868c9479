#include "walk_air.h"

#include <complex.h>
#include <math.h>

#define TWO_PI             6.283185307179586476925286766559
#define LIGHT_M_PER_S      299792458.0
#define WHEEL_RADIUS_M     0.4  /* steel and wet rubber in the way of a ray */
#define WHEEL_LOSS_DB      4.0  /* per wheel crossed; invented */
#define WHEEL_LOSS_MOST_DB 12.0 /* more goes round than through */
#define BODY_LOSS_DB       6.0  /* the technician between antenna and sensor; invented */
#define FRAME_LOSS_DB      3.0  /* across the unit, under its frame; invented */
#define NEAREST_M          0.15

void wh_walk_settings_usual(wh_walk_settings *settings)
{
    *settings = (wh_walk_settings){.carrier_hz = 433.92e6,
                                   .angle_spread_db = 12.0,
                                   .shadow_db = 3.0,
                                   .reflection = 0.25,
                                   .place_error_m = 0.25,
                                   .reference_dbfs = -8.0,
                                   .full_scale_dbfs = 0.0,
                                   .neighbour_gap_m = 1.2};
}

static double gauss(wh_rng *rng)
{
    double pair[2];
    wh_rng_gauss_pair(rng, pair);
    return pair[0];
}

static double between(wh_rng *rng, double least, double most)
{
    return least + (most - least) * wh_rng_uniform(rng);
}

/* A number that stays the same for one sensor at one stand, without a table of all of them. */
static double steady_gauss(uint64_t seed, unsigned stand, unsigned sensor)
{
    wh_rng rng;
    wh_rng_seed(&rng, seed ^ ((uint64_t)stand << 32 | sensor) * 0x9e3779b97f4a7c15u);
    return gauss(&rng);
}

static void place_unit(wh_walk_world *world, unsigned index, const wh_unit *unit, wh_rng *rng)
{
    wh_walk_unit *placed = &world->units[index];
    placed->unit = unit;
    wh_geometry_typical(&placed->geometry, unit);
    const double stretch = between(rng, 0.9, 1.12);
    for (unsigned i = 0; i < WH_AXLES_MAX; i++)
        placed->geometry.axle_x[i] *= stretch;
    placed->geometry.axle_z += between(rng, -0.05, 0.05);
    const double pitch = 2.0 * placed->geometry.face_y + world->settings.neighbour_gap_m;
    const double row = (double)((index + 1) / 2) * (index % 2 ? -1.0 : 1.0);
    placed->x = index ? between(rng, -1.5, 1.5) : 0.0;
    placed->y = row * pitch + (index ? between(rng, -0.2, 0.2) : 0.0);
    for (unsigned i = 0; i < unit->wheel_count; i++) {
        wh_point wheel = wh_geometry_wheel(&placed->geometry, unit->wheels[i].position);
        wheel.x += placed->x;
        wheel.y += placed->y;
        world->obstacles[world->obstacle_count++] = wheel;
    }
}

void wh_walk_world_make(wh_walk_world *world, const wh_walk_settings *settings, const wh_unit *const *units,
                        unsigned unit_count, uint64_t seed)
{
    *world = (wh_walk_world){.settings = *settings, .seed = seed};
    wh_rng rng;
    wh_rng_seed(&rng, seed);
    world->unit_count = unit_count < WH_WALK_UNITS_MAX ? unit_count : WH_WALK_UNITS_MAX;
    for (unsigned i = 0; i < world->unit_count; i++)
        place_unit(world, i, units[i], &rng);
    for (unsigned i = 0; i < WH_WALK_MIRRORS; i++) {
        world->mirrors[i] = (wh_point){between(&rng, -5.0, 10.0), between(&rng, -7.0, 7.0), between(&rng, 0.3, 3.5)};
        world->mirror_share[i] = settings->reflection * between(&rng, -1.0, 1.0);
    }
    world->ground_share = -between(&rng, 0.3, 0.7);
}

void wh_walk_sensor_at_point(wh_walk_sensor *sensor, const wh_walk_world *world, wh_point at, unsigned number,
                             wh_rng *rng)
{
    *sensor = (wh_walk_sensor){.number = number,
                               .at = at,
                               .offset_db = -world->settings.angle_spread_db * wh_rng_uniform(rng) + 1.5 * gauss(rng),
                               .lobe_db = between(rng, 0.0, 0.15) * world->settings.angle_spread_db,
                               .lobe_phase = between(rng, 0.0, TWO_PI)};
}

void wh_walk_sensor_at_wheel(wh_walk_sensor *sensor, const wh_walk_world *world, unsigned unit, wh_position position,
                             unsigned number, wh_rng *rng)
{
    const wh_walk_unit *placed = &world->units[unit];
    wh_point at = wh_geometry_wheel(&placed->geometry, position);
    const double angle = between(rng, 0.0, TWO_PI); /* on the rim, 0.27 m from the axle */
    at.x += placed->x + 0.27 * cos(angle);
    at.y += placed->y;
    at.z += 0.27 * sin(angle);
    wh_walk_sensor_at_point(sensor, world, at, number, rng);
}

void wh_walk_stand(wh_walk_antenna *antenna, const wh_walk_world *world, unsigned unit, wh_position position,
                   unsigned number, wh_rng *rng)
{
    const wh_walk_unit *placed = &world->units[unit];
    const double error = world->settings.place_error_m;
    double distance = 0.7 + error * gauss(rng);
    distance = distance < 0.4 ? 0.4 : distance > 1.1 ? 1.1 : distance;
    const wh_point place = wh_geometry_place(&placed->geometry, position, distance, between(rng, 0.7, 1.2));
    *antenna = (wh_walk_antenna){.at = {place.x + placed->x + error * gauss(rng), place.y + placed->y, place.z},
                                 .facing = position.side == WH_LEFT ? 1.0 : -1.0,
                                 .number = number};
}

/* Whether the ray passes within a wheel's radius of the centre `c` of a wheel that is not the sender's own. */
static bool crosses(wh_point from, wh_point to, wh_point c)
{
    const double x = to.x - from.x, y = to.y - from.y, z = to.z - from.z;
    const double square = x * x + y * y + z * z;
    if (square < 1e-6)
        return false;
    const double t = ((c.x - from.x) * x + (c.y - from.y) * y + (c.z - from.z) * z) / square;
    if (t <= 0.0 || t >= 1.0)
        return false;
    const wh_point near = {from.x + t * x, from.y + t * y, from.z + t * z};
    return wh_point_distance(near, c) < WHEEL_RADIUS_M;
}

/* dB lost on the straight way. */
static double way_loss(const wh_walk_world *world, wh_point sensor, wh_point antenna)
{
    double loss = 0.0;
    for (unsigned i = 0; i < world->obstacle_count; i++)
        if (wh_point_distance(world->obstacles[i], sensor) > 0.3 && crosses(sensor, antenna, world->obstacles[i]))
            loss += WHEEL_LOSS_DB;
    if (loss > WHEEL_LOSS_MOST_DB)
        loss = WHEEL_LOSS_MOST_DB;
    for (unsigned i = 0; i < world->unit_count; i++)
        if ((sensor.y - world->units[i].y) * (antenna.y - world->units[i].y) < 0.0)
            loss += FRAME_LOSS_DB;
    return loss;
}

static double complex ray(double share, double way_m, double wave_m)
{
    const double way = way_m < NEAREST_M ? NEAREST_M : way_m;
    return share / way * cexp(-I * TWO_PI * way / wave_m);
}

double wh_walk_level(const wh_walk_world *world, const wh_walk_antenna *antenna, const wh_walk_sensor *sensor,
                     wh_rng *rng)
{
    const wh_walk_settings *settings = &world->settings;
    wh_point at = antenna->at;
    at.x += 0.04 * gauss(rng);
    at.y += 0.04 * gauss(rng);
    at.z += 0.04 * gauss(rng);
    const double wave_m = LIGHT_M_PER_S / settings->carrier_hz;
    const double direct = wh_point_distance(at, sensor->at);
    double complex sum = ray(pow(10.0, -way_loss(world, sensor->at, at) / 20.0), direct, wave_m);
    wh_point below = sensor->at;
    below.z = -below.z;
    sum += ray(world->ground_share, wh_point_distance(at, below), wave_m);
    for (unsigned i = 0; i < WH_WALK_MIRRORS; i++) {
        const double way = wh_point_distance(at, world->mirrors[i]) + wh_point_distance(world->mirrors[i], sensor->at);
        sum += ray(world->mirror_share[i], way, wave_m);
    }
    const double azimuth = atan2(at.y - sensor->at.y, at.x - sensor->at.x);
    double level = settings->reference_dbfs + 20.0 * log10(cabs(sum) + 1e-9) + sensor->offset_db +
                   sensor->lobe_db * cos(2.0 * azimuth + sensor->lobe_phase) +
                   settings->shadow_db * steady_gauss(world->seed, antenna->number, sensor->number);
    /* He holds the antenna before himself: what is behind it comes through him. */
    if ((sensor->at.y - at.y) * antenna->facing > 0.3)
        level -= BODY_LOSS_DB;
    /* 1 dB below full scale the receiver bends, above it stands still. */
    const double over = level - settings->full_scale_dbfs;
    return over > 10.0 ? settings->full_scale_dbfs : settings->full_scale_dbfs - log1p(exp(-over));
}
