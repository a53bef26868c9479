#include "tones.h"

#include "wide.h"

#include <math.h>
#include <string.h>

#define NEAR_WIDTHS     2.0 /* two hypotheses closer than this many chip rates in both tones are one transmitter's lobes */
#define MASK_RATES      1.5  /* a tone's own band, in chip rates to either side */
#define MASK_MARGIN     4.0  /* side lobes of one short piece of data exceed their mean by up to 6 dB */
#define REMAINS         0.12 /* of a waveform taken out: four times what remains on average, see MASK_MARGIN */
#define LEFT_OVER_NOISE 12.0 /* a single bin of a periodogram of a few averages exceeds noise so far once in 10 000 */
/* A burst that can just be decoded has 4 times the noise in the middle of its tones when it lasts as long as the outline; the mean of so
 * many bins over some blocks exceeds 1.3 times the noise hardly ever. */
#define NARROWEST_HZ 4e3
#define LEFT_IN_BAND 2.0
#define FURTHER_SCORE                                                                                                  \
    0.01 /* product of the powers: ten decibels weaker in each tone; what is weaker still is a side lobe */

static void sum_up(wh_tone_map *map)
{
    map->once[0] = 0.0;
    for (size_t b = 0; b < WH_TONES_FFT; b++)
        map->once[b + 1] = map->once[b] + (double)map->power[b];
}

WH_WIDE static void add_powers(const float *restrict spectrum, size_t count, float *restrict power)
{
    for (size_t b = 0; b < count; b++)
        power[b] += spectrum[2 * b] * spectrum[2 * b] + spectrum[2 * b + 1] * spectrum[2 * b + 1];
}

WH_WIDE static void weigh(const float *restrict samples, const float *restrict window, size_t count,
                          float *restrict weighed)
{
    for (size_t i = 0; i < count; i++) {
        weighed[2 * i] = samples[2 * i] * window[i];
        weighed[2 * i + 1] = samples[2 * i + 1] * window[i];
    }
}

/* Averaged periodogram, Hann, half overlap. It begins half a block before the first sample and ends half a block after the last, so
 * that every sample has the same weight: a short burst at the very edge of a recording would else vanish under the window. */
bool wh_tone_map_make(wh_tone_map *map, wh_fft *fft, const wh_baseband *baseband)
{
    const size_t size = WH_TONES_FFT, half = size / 2, count = baseband->count;
    memset(map->power, 0, sizeof map->power);
    map->bin_hz = baseband->rate_hz / (double)size;
    if (map->hann[half] == 0.0f)
        for (size_t i = 0; i < size; i++)
            map->hann[i] = 0.5f - 0.5f * cosf((float)(2.0 * M_PI) * ((float)i + 0.5f) / (float)size);
    double energy = 0.0; /* of the window over real samples; its squares add up to 3/8 of its size */
    for (size_t block = 0; block * half < count + half; block++) {
        float complex *in = wh_fft_input(fft);
        /* Counted from half a block before the first sample; zeros where there are no samples. */
        const size_t start = block * half, first = start < half ? half - start : 0;
        const size_t end = count + half - start < size ? count + half - start : size;
        memset(in, 0, first * sizeof *in);
        memset(in + end, 0, (size - end) * sizeof *in);
        weigh((const float *)(baseband->samples + start + first - half), map->hann + first, end - first,
              (float *)(in + first));
        if (end - first == size)
            energy += 0.375 * (double)size;
        else
            for (size_t i = first; i < end; i++)
                energy += (double)(map->hann[i] * map->hann[i]);
        wh_fft_execute(fft);
        const float *out = (const float *)wh_fft_output(fft);
        add_powers(out + size, half, map->power);
        add_powers(out, half, map->power + half);
    }
    /* White noise of density n has n x rate per sample and so n x rate x energy in a bin: scaled to n x bin_hz. */
    const double scale = energy > 0.0 ? 1.0 / (energy * (double)size) : 0.0;
    for (size_t b = 0; b < size; b++)
        map->power[b] *= (float)scale;
    memcpy(map->raw, map->power, sizeof map->raw);
    sum_up(map);
    map->whole = map->once[size];
    return energy > 0.0;
}

/* Power within +- half_hz of a frequency, whole bins. */
static double band(const wh_tone_map *map, double hz, double half_hz)
{
    const double centre = hz / map->bin_hz + WH_TONES_FFT / 2, half = half_hz / map->bin_hz;
    const double low = fmin(fmax(centre - half + 0.5, 0.0), WH_TONES_FFT),
                 high = fmin(fmax(centre + half + 0.5, 0.0), WH_TONES_FFT);
    const size_t i = (size_t)low, j = (size_t)high;
    const double from = map->once[i] + (i < WH_TONES_FFT ? (low - (double)i) * (double)map->power[i] : 0.0);
    const double to = map->once[j] + (j < WH_TONES_FFT ? (high - (double)j) * (double)map->power[j] : 0.0);
    return to - from;
}

static double frequency(const wh_tone_map *map, double bin)
{
    return (bin - WH_TONES_FFT / 2) * map->bin_hz;
}

/* weight times the power within +- half_hz of every `step`th bin, as band(), added to sum[bin / step]. Away from the ends the place
 * between two bins is the same for all, which is three times as fast. */
static void add_bands(const wh_tone_map *map, double half_hz, size_t step, float weight, float *sum)
{
    const double half = half_hz / map->bin_hz, below = floor(0.5 - half), above = floor(0.5 + half);
    const double low_part = 0.5 - half - below, high_part = 0.5 + half - above;
    const ptrdiff_t low = (ptrdiff_t)below, high = (ptrdiff_t)above;
    for (ptrdiff_t b = 0; b < WH_TONES_FFT; b += (ptrdiff_t)step, sum++) {
        if (b + low < 0 || b + high >= WH_TONES_FFT) {
            *sum += weight * (float)band(map, frequency(map, (double)b), half_hz);
            continue;
        }
        const double from = map->once[b + low] + low_part * (double)map->power[b + low];
        const double to = map->once[b + high] + high_part * (double)map->power[b + high];
        *sum += weight * (float)(to - from);
    }
}

/* A keyed tone's spectrum is a peak about as wide as the chip rate. The sum of a narrow and a wide band weighs the middle
 * more than the flanks, so that the maximum is at the tone and not on a plateau. */
size_t wh_tones_powers(wh_tone_map *map, double width_hz, double noise_density, size_t step)
{
    const float noise = (float)(noise_density * 0.85 * width_hz);
    const size_t count = (WH_TONES_FFT + step - 1) / step;
    for (size_t i = 0; i < count; i++)
        map->tone[i] = -noise;
    add_bands(map, 0.25 * width_hz, step, 0.5f, map->tone);
    add_bands(map, 0.6 * width_hz, step, 0.5f, map->tone);
    for (size_t i = 0; i < count; i++)
        map->tone[i] = map->tone[i] > 0.0f ? map->tone[i] : 0.0f;
    return count;
}

WH_WIDE static void take_greater(float *x, size_t count, size_t ahead)
{
    for (size_t i = 0; i + ahead < count; i++)
        x[i] = x[i] > x[i + ahead] ? x[i] : x[i + ahead];
}

/* partner[i] = strongest of tones i + nearest to i + farthest: maxima over one become maxima over two, over four, ... */
static void find_partners(wh_tone_map *map, size_t count, size_t nearest, size_t farthest)
{
    const size_t there = count > nearest ? count - nearest : 0, wanted = farthest - nearest + 1;
    memcpy(map->partner, map->tone + (count - there), there * sizeof *map->partner);
    size_t have = 1;
    for (; 2 * have <= wanted; have *= 2)
        take_greater(map->partner, there, have);
    take_greater(map->partner, there, wanted - have);
}

/* A hypothesis under search: tones at places `low` and `low + apart` (apart 0: a single tone), in search steps. */
typedef struct pair {
    size_t low, apart;
    double score;
} pair;

/* Does a hypothesis put both its tones where an earlier one has them? Then it is the same transmitter: returns how many places further
 * the higher tone must be to be another, else 0. */
static size_t taken(const pair *found, size_t count, size_t low, size_t high, size_t near)
{
    for (size_t i = 0; i < count; i++) {
        const size_t other = found[i].low + found[i].apart;
        const size_t low_off = low > found[i].low ? low - found[i].low : found[i].low - low;
        const size_t high_off = high > other ? high - other : other - high;
        if (low_off <= near && high_off <= near)
            return other + near + 1 - high;
    }
    return 0;
}

typedef struct search {
    const wh_tone_map *map;
    size_t step;                                 /* bins; all the other places are counted in these */
    size_t count, apart_step, nearest, farthest; /* tones, and distances between two */
    double nominal, spread, centre,
        reach; /* deviation, its tolerance, where the carrier is expected, how far off it may lie; Hz */
} search;

static double bins(const search *s, double places)
{
    return places * (double)s->step;
}

/* The distances from a low tone whose middle is not too far from where the carrier is expected; one more at either end, for the
 * rounding. */
static void within_reach(const search *s, size_t low, size_t *first, size_t *last)
{
    const double hz = bins(s, 1.0) * s->map->bin_hz, off = s->centre - frequency(s->map, bins(s, (double)low));
    const double least = 2.0 * (off - s->reach) / hz - 1.0, most = 2.0 * (off + s->reach) / hz + 1.0;
    *first = s->nearest;
    *last = most < 0.0 ? 0 : most < (double)s->farthest ? (size_t)most : s->farthest;
    if (least > (double)s->nearest)
        *first += ((size_t)least - s->nearest) / s->apart_step * s->apart_step;
}

/* The best pair with this low tone, if it is better than `best`. */
static pair best_partner(const search *s, const pair *found, size_t count, size_t near, size_t low, pair best)
{
    const wh_tone_map *map = s->map;
    const double own = (double)map->tone[low];
    float needed = (float)(best.score / own) * 0.999999f; /* of a partner, rounded down */
    size_t apart, last;
    within_reach(s, low, &apart, &last);
    for (; apart <= last && low + apart < s->count; apart += s->apart_step) {
        if (map->tone[low + apart] <= needed)
            continue;
        double score = own * (double)map->tone[low + apart];
        if (score <= best.score)
            continue;
        const size_t further = taken(found, count, low, low + apart, near);
        if (further > 0) {
            apart += (further - 1) / s->apart_step * s->apart_step;
            continue;
        }
        /* Among near equals the nominal deviation is the likelier one. */
        const double deviation = 0.5 * bins(s, (double)apart) * map->bin_hz;
        score *= 1.0 - (s->spread > 0.0 ? 0.05 * fabs(deviation - s->nominal) / s->spread : 0.0);
        const double carrier = frequency(map, bins(s, (double)low + 0.5 * (double)apart));
        if (score > best.score && fabs(carrier - s->centre) <= s->reach) {
            best = (pair){low, apart, score};
            needed = (float)(best.score / own) * 0.999999f;
        }
    }
    return best;
}

/* All pairs of tones whose distance the radio allows, judged by the product of their powers: both must be there. Score 0 when none is
 * better than `least`. */
static pair best_pair(const search *s, const pair *found, size_t count, size_t near, double least)
{
    const wh_tone_map *map = s->map;
    pair best = {.score = least};
    for (size_t low = 0; low + s->nearest < s->count; low++) {
        /* Not even with the strongest partner would this be the best pair: nearly all of the search is spared. */
        if ((double)map->tone[low] * (double)map->partner[low] > best.score)
            best = best_partner(s, found, count, near, low, best);
    }
    best.score = best.score > least ? best.score : 0.0;
    return best;
}

size_t wh_tones_find(wh_tone_map *map, const wh_baseband *baseband, const wh_radio *radio, size_t most, wh_tones *tones)
{
    const bool keyed = radio->modulation == WH_MOD_OOK;
    const double width = keyed ? radio->chip_rate_hz : fmin(radio->chip_rate_hz, 2.0 * radio->deviation_hz);
    search s = {.map = map, .nominal = radio->deviation_hz, .spread = radio->deviation_hz * radio->deviation_tolerance};
    s.step = (size_t)fmax(1.0, width / 24.0 / map->bin_hz);
    const double step_hz = (double)s.step * map->bin_hz;
    s.apart_step = (size_t)fmax(1.0, width / 12.0 / step_hz);
    s.nearest = keyed ? 0 : (size_t)(2.0 * (s.nominal - s.spread) / step_hz);
    s.farthest = keyed ? 0 : (size_t)(ceil(2.0 * (s.nominal + s.spread) / map->bin_hz) / (double)s.step);
    s.centre = baseband->band_centre_hz;
    /* The outline may show no more than a side lobe of one tone. */
    s.reach = baseband->half_width_hz + 2.0 * width + s.nominal + s.spread;
    s.count = wh_tones_powers(map, width, baseband->noise_density, s.step);
    find_partners(map, s.count, s.nearest, s.farthest);
    pair found[WH_TONES_MAX];
    size_t count = 0;
    const size_t near = (size_t)(NEAR_WIDTHS * width / map->bin_hz) / s.step;
    while (count < most) {
        const pair best = best_pair(&s, found, count, near, count > 0 ? FURTHER_SCORE * found[0].score : 0.0);
        if (!(best.score > 0.0))
            break;
        const double one = (double)map->tone[best.low], other = (double)map->tone[best.low + best.apart];
        tones[count] = (wh_tones){.carrier_hz = frequency(map, bins(&s, (double)best.low + 0.5 * (double)best.apart)),
                                  .deviation_hz = 0.5 * bins(&s, (double)best.apart) * map->bin_hz,
                                  .strength = fmin(one, other) / (baseband->noise_density * 0.85 * width),
                                  .balance = fmin(one, other) / fmax(one, other)};
        found[count++] = best;
    }
    return count;
}

bool wh_tones_has_neighbours(const wh_tone_map *map, const wh_baseband *baseband, double carrier_hz,
                             double half_width_hz)
{
    const double noise = baseband->noise_density;
    double inside = 0.0;
    const double middle = carrier_hz / map->bin_hz + WH_TONES_FFT / 2, reach = half_width_hz / map->bin_hz;
    const double first = fmax(ceil(middle - reach), 0.0), last = fmin(floor(middle + reach), WH_TONES_FFT - 1.0);
    for (double b = first; b <= last; b += 1.0)
        inside += (double)map->raw[(size_t)b];
    const double width = fmin(2.0 * half_width_hz, baseband->rate_hz);
    const double outside = map->whole - inside - noise * (baseband->rate_hz - width);
    return outside > fmax(inside - noise * width, 0.0);
}

/* Mean power per bin within a quarter of the chip rate of a tone. */
static double peak_power(const wh_tone_map *map, double hz, double rate_hz)
{
    const double half = fmax(0.25 * rate_hz, map->bin_hz);
    return band(map, hz, half) / (2.0 * half / map->bin_hz);
}

bool wh_tones_mask(wh_tone_map *map, const wh_baseband *baseband, const wh_radio *radio, double carrier_hz,
                   double deviation_hz, const float *before)
{
    const double rate = radio->chip_rate_hz, noise = baseband->noise_density * map->bin_hz;
    const double low = carrier_hz - deviation_hz, high = carrier_hz + deviation_hz;
    const double low_peak = peak_power(map, low, rate), high_peak = peak_power(map, high, rate);
    bool left = false;
    for (size_t b = 0; b < WH_TONES_FFT; b++) {
        const double hz = frequency(map, (double)b);
        const double from_low = fmax(fabs(hz - low), 1.0), from_high = fmax(fabs(hz - high), 1.0);
        /* A carrier switched on and off in no time has side lobes that fall as (rate / (pi distance))^2; nothing keyed is wider. */
        const double lobe_low = rate / (M_PI * from_low), lobe_high = rate / (M_PI * from_high);
        const double spread_low = low_peak * fmin(1.0, lobe_low * lobe_low);
        const double spread_high = high_peak * fmin(1.0, lobe_high * lobe_high);
        const bool own = from_low < MASK_RATES * rate || from_high < MASK_RATES * rate || (hz > low && hz < high);
        const double hidden = before ? (double)map->power[b] - REMAINS * (double)before[b] : 0.0;
        const double rest = own ? hidden : (double)map->power[b] - MASK_MARGIN * (spread_low + spread_high);
        map->power[b] = (float)fmax(rest, noise);
        left = left || rest > LEFT_OVER_NOISE * noise;
    }
    sum_up(map);
    return left;
}

bool wh_tones_stand_out(const wh_tone_map *map, const wh_baseband *baseband, const double own_hz[2], double reach_hz)
{
    const double noise = baseband->noise_density * map->bin_hz;
    const size_t width = (size_t)(NARROWEST_HZ / map->bin_hz) + 1;
    for (size_t b = 0; b + width <= WH_TONES_FFT; b++) {
        const double hz = frequency(map, (double)b + 0.5 * (double)width);
        const bool own = fabs(hz - own_hz[0]) < reach_hz || fabs(hz - own_hz[1]) < reach_hz;
        if (!own && map->once[b + width] - map->once[b] > LEFT_IN_BAND * noise * (double)width)
            return true;
    }
    return false;
}
