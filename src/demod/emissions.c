#include "emissions.h"

#include "select.h"
#include "wide.h"

#include <math.h>

/* The smoothed level is wanted at every half chip only: a quarter of the work, and ends are drawn in on the energy itself. */
#define GRAIN 4
/* Values that a quantile is taken of: tells it to two or three hundredths of the signal's power. */
#define QUANTILE_MOST 512

WH_WIDE static void add_grains(const float *restrict in, size_t grains, float *restrict sum)
{
    for (size_t i = 0; i < grains; i++)
        sum[i] = (in[GRAIN * i] + in[GRAIN * i + 1]) + (in[GRAIN * i + 2] + in[GRAIN * i + 3]);
}

/* Mean over `width` samples about each grain; outside the array there is nothing. scratch, out: one a grain. Returns their number. */
static size_t box_mean(const float *in, size_t count, size_t width, float *scratch, float *out)
{
    const size_t whole = count / GRAIN, grains = (count + GRAIN - 1) / GRAIN;
    const size_t box = width < GRAIN ? 1 : width / GRAIN, back = box / 2;
    const double share = 1.0 / (double)(box * GRAIN);
    add_grains(in, whole, scratch);
    if (grains > whole) {
        scratch[whole] = 0.0f;
        for (size_t i = whole * GRAIN; i < count; i++)
            scratch[whole] += in[i];
    }
    double sum = 0.0;
    size_t i = 0;
    for (; i < back && i < grains; i++) /* the box slides in, ... */
        sum += (double)scratch[i];
    for (; i < box && i < grains; i++) {
        sum += (double)scratch[i];
        out[i - back] = (float)(sum * share);
    }
    for (; i < grains; i++) {
        sum += (double)scratch[i] - (double)scratch[i - box];
        out[i - back] = (float)(sum * share);
    }
    for (; i < grains + back; i++) { /* ... and out */
        sum -= i >= box ? (double)scratch[i - box] : 0.0;
        if (i >= back)
            out[i - back] = (float)(sum * share);
    }
    return grains;
}

float wh_emissions_quantile(const float *level, size_t count, size_t stride, double share, float *scratch)
{
    size_t taken = 0;
    if (count / stride > QUANTILE_MOST)
        stride = count / QUANTILE_MOST | 1; /* odd: meets all places of the chip */
    for (size_t i = 0; i < count; i += stride)
        scratch[taken++] = level[i];
    return wh_quantile(scratch, taken, share);
}

/* "On" is what the loudest tenth of the smoothed energy reaches, but a burst may fill less than a tenth of the outline. `width` and
 * count: grains. */
static float on_level(const float *smooth, size_t count, size_t width, float *sorted)
{
    float top = 0.0f;
    for (size_t i = 0; i < count; i++)
        top = smooth[i] > top ? smooth[i] : top;
    const float usual = wh_emissions_quantile(smooth, count, width / 8 + 1, 0.9, sorted);
    return usual > 0.5f * top ? usual : 0.5f * top;
}

float wh_emissions_level(const float *energy, size_t count, size_t smooth, float *scratch)
{
    if (count == 0)
        return 0.0f;
    float *level = scratch + count;
    const size_t grains = box_mean(energy, count, smooth, scratch, level);
    return on_level(level, grains, smooth / GRAIN, scratch);
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

/* Emissions of about the loudest one's level. on_least: what that level must reach. At most `room` are found. */
static size_t find_alike(const float *energy, size_t count, float noise, float on_least, size_t smooth, size_t pause,
                         float *scratch, wh_emission *found, size_t room)
{
    if (count == 0)
        return 0;
    float *level = scratch + count, *sorted = scratch;
    const size_t grains = box_mean(energy, count, smooth, scratch, level);
    const float on = on_level(level, grains, smooth / GRAIN, sorted);
    if (!(on > on_least))
        return 0;
    /* A box slides into a burst to half height exactly at the burst's edge. */
    const float bar = noise + 0.5f * (on - noise);
    /* Around a place that is certainly on, much less counts as well: on-off keyed bits differ in their share of carrier (one
     * part in four against three in four), and signals fade. But stay three deviations of smoothed noise above the noise. */
    const float chips = (float)smooth / WH_EMISSION_CHIP;
    const float keep = noise + fmaxf(0.1f * (on - noise), 3.0f * noise / sqrtf(fmaxf(chips, 1.0f)));
    const size_t gap = pause / GRAIN;
    size_t found_count = 0, free_from = 0;
    for (size_t i = 0; i < grains; i++) {
        if (level[i] < bar)
            continue;
        size_t first = i, last = i;
        for (size_t j = i; j-- > free_from && first - j <= gap;)
            if (level[j] >= keep)
                first = j;
        for (size_t j = i + 1; j < grains && j - last <= gap; j++)
            if (level[j] >= keep)
                last = j;
        const size_t end = (last + 1) * GRAIN < count ? (last + 1) * GRAIN : count;
        if (found_count < room)
            found[found_count++] = draw_in(energy, noise, first * GRAIN, end, smooth, sorted);
        free_from = i = last + 1;
    }
    return found_count;
}

/* A far transmitter's copies can lie between a near one's on the same frequency, far below their level: look at what lies between
 * once more, at its own level. Noise alone reaches no further than six deviations of its smoothed self. */
size_t wh_emissions_find(const float *energy, size_t count, float noise, size_t smooth, size_t pause, float *scratch,
                         wh_emission *found)
{
    wh_emission loud[WH_EMISSIONS_MAX];
    const size_t loud_count = find_alike(energy, count, noise, noise, smooth, pause, scratch, loud, WH_EMISSIONS_MAX);
    const float chips = (float)smooth / WH_EMISSION_CHIP;
    const float least = noise * (1.0f + 6.0f / sqrtf(fmaxf(chips, 1.0f)));
    size_t found_count = 0, from = 0;
    for (size_t i = 0; i <= loud_count; i++) {
        /* The loud ones' own ends reach into the gap by the smoothing. */
        const size_t first = i > 0 ? from + smooth : 0, end = i < loud_count ? loud[i].first : count;
        const size_t last = i < loud_count && end > smooth ? end - smooth : i < loud_count ? 0 : count;
        if (loud_count > 0 && last > first + 2 * smooth) {
            const size_t more = find_alike(energy + first, last - first, noise, least, smooth, pause, scratch,
                                           found + found_count, WH_EMISSIONS_MAX - found_count);
            for (size_t k = found_count; k < found_count + more; k++) {
                found[k].first += first;
                found[k].last += first;
            }
            found_count += more;
        }
        if (i < loud_count && found_count < WH_EMISSIONS_MAX)
            found[found_count++] = loud[i];
        from = i < loud_count ? loud[i].last : from;
    }
    return found_count;
}
