#include "likeness.h"

#include "fft.h"
#include "mixer.h"
#include "select.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A chip clock is a line in the spectrum of what a correlation over one chip, slid along the burst, tells of the chip:
 * how far the powers of the two tones are apart, which at an edge is nothing, or how far the power of the only tone is
 * from that a chip later, which between edges is nothing. One correlation serves all rates near its length, so that a
 * burst needs one for each class of rates and not one for each radio.
 *
 * A radio's likeness is the power of the highest line among the rates that it may have, over that of the class's
 * noise, times how well its tones are there: the highest product of two tones' powers at a distance that it allows,
 * over the strongest tone's square. */
#define SLOWEST_HZ 1000.0
#define CLASS_RATIO                                                                                                    \
    1.3 /* of the rates of two neighbouring classes; a correlation half of that too long or short costs a decibel */
#define CLASSES     18 /* up to 99 kHz */
#define SPECTRUM    8192
#define STEPS       4   /* of the slid correlation per chip */
#define POOL        4   /* bins to a line: a thousandth of the class's rate apart */
#define LINES       768 /* up to one and a half times the class's rate */
#define DISTANCES   256
#define FARTHEST_HZ 160e3 /* from tone to tone */
#define RESOLVED    0.8   /* of the chip rate: tones closer than this are one hump */
#define WEAK_TONE   0.02f /* of the strongest one's power: not worth a look for its partners */
#define NOISE_LEFT  2.5f  /* deviations */
#define RATE_SLACK  0.005
#define SEPARATE    1.6  /* and these have nothing in common: a keyed carrier has no second tone there */
#define TONE_WIDTH  0.6  /* of the chip rate: tones closer than that melt into one hump if each is taken for wider */
#define PAIR_LEAST  0.1f /* the clock alone still says something */
#define KEYED_LEAST 0.1f
#define OWN_RATES   1.5 /* chip rates from a tone within which its keying leaves most of its power */
#define SAME_TONE   0.1 /* of the class's rate */
#define NOISE_LOW   256 /* the class's noise is taken from the lines from half its rate ... */
#define NOISE_STEP  3   /* ... to one and a half times, every third */

typedef struct rate_class {
    bool made;
    double rate_hz;
    double distance_hz;    /* from one entry of `pair` to the next */
    float pair[DISTANCES]; /* highest product of the powers of two tones so far apart, over the strongest's square */
    double tone_hz[2];     /* whose product is highest where they are told apart */
    float keyed;           /* how little looks like a second tone */
    float line[2][LINES];  /* by modulation: power over noise */
} rate_class;

struct wh_likeness {
    wh_tone_map *map;
    const wh_baseband *baseband;
    wh_fft *fft;
    size_t capacity;
    float complex *sum[2]; /* [capacity + 1]: running sums of the samples with a tone shifted to 0 Hz ... */
    double tone_hz[2];     /* ... which is this one; NAN: none yet */
    float tone[WH_TONES_FFT];
    rate_class classes[CLASSES];
};

wh_likeness *wh_likeness_create(void)
{
    wh_likeness *likeness = calloc(1, sizeof *likeness);
    if (!likeness)
        return NULL;
    likeness->fft = wh_fft_create(SPECTRUM, 1);
    if (!likeness->fft)
        wh_likeness_destroy(&likeness);
    return likeness;
}

void wh_likeness_destroy(wh_likeness **likeness)
{
    if (!likeness || !*likeness)
        return;
    wh_fft_destroy(&(*likeness)->fft);
    free((*likeness)->sum[0]);
    free((*likeness)->sum[1]);
    free(*likeness);
    *likeness = NULL;
}

void wh_likeness_begin(wh_likeness *likeness, wh_tone_map *map, const wh_baseband *baseband)
{
    likeness->map = map;
    likeness->baseband = baseband;
    likeness->tone_hz[0] = likeness->tone_hz[1] = (double)NAN;
    for (size_t i = 0; i < CLASSES; i++)
        likeness->classes[i].made = false;
}

static bool reserve(wh_likeness *likeness, size_t count)
{
    if (count <= likeness->capacity)
        return true;
    for (unsigned v = 0; v < 2; v++) {
        float complex *larger = realloc(likeness->sum[v], (count + 1) * sizeof *larger);
        if (!larger)
            return false;
        likeness->sum[v] = larger;
    }
    likeness->capacity = count;
    return true;
}

/* Powers of a tone at every `step`th bin, as far as they are more than noise leaves of its own when as much as it is
 * on average is taken off; 1: the strongest. Returns how many. */
static size_t find_tones(wh_likeness *likeness, const rate_class *c, size_t step)
{
    const wh_baseband *baseband = likeness->baseband;
    const double width = TONE_WIDTH * c->rate_hz, looks = width * (double)baseband->count / baseband->rate_hz;
    const size_t count = wh_tones_powers(likeness->map, width, baseband->noise_density, step);
    const float by_chance = (float)(NOISE_LEFT * baseband->noise_density * width / sqrt(fmax(looks, 1.0)));
    float strongest = 0.0f;
    for (size_t i = 0; i < count; i++) {
        likeness->tone[i] = fmaxf(likeness->map->tone[i] - by_chance, 0.0f);
        strongest = fmaxf(strongest, likeness->tone[i]);
    }
    for (size_t i = 0; i < count; i++)
        likeness->tone[i] /= fmaxf(strongest, FLT_MIN);
    return count;
}

/* Highest products of two tones' powers by distance; the two tones whose product is highest where they are told apart. */
static void find_pairs(wh_likeness *likeness, rate_class *c)
{
    const double bin_hz = likeness->map->bin_hz;
    const size_t step = (size_t)fmax(1.0, fmax(c->rate_hz / 12.0, FARTHEST_HZ / DISTANCES) / bin_hz);
    const size_t count = find_tones(likeness, c, step);
    const float *tone = likeness->tone;
    memset(c->pair, 0, sizeof c->pair);
    c->distance_hz = (double)step * bin_hz;
    const size_t resolved = (size_t)(RESOLVED * c->rate_hz / c->distance_hz) + 1;
    const size_t separate = (size_t)(SEPARATE * c->rate_hz / c->distance_hz) + 1;
    size_t low = 0, apart = 0;
    float best = 0.0f, other = 0.0f;
    for (size_t i = 0; i < count; i++) {
        if (tone[i] < WEAK_TONE)
            continue;
        const size_t most = count - i < DISTANCES ? count - i : DISTANCES;
        for (size_t d = 0; d < most; d++) {
            const float product = tone[i] * tone[i + d];
            c->pair[d] = product > c->pair[d] ? product : c->pair[d];
        }
        for (size_t d = resolved; d < most; d++) {
            if (tone[i] * tone[i + d] > best) {
                best = tone[i] * tone[i + d];
                low = i;
                apart = d;
            }
        }
    }
    for (size_t d = separate; d < DISTANCES; d++)
        other = fmaxf(other, c->pair[d]);
    c->keyed = fmaxf(1.0f - other, KEYED_LEAST);
    c->tone_hz[0] = ((double)(low * step) - WH_TONES_FFT / 2) * bin_hz;
    c->tone_hz[1] = c->tone_hz[0] + (double)apart * c->distance_hz;
}

/* Running sums with this tone at 0 Hz. */
static void shift_to(wh_likeness *likeness, unsigned v, double tone_hz)
{
    const wh_baseband *baseband = likeness->baseband;
    float re[WH_MIXER_BLOCK], im[WH_MIXER_BLOCK], sum_re = 0.0f, sum_im = 0.0f;
    wh_mixer mixer;
    wh_mixer_begin(&mixer, 2.0 * M_PI * tone_hz / baseband->rate_hz);
    float *to = (float *)likeness->sum[v];
    for (size_t at = 0; at < baseband->count; at += WH_MIXER_BLOCK) {
        const size_t step = baseband->count - at < WH_MIXER_BLOCK ? baseband->count - at : WH_MIXER_BLOCK;
        wh_mixer_run(&mixer, baseband->samples + at, at, 0.0, step, re, im);
        for (size_t i = 0; i < step; i++) {
            to[2 * (at + i)] = sum_re;
            to[2 * (at + i) + 1] = sum_im;
            sum_re += re[i];
            sum_im += im[i];
        }
    }
    to[2 * baseband->count] = sum_re;
    to[2 * baseband->count + 1] = sum_im;
    likeness->tone_hz[v] = tone_hz;
}

static float power_of(const float complex *sum, size_t at, size_t length)
{
    const float complex z = sum[at + length] - sum[at];
    return crealf(z) * crealf(z) + cimagf(z) * cimagf(z);
}

/* What the slid correlation tells of the chips into the transform's input: real parts for frequency-shift keying,
 * imaginary ones for on-off keying of the stronger tone. False when the burst is shorter than a few chips. */
static bool fill_metric(wh_likeness *likeness, const rate_class *c)
{
    const wh_baseband *baseband = likeness->baseband;
    const double hop = baseband->rate_hz / (STEPS * c->rate_hz);
    const size_t length = (size_t)(baseband->rate_hz / c->rate_hz + 0.5);
    float *to = (float *)wh_fft_input(likeness->fft);
    if (length < 2 || baseband->count < 16 * length)
        return false;
    size_t count = (size_t)((double)(baseband->count - length) / hop);
    count = count < SPECTRUM ? count : SPECTRUM;
    double all[2] = {0.0, 0.0};
    for (size_t k = 0; k < count; k++) {
        const size_t at = (size_t)((double)k * hop);
        for (unsigned v = 0; v < 2; v++)
            all[v] += (double)(to[2 * k + v] = power_of(likeness->sum[v], at, length));
    }
    const unsigned strong = all[1] > all[0] ? 1 : 0;
    double sum[2] = {0.0, 0.0};
    for (size_t k = 0; k < count; k++) {
        const float keyed = k + STEPS < count ? fabsf(to[2 * (k + STEPS) + strong] - to[2 * k + strong]) : 0.0f;
        to[2 * k] = fabsf(to[2 * k + 1] - to[2 * k]);
        to[2 * k + 1] = keyed;
        for (unsigned m = 0; m < 2; m++)
            sum[m] += (double)to[2 * k + m];
    }
    for (size_t k = 0; k < count; k++)
        for (unsigned m = 0; m < 2; m++)
            to[2 * k + m] -= (float)(sum[m] / (double)count);
    memset(to + 2 * count, 0, 2 * (SPECTRUM - count) * sizeof *to);
    return true;
}

static void find_lines(wh_likeness *likeness, rate_class *c)
{
    wh_fft_execute(likeness->fft);
    const float complex *out = wh_fft_output(likeness->fft);
    for (size_t l = 0; l < LINES; l++) {
        c->line[0][l] = c->line[1][l] = 0.0f;
        for (size_t b = l * POOL; b < (l + 1) * POOL; b++) {
            const float complex here = out[b], mirrored = conjf(out[(SPECTRUM - b) % SPECTRUM]);
            const float complex fsk = here + mirrored, keyed = here - mirrored;
            c->line[0][l] = fmaxf(c->line[0][l], crealf(fsk) * crealf(fsk) + cimagf(fsk) * cimagf(fsk));
            c->line[1][l] = fmaxf(c->line[1][l], crealf(keyed) * crealf(keyed) + cimagf(keyed) * cimagf(keyed));
        }
    }
    for (unsigned m = 0; m < 2; m++) {
        float some[LINES];
        size_t count = 0;
        for (size_t l = NOISE_LOW; l < LINES; l += NOISE_STEP)
            some[count++] = c->line[m][l];
        const float noise = fmaxf(wh_quantile(some, count, 0.5), 1e-30f);
        for (size_t l = 0; l < LINES; l++)
            c->line[m][l] /= noise;
    }
}

static rate_class *class_of(wh_likeness *likeness, const wh_radio *radio)
{
    const double place = round(log(radio->chip_rate_hz / SLOWEST_HZ) / log(CLASS_RATIO));
    rate_class *c = &likeness->classes[(size_t)fmin(fmax(place, 0.0), CLASSES - 1)];
    if (c->made)
        return c;
    c->made = true;
    c->rate_hz = SLOWEST_HZ * pow(CLASS_RATIO, (double)(c - likeness->classes));
    memset(c->line, 0, sizeof c->line);
    find_pairs(likeness, c);
    if (!reserve(likeness, likeness->baseband->count))
        return c;
    for (unsigned v = 0; v < 2; v++)
        if (!(fabs(c->tone_hz[v] - likeness->tone_hz[v]) < SAME_TONE * c->rate_hz))
            shift_to(likeness, v, c->tone_hz[v]);
    if (fill_metric(likeness, c))
        find_lines(likeness, c);
    return c;
}

static float highest(const float *values, size_t count, double low, double high)
{
    float best = 0.0f;
    for (size_t i = (size_t)fmax(low, 0.0); i < count && (double)i <= high; i++)
        best = fmaxf(best, values[i]);
    return best;
}

double wh_likeness_of(wh_likeness *likeness, const wh_radio *radio)
{
    const rate_class *c = class_of(likeness, radio);
    const double per_line = c->rate_hz * STEPS * POOL / SPECTRUM, rate = radio->chip_rate_hz / per_line;
    const double slack = radio->rate_tolerance + RATE_SLACK;
    const float line = highest(c->line[radio->modulation], LINES, rate * (1.0 - slack) - 1.0, rate * (1.0 + slack));
    if (radio->modulation == WH_MOD_OOK)
        return (double)(line * c->keyed);
    const double apart = 2.0 * radio->deviation_hz / c->distance_hz, spread = radio->deviation_tolerance;
    const float pair = highest(c->pair, DISTANCES, apart * (1.0 - spread), apart * (1.0 + spread) + 1.0);
    return (double)(line * fmaxf(pair, PAIR_LEAST));
}

bool wh_likeness_is_alone(wh_likeness *likeness, const wh_radio *radio)
{
    const rate_class *c = class_of(likeness, radio);
    return !wh_tones_stand_out(likeness->map, likeness->baseband, c->tone_hz, OWN_RATES * radio->chip_rate_hz);
}
