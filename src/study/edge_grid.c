#include "edge_grid.h"

#include <complex.h>
#include <math.h>

#define COARSE_EDGES 96   /* the first look takes no more: keeps the search linear */
#define STEPS        6.0  /* trial rates per 1/span: the peak is met to a twelfth, which costs 2 % of its height */
#define ALIKE        0.92 /* a coarser grid is taken when it fits so well, relative to the best */
#define FAR          0.3  /* chips off the grid: an edge made by noise */

/* Length of the mean of exp(i 2 pi rate edge). */
static double fit(const double *edge, size_t count, double rate)
{
    double complex sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        const double turns = (edge[i] - edge[0]) * rate, angle = 2.0 * M_PI * (turns - floor(turns));
        sum += cos(angle) + sin(angle) * I;
    }
    return cabs(sum) / (double)count;
}

/* The lowest of the rates whose fit is a peak about as high as the highest. */
static double coarse_rate(const double *edge, size_t count, double least, double most)
{
    const double span = edge[count - 1] - edge[0], step = 1.0 / (STEPS * span);
    double complex at[COARSE_EDGES], turn[COARSE_EDGES];
    for (size_t i = 0; i < count; i++) {
        const double t = 2.0 * M_PI * (edge[i] - edge[0]);
        at[i] = cos(t / most) + sin(t / most) * I;
        turn[i] = cos(t * step) + sin(t * step) * I;
    }
    double best = 0.0, chosen = 0.0, chosen_fit = 0.0, before = 0.0, here = 0.0;
    double peak_rate = 0.0;
    /* Peaks come in order of rate: a later one must beat the chosen one clearly. */
    for (double rate = 1.0 / most; rate <= 1.0 / least + 2.0 * step; rate += step) {
        double complex sum = 0.0;
        for (size_t i = 0; i < count; i++) {
            sum += at[i];
            at[i] *= turn[i];
        }
        const double next = cabs(sum) / (double)count;
        if (here >= before && here > next && here > best) {
            best = here;
            if (chosen_fit < ALIKE * here) {
                chosen_fit = here;
                chosen = peak_rate;
            }
        }
        before = here;
        here = next;
        peak_rate = rate;
    }
    return chosen;
}

/* Straight line through the edges against their whole numbers, over a longer and longer part. */
static void refine(const double *edge, size_t count, size_t first, wh_edge_grid *grid)
{
    for (size_t used = first;; used = used * 2 < count ? used * 2 : count) {
        for (int look = 0; look < 4; look++) {
            double n = 0.0, sk = 0.0, st = 0.0, skk = 0.0, skt = 0.0, squares = 0.0;
            const double middle = floor((edge[used / 2] - grid->phase) / grid->chip);
            for (size_t i = 0; i < used; i++) {
                const double k = round((edge[i] - grid->phase) / grid->chip);
                const double off = edge[i] - grid->phase - k * grid->chip, x = k - middle;
                if (fabs(off) > FAR * grid->chip)
                    continue;
                n += 1.0;
                sk += x;
                st += off;
                skk += x * x;
                skt += x * off;
                squares += off * off;
            }
            const double spread = skk - sk * sk / fmax(n, 1.0);
            if (n < 3.0 || spread <= 0.0)
                return;
            const double slope = (skt - sk * st / n) / spread;
            grid->phase += (st - slope * sk) / n - slope * middle;
            grid->chip += slope;
            const double left = fmax(0.0, squares - st * st / n - slope * slope * spread) / fmax(1.0, n - 2.0);
            grid->jitter = sqrt(left) / grid->chip;
            grid->error = sqrt(left / spread);
        }
        if (used == count)
            return;
    }
}

bool wh_edge_grid_find(const double *edge, size_t count, double least, double most, wh_edge_grid *grid)
{
    *grid = (wh_edge_grid){0};
    if (count < WH_EDGE_GRID_LEAST || !(edge[count - 1] > edge[0]))
        return false;
    const size_t coarse = count < COARSE_EDGES ? count : COARSE_EDGES;
    const double rate = coarse_rate(edge, coarse, least, most);
    if (!(rate > 0.0))
        return false;
    grid->chip = 1.0 / rate;
    grid->edges = count;
    double complex sum = 0.0;
    for (size_t i = 0; i < coarse; i++) {
        const double angle = 2.0 * M_PI * (edge[i] - edge[0]) * rate;
        sum += cos(angle) + sin(angle) * I;
    }
    grid->phase = edge[0] + carg(sum) / (2.0 * M_PI) * grid->chip;
    refine(edge, count, coarse, grid);
    if (!(grid->chip > 0.0))
        return false;
    grid->coherence = fit(edge, count, 1.0 / grid->chip);
    return true;
}
