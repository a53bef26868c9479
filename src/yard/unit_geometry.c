#include "unit_geometry.h"

#include <math.h>

/* Axles of one group: 23 CFR 658.5 calls axles 40 to 96 inches (1.02 to 2.44 m) apart a tandem; usual are 1.2 to 1.4 m
 * (common practice, no source). */
#define GROUP_M 1.31
/* From the steered axle of a tractor to the first driven one: 3.6 to 5.8 m (common practice, no source). */
#define STEER_TO_DRIVE_M 4.6
/* Half of the overall width: 2.55 m in Directive 96/53/EC annex I (from memory), 2.59 m in 23 CFR 658.15. */
#define FACE_M 1.28
/* Half a section width: a 295/75R22.5 is 295 mm wide by its name, a 385/65R22.5 385 mm. */
#define HALF_DUAL_M   0.15
#define HALF_SINGLE_M 0.19
/* From the middle of the outer wheel to that of the inner one: 330 to 350 mm (common practice, no source). */
#define DUAL_SPACING_M 0.34
/* A 295/75R22.5 is about 1.02 m high (22.5 in + 2 x 0.75 x 295 mm) and stands a little lower under load. */
#define AXLE_M 0.49

void wh_geometry_typical(wh_geometry *geometry, const wh_unit *unit)
{
    *geometry = (wh_geometry){.axle_count = unit->axle_count,
                              .single_y = FACE_M - HALF_SINGLE_M,
                              .outer_y = FACE_M - HALF_DUAL_M,
                              .inner_y = FACE_M - HALF_DUAL_M - DUAL_SPACING_M,
                              .face_y = FACE_M,
                              .axle_z = AXLE_M};
    for (unsigned i = 1; i < WH_AXLES_MAX; i++) {
        /* A tractor steers with its leading single axles. */
        const bool behind_steer = unit->kind == WH_TRACTOR && i < unit->axle_count && !unit->dual[i - 1] &&
                                  (unit->dual[i] || i == unit->axle_count - 1);
        geometry->axle_x[i] = geometry->axle_x[i - 1] + (behind_steer ? STEER_TO_DRIVE_M : GROUP_M);
    }
}

static double axle_x(const wh_geometry *geometry, wh_position position)
{
    const unsigned last = geometry->axle_count ? geometry->axle_count : 1;
    const unsigned axle = position.axle < 1 ? 1 : position.axle > last ? last : position.axle;
    return geometry->axle_x[axle - 1];
}

wh_point wh_geometry_wheel(const wh_geometry *geometry, wh_position position)
{
    const double y = position.place == WH_INNER   ? geometry->inner_y
                     : position.place == WH_OUTER ? geometry->outer_y
                                                  : geometry->single_y;
    return (wh_point){axle_x(geometry, position), position.side == WH_LEFT ? y : -y, geometry->axle_z};
}

wh_point wh_geometry_place(const wh_geometry *geometry, wh_position position, double distance, double height)
{
    const double y = geometry->face_y + distance;
    return (wh_point){axle_x(geometry, position), position.side == WH_LEFT ? y : -y, height};
}

double wh_point_distance(wh_point a, wh_point b)
{
    const double x = a.x - b.x, y = a.y - b.y, z = a.z - b.z;
    return sqrt(x * x + y * y + z * z);
}
