#include "pulses.h"

#include "wide.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Times the power on both sides. Four samples of noise exceed their mean so far once in 10 000: two or three false pulses in a hundred
 * bursts, each worth a quarter of a chip. A chip that is on alone reaches 2.5 times what is counted beside it. */
#define RISE 4.0
/* What is beside a place begins and ends so far from it, in longest pulses: a pulse as long as that leaves most of it free, an on chip
 * of twice the length covers 0.4 of it. */
#define BESIDE_FROM 0.6
#define BESIDE_TO   1.6
#define LEAST       8.0
#define PIECE       256 /* pairs looked at at a time: few hold a pulse */

bool wh_pulse_map_make(wh_pulse_map *map, const float complex *samples, size_t count)
{
    const size_t pairs = count / 2;
    if (pairs + 1 > map->capacity) {
        double *more = realloc(map->once, (pairs + 1) * sizeof *more);
        if (!more)
            return false;
        map->once = more;
        map->capacity = pairs + 1;
    }
    map->pairs = pairs;
    const float *x = (const float *)samples;
    double sum = 0.0;
    map->once[0] = 0.0;
    for (size_t i = 0; i < pairs; i++) {
        const float *pair = x + 4 * i;
        sum += (double)(pair[0] * pair[0] + pair[1] * pair[1] + pair[2] * pair[2] + pair[3] * pair[3]);
        map->once[i + 1] = sum;
    }
    return true;
}

void wh_pulse_map_free(wh_pulse_map *map)
{
    free(map->once);
    *map = (wh_pulse_map){0};
}

/* Four samples stand out when they are above what lies `from` to `to` pairs before and behind. */
typedef struct measure {
    double share; /* of two pairs in what lies on one side */
    size_t from, to;
} measure;

WH_WIDE static bool any_stands_out(const double *restrict once, size_t count, const measure *m)
{
    const double share = m->share;
    const double *before = once - m->from, *long_before = once - m->to;
    const double *behind = once + 2 + m->from, *long_behind = once + 2 + m->to;
    int64_t found = 0;
    for (size_t i = 0; i < count; i++) {
        const double here = share * (once[i + 2] - once[i]);
        found |= (here > before[i] - long_before[i]) & (here > long_behind[i] - behind[i]);
    }
    return found != 0;
}

size_t wh_pulses_blank(const wh_pulse_map *map, double longest, const float complex *samples, size_t count,
                       float complex *out)
{
    measure m = {.from = (size_t)lround(0.5 * BESIDE_FROM * longest), .to = (size_t)lround(0.5 * BESIDE_TO * longest)};
    size_t blanked = 0;
    if (longest < LEAST)
        return 0;
    m.share = 2.0 / (RISE * (double)(m.to - m.from));
    for (size_t first = m.to; first + 1 + m.to < map->pairs; first += PIECE) {
        const size_t left = map->pairs - 1 - m.to - first, end = first + (left < PIECE ? left : PIECE);
        if (!any_stands_out(map->once + first, end - first, &m))
            continue;
        for (size_t i = first; i < end; i++) {
            if (!any_stands_out(map->once + i, 1, &m))
                continue;
            if (blanked == 0)
                memcpy(out, samples, count * sizeof *out);
            for (size_t k = 2 * i; k < 2 * i + 4; k++) {
                blanked += out[k] != 0.0f;
                out[k] = 0.0f;
            }
        }
    }
    return blanked;
}
