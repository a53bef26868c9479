#include "emissions.h"

#include "select.h"

#include <math.h>

static void box_mean(const float *in, size_t count, size_t width, float *out)
{
    double sum = 0.0;
    const double share = 1.0 / (double)width;
    const size_t back = width / 2;
    for (size_t i = 0; i < count + back; i++) {
        sum += (i < count ? (double)in[i] : 0.0) - (i >= width ? (double)in[i - width] : 0.0);
        if (i >= back)
            out[i - back] = (float)(sum * share);
    }
}

float wh_emissions_quantile(const float *level, size_t count, size_t stride, double share, float *scratch)
{
    size_t taken = 0;
    for (size_t i = 0; i < count; i += stride)
        scratch[taken++] = level[i];
    return wh_quantile(scratch, taken, share);
}

/* "On" is what the loudest tenth of the smoothed energy reaches, but a burst may fill less than a tenth of the outline. */
static float on_level(const float *smooth, size_t count, size_t width, float *sorted)
{
    float top = 0.0f;
    for (size_t i = 0; i < count; i++)
        top = smooth[i] > top ? smooth[i] : top;
    return fmaxf(wh_emissions_quantile(smooth, count, width / 8 + 1, 0.9, sorted), 0.5f * top);
}

float wh_emissions_level(const float *energy, size_t count, size_t smooth, float *scratch)
{
    if (count == 0)
        return 0.0f;
    box_mean(energy, count, smooth ? smooth : 1, scratch);
    return on_level(scratch, count, smooth, scratch + count);
}

/* The smoothed level blurs the ends: draw them in to where the energy itself reaches what it has inside. */
static wh_emission draw_in(const float *energy, float noise, size_t first, size_t last, size_t most, float *sorted)
{
    const size_t count = last - first;
    const float rise = 0.35f * (wh_emissions_quantile(energy + first, count, WH_EMISSION_STRIDE, 0.85, sorted) - noise);
    wh_emission drawn = {first, last};
    if (rise < 2.0f * noise)
        return drawn; /* single chips of a weak burst tell nothing about its ends */
    const float bar = noise + rise;
    for (size_t i = 0; i < most && drawn.first + 1 < last && energy[drawn.first] < bar; i++)
        drawn.first++;
    for (size_t i = 0; i < most && drawn.last > drawn.first + 1 && energy[drawn.last - 1] < bar; i++)
        drawn.last--;
    return drawn;
}

size_t wh_emissions_find(const float *energy, size_t count, float noise, size_t smooth, size_t pause, float *scratch,
                         wh_emission *found)
{
    if (count == 0)
        return 0;
    float *level = scratch, *sorted = scratch + count;
    box_mean(energy, count, smooth ? smooth : 1, level);
    const float on = on_level(level, count, smooth, sorted);
    if (!(on > noise))
        return 0;
    /* A box slides into a burst to half height exactly at the burst's edge. */
    const float bar = noise + 0.5f * (on - noise);
    /* Around a place that is certainly on, much less counts as well: on-off keyed bits differ in their share of carrier (one
     * part in four against three in four), and signals fade. But stay three deviations of smoothed noise above the noise. */
    const float chips = (float)smooth / WH_EMISSION_CHIP;
    const float keep = noise + fmaxf(0.1f * (on - noise), 3.0f * noise / sqrtf(fmaxf(chips, 1.0f)));
    size_t found_count = 0, free_from = 0;
    for (size_t i = 0; i < count; i++) {
        if (level[i] < bar)
            continue;
        size_t first = i, last = i;
        for (size_t j = i; j-- > free_from && first - j <= pause;)
            if (level[j] >= keep)
                first = j;
        for (size_t j = i + 1; j < count && j - last <= pause; j++)
            if (level[j] >= keep)
                last = j;
        if (found_count < WH_EMISSIONS_MAX)
            found[found_count++] = draw_in(energy, noise, first, last + 1, smooth, sorted);
        free_from = i = last + 1;
    }
    return found_count;
}
