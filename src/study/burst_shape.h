/* A blind look at one burst: how it is modulated, where its tones are, how long a chip is. Nothing about it is known before. */
#ifndef WH_BURST_SHAPE_H
#define WH_BURST_SHAPE_H

#include "demod.h"
#include "edge_grid.h"
#include "radio.h"

#include <stdbool.h>

typedef struct wh_burst_shape {
    bool found; /* else the rest is 0: too weak, too short, or no keying at all */
    wh_modulation modulation;
    double carrier_hz,
        deviation_hz;  /* carrier relative to the centre of the baseband; deviation 0 with on-off keying */
    double contrast;   /* distance of the two tones (or levels) over the spread within each */
    double evidence;   /* edges that lie on the grid, about */
    wh_edge_grid grid; /* in seconds */
    double run_chips;  /* longest stretch of keying without a break */
    unsigned zero_run; /* chips of the longest run of chip 0 within it that is no single exception */
} wh_burst_shape;

typedef struct wh_shape_finder wh_shape_finder;

wh_shape_finder *wh_shape_finder_create(void); /* NULL when memory is out */
void wh_shape_finder_destroy(wh_shape_finder **finder);
/* False when memory is out. */
bool wh_shape_find(wh_shape_finder *finder, const wh_baseband *baseband, wh_burst_shape *shape);

/* Slowest and fastest keying looked for, chips a second: what descriptors can say. */
#define WH_STUDY_RATE_LEAST_HZ 900.0
#define WH_STUDY_RATE_MOST_HZ  55e3

#endif
