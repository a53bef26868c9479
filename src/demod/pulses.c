#include "pulses.h"

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

size_t wh_pulses_blank(const wh_pulse_map *map, double longest, const float complex *samples, size_t count,
                       float complex *out)
{
    const size_t from = (size_t)lround(0.5 * BESIDE_FROM * longest), to = (size_t)lround(0.5 * BESIDE_TO * longest);
    size_t blanked = 0;
    if (longest < LEAST)
        return 0;
    const double *once = map->once, share = 2.0 / (RISE * (double)(to - from)); /* of two pairs */
    for (size_t i = to; i + 1 + to < map->pairs; i++) {
        const double here = share * (once[i + 2] - once[i]);
        if (here <= once[i - from] - once[i - to] || here <= once[i + 2 + to] - once[i + 2 + from])
            continue;
        if (blanked == 0)
            memcpy(out, samples, count * sizeof *out);
        for (size_t k = 2 * i; k < 2 * i + 4; k++) {
            blanked += out[k] != 0.0f;
            out[k] = 0.0f;
        }
    }
    return blanked;
}
