/* Where the wheels of a unit are, as far as that can be said without a tape measure: typical dimensions by kind of unit. */
#ifndef WH_UNIT_GEOMETRY_H
#define WH_UNIT_GEOMETRY_H

#include "wheelhark/roster.h"

/* Metres. Of a unit: x from the first axle to the back, y to the left from the centre line, z up from the ground. */
typedef struct wh_point {
    double x, y, z;
} wh_point;

typedef struct wh_geometry {
    unsigned axle_count;
    double axle_x[WH_AXLES_MAX];
    double single_y, outer_y, inner_y; /* from the centre line to the middle of the wheel */
    double face_y;                     /* ... to the outer sidewall */
    double axle_z;                     /* height of the wheels' centres */
} wh_geometry;

/* Typical dimensions, common practice without a source where none is named in unit_geometry.c. */
void wh_geometry_typical(wh_geometry *geometry, const wh_unit *unit);
/* The centre of a wheel; axles beyond the last count as the last. */
wh_point wh_geometry_wheel(const wh_geometry *geometry, wh_position position);
/* A place `distance` metres outside the outer sidewall at that wheel, `height` above the ground: the same for both wheels
 * of a dual pair, since nobody gets between them. */
wh_point wh_geometry_place(const wh_geometry *geometry, wh_position position, double distance, double height);
double wh_point_distance(wh_point a, wh_point b);

#endif
