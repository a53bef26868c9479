#include "emissions.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static int ascending(const void *a, const void *b)
{
    const float x = *(const float *)a, y = *(const float *)b;
    return (x > y) - (x < y);
}

static void box_mean(const float *in, size_t count, size_t width, float *out)
{
    double sum = 0.0;
    const size_t back = width / 2;
    for (size_t i = 0; i < count + back; i++) {
        if (i < count)
            sum += (double)in[i];
        if (i >= width)
            sum -= (double)in[i - width];
        if (i >= back)
            out[i - back] = (float)(sum / (double)width);
    }
}

/* "On" is what the loudest tenth of the smoothed energy reaches, but a burst may fill less than a tenth of the outline. */
static float on_level(const float *smooth, size_t count, float *sorted)
{
    memcpy(sorted, smooth, count * sizeof *sorted);
    qsort(sorted, count, sizeof *sorted, ascending);
    const float top = sorted[count - 1], tenth = sorted[(size_t)(0.9 * (double)(count - 1))];
    return fmaxf(tenth, 0.5f * top);
}

size_t wh_emissions_find(const float *energy, size_t count, float noise, size_t smooth, size_t pause, float *scratch,
                         wh_emission *found)
{
    if (count == 0)
        return 0;
    float *level = scratch, *sorted = scratch + count;
    box_mean(energy, count, smooth ? smooth : 1, level);
    const float on = on_level(level, count, sorted);
    if (!(on > noise))
        return 0;
    /* A box slides into a burst to half height exactly at the burst's edge. */
    const float bar = noise + 0.5f * (on - noise);
    /* The level sags inside a burst of uneven keying or fading: once on, half of that suffices. */
    const float keep = noise + 0.25f * (on - noise);
    size_t found_count = 0;
    for (size_t i = 0; i < count; i++) {
        if (level[i] < bar)
            continue;
        size_t last = i;
        for (size_t j = i + 1; j < count && j - last <= pause; j++)
            if (level[j] >= keep)
                last = j;
        const wh_emission *before = found_count ? &found[found_count - 1] : NULL;
        if (before && i - before->last <= pause)
            found[found_count - 1].last = last + 1;
        else if (found_count < WH_EMISSIONS_MAX)
            found[found_count++] = (wh_emission){i, last + 1};
        i = last + 1;
    }
    return found_count;
}
