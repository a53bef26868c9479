/* The chip length from the places of edges alone: all of them lie on a grid of whole chips. */
#ifndef WH_EDGE_GRID_H
#define WH_EDGE_GRID_H

#include <stdbool.h>
#include <stddef.h>

typedef struct wh_edge_grid {
    double chip;      /* in the unit of the edges */
    double error;     /* standard error of `chip` */
    double phase;     /* where an edge of the grid lies */
    double coherence; /* 0..1: length of the mean of exp(i 2 pi edge / chip); 1 when all edges lie on the grid */
    double jitter;    /* rms distance of the edges from the grid, in chips */
    size_t edges;
} wh_edge_grid;

#define WH_EDGE_GRID_LEAST 12 /* edges; fewer lie on some grid by chance */

/* edge[count], upwards, of one stretch of keying without a break; the chip is looked for between least and most. Of several grids
 * that fit alike the coarsest is taken: on a grid of half chips everything fits as well. False when there are too few edges. */
bool wh_edge_grid_find(const double *edge, size_t count, double least, double most, wh_edge_grid *grid);

#endif
