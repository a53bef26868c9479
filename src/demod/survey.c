#include "survey.h"

#include "fft.h"
#include "mixer.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* All edges of a burst lie on the grid of its chip clock, whatever the line code and the bits: edges at times t_k give
 *
 * S(f) = |sum over k of exp(-j 2 pi f t_k)| / number of edges,
 *
 * which is near 1 at the chip rate (and its multiples) and falls with the jitter only. A radio in whose window of
 * rates S stays far below the highest S anywhere is not the one that sent. Edges of frequency-shift keying are sign
 * changes of the instantaneous frequency about the carrier, those of on-off keying crossings of half the amplitude. */
#define SPECTRUM    8192
#define SPAN_MOST   5120 /* samples looked at: less than the transform, so that no rate falls far between two bins */
#define BLOCK       64   /* samples whose mean power tells where the burst is */
#define GATE        0.35f
#define GAP_S       1.6e-3 /* without carrier for so long: another copy, whose clock need not be in phase */
#define EDGES_LEAST 16
/* Highest S that shows a clock, and share of it below which a rate is not that clock. tests/unit/demod/test_survey.c
 * searches levels and kinds for bursts whose own rate falls below; with 0.6 it found none in 1200. */
#define CLEAR           0.7f
#define FAR_BELOW       0.5f
#define RATE_SLACK      0.01 /* of the rate, beyond the radio's tolerance */
#define DEVIATION_SLACK 0.05
#define LOWEST_HZ       800.0 /* rates looked at */
#define HIGHEST_HZ      55e3
#define PHASE_VARIANCE  0.06 /* of the discriminator, relative: four deviations from a false edge */
#define KEYED_SNR       40.0 /* power over noise in the box that on-off keying is seen through: the same */
#define BOX_MOST        96   /* samples */
#define FSK_BLUR        0.8  /* shortest chip whose edges are seen, in boxes and lags */
#define OOK_BLUR        1.3  /* and in boxes */
#define CHOPPED         0.15 /* share of the time below GATE that only keying on and off makes, ... */
#define UNBROKEN        0.05 /* ... and that no keying on and off stays below */
#define PULLED_IN       1.12 /* boxes over edges pull the discriminator's deviation in: by a tenth at most, ... */
#define PULLED_IN_CLOSE 1.45 /* ... or a third when it is less than CLOSE of the chip rate */
#define REACH_RATES                                                                                                    \
    3.0 /* chip rates from the carrier within which keying on and off leaves all but LOST_TONE of its power */
#define REACH_LEAST_HZ 6e3
#define LOST_TONE      0.025 /* a tone so weak is none: the demodulator wants 0.04 of the other */
#define CLOSE          0.8
#define PUSHED_OUT     0.95
#define BAND_SHARE     0.05 /* of the power left out at either side of a burst's band */
#define OWN_REACH_HZ   8e3  /* beyond that band and half its width ... */
#define OWN_LEAST      0.35 /* share of the power in that reach below which it is another's; one of two tones has more */
#define STRANGER       0.06 /* ... a burst's own keying spreads less than this share of its power */

struct wh_survey {
    wh_fft *fft;
    float complex *mixed;        /* [SPAN_MOST + BOX_MOST] running sums of what is looked through a box */
    float *power;                /* [SPAN_MOST + BOX_MOST] running sum of the power */
    float *metric;               /* [SPAN_MOST] */
    float line[2][SPECTRUM / 2]; /* S by modulation */
    double bin_hz;
    double blur_s[2]; /* edges are seen through so long a box: no chip shorter than this tells where it ends */
    float highest[2]; /* of S; 0: not clear */
    double deviation_hz, keyed_reach_hz;
    bool chopped, unbroken, alone;
    bool known; /* what the burst is was decoded: */
    wh_modulation known_modulation;
    double known_rate_hz, known_deviation_hz;
};

wh_survey *wh_survey_create(void)
{
    wh_survey *survey = calloc(1, sizeof *survey);
    if (!survey)
        return NULL;
    survey->fft = wh_fft_create(SPECTRUM, 1);
    survey->mixed = malloc((SPAN_MOST + BOX_MOST + 1) * sizeof *survey->mixed);
    survey->power = malloc((SPAN_MOST + BOX_MOST + 1) * sizeof *survey->power);
    survey->metric = malloc(SPAN_MOST * sizeof *survey->metric);
    if (!survey->fft || !survey->mixed || !survey->power || !survey->metric)
        wh_survey_destroy(&survey);
    return survey;
}

void wh_survey_destroy(wh_survey **survey)
{
    if (!survey || !*survey)
        return;
    wh_fft_destroy(&(*survey)->fft);
    free((*survey)->mixed);
    free((*survey)->power);
    free((*survey)->metric);
    free(*survey);
    *survey = NULL;
}

void wh_survey_forget(wh_survey *survey)
{
    survey->highest[WH_MOD_FSK] = survey->highest[WH_MOD_OOK] = 0.0f;
    survey->known = false;
}

void wh_survey_know(wh_survey *survey, wh_modulation modulation, const wh_chips *chips)
{
    survey->known = true;
    survey->known_modulation = modulation;
    survey->known_rate_hz = 1.0 / chips->chip_s;
    survey->known_deviation_hz = chips->deviation_hz;
}

/* What is looked at. Lengths in samples. */
typedef struct stretch {
    const float complex *samples; /* [count], one contiguous emission, or its beginning */
    size_t count;
    double rate_hz;
    double noise;                /* power per sample */
    float loud;                  /* power per sample of the loudest block */
    float gate;                  /* and what is a third of the way up to it from the noise */
    double carrier_hz, width_hz; /* middle and width of the band that holds nine tenths of the power */
} stretch;

/* From the summed-up periodogram. False when there is nothing above the noise. */
static bool find_band(wh_survey *survey, const wh_tone_map *map, const wh_baseband *baseband, stretch *s)
{
    const double noise = baseband->noise_density * map->bin_hz, all = map->once[WH_TONES_FFT] - noise * WH_TONES_FFT;
    size_t low = 0, high = WH_TONES_FFT;
    if (!(all > 0.0))
        return false;
    while (low + 1 < high && map->once[low + 1] - noise * (double)(low + 1) < BAND_SHARE * all)
        low++;
    while (high > low + 1 && map->once[high - 1] - noise * (double)(high - 1) > (1.0 - BAND_SHARE) * all)
        high--;
    s->carrier_hz = (0.5 * (double)(low + high) - WH_TONES_FFT / 2) * map->bin_hz;
    s->width_hz = (double)(high - low) * map->bin_hz;
    const size_t more = (high - low) / 2 + (size_t)(OWN_REACH_HZ / map->bin_hz), from = low > more ? low - more : 0;
    const size_t to = high + more < WH_TONES_FFT ? high + more : WH_TONES_FFT;
    const double near = map->once[to] - map->once[from] - noise * (double)(to - from);
    survey->alone = near > (1.0 - STRANGER) * all;
    return true;
}

/* Power of the periodogram's bins from low_hz to high_hz. */
static double power_within(const wh_tone_map *map, double low_hz, double high_hz)
{
    const double low = fmax(0.0, low_hz / map->bin_hz + WH_TONES_FFT / 2);
    const double high = fmin(WH_TONES_FFT, high_hz / map->bin_hz + WH_TONES_FFT / 2);
    return high > low ? map->once[(size_t)high] - map->once[(size_t)low] : 0.0;
}

/* Is hardly any of the power where the detector noticed the burst? Then all that could be seen here is somebody
 * else's. */
static bool is_strangers(const wh_tone_map *map, const wh_baseband *baseband)
{
    const double noise = baseband->noise_density, reach = baseband->half_width_hz + OWN_REACH_HZ;
    const double low_hz = fmax(baseband->band_centre_hz - reach, -0.5 * baseband->rate_hz);
    const double high_hz = fmin(baseband->band_centre_hz + reach, 0.5 * baseband->rate_hz);
    const double own = power_within(map, low_hz, high_hz) - noise * (high_hz - low_hz);
    const double all = map->once[WH_TONES_FFT] - noise * baseband->rate_hz;
    return baseband->half_width_hz > 0.0 && own < OWN_LEAST * all;
}

static float block_power(const float complex *samples)
{
    const float *x = (const float *)samples;
    float sum[8] = {0.0f};
    for (size_t i = 0; i < 2 * BLOCK; i += 8)
        for (size_t l = 0; l < 8; l++)
            sum[l] += x[i + l] * x[i + l];
    return (((sum[0] + sum[1]) + (sum[2] + sum[3])) + ((sum[4] + sum[5]) + (sum[6] + sum[7]))) / BLOCK;
}

/* The first emission that comes near the loudest block's power. False when it is short or weak. */
static bool find_stretch(const wh_baseband *baseband, stretch *s)
{
    const size_t blocks = baseband->count / BLOCK, gap = (size_t)(GAP_S * baseband->rate_hz) / BLOCK + 1;
    s->loud = 0.0f;
    for (size_t b = 0; b < blocks; b++)
        s->loud = fmaxf(s->loud, block_power(baseband->samples + b * BLOCK));
    s->rate_hz = baseband->rate_hz;
    s->noise = baseband->noise_density * baseband->rate_hz;
    s->gate = (float)s->noise + GATE * (s->loud - (float)s->noise);
    size_t first = 0;
    while (first < blocks && block_power(baseband->samples + first * BLOCK) < s->gate)
        first++;
    size_t last = first;
    for (size_t b = first; b < blocks && b < first + SPAN_MOST / BLOCK && b <= last + gap; b++)
        if (block_power(baseband->samples + b * BLOCK) >= s->gate)
            last = b;
    s->samples = baseband->samples + first * BLOCK;
    s->count = (last + 1 - first) * BLOCK;
    return first < blocks && s->count >= 8 * BLOCK && (double)s->loud > 1.5 * s->noise;
}

/* S at all rates from edges put into the transform's input: those of frequency-shift keying as real parts, of on-off
 * keying as imaginary ones. */
static void find_lines(wh_survey *survey, const size_t edges[2], double rate_hz)
{
    wh_fft_execute(survey->fft);
    const float complex *out = wh_fft_output(survey->fft);
    survey->bin_hz = rate_hz / SPECTRUM;
    const size_t low = (size_t)(LOWEST_HZ / survey->bin_hz), high = (size_t)(HIGHEST_HZ / survey->bin_hz) + 1;
    wh_survey_forget(survey);
    for (size_t b = low; b <= high && b < SPECTRUM / 2; b++) {
        const double hz = (double)b * survey->bin_hz;
        const float complex here = out[b], mirrored = conjf(out[SPECTRUM - b]);
        const float complex sum[2] = {0.5f * (here + mirrored), 0.5f * (here - mirrored)};
        for (unsigned m = 0; m < 2; m++) {
            const bool seen = edges[m] >= EDGES_LEAST && hz * survey->blur_s[m] <= 1.0;
            survey->line[m][b] = seen ? wh_magnitude(sum[m]) / (float)edges[m] : 0.0f;
            survey->highest[m] = fmaxf(survey->highest[m], survey->line[m][b]);
        }
    }
    for (unsigned m = 0; m < 2; m++)
        survey->highest[m] = survey->highest[m] >= CLEAR ? survey->highest[m] : 0.0f;
}

/* Put 1 where the metric passes through 0 on its way from beyond one bar to beyond the other. What lies where the
 * power's box is below `gate` does not count. Returns the number of edges. */
static size_t mark_edges(const wh_survey *survey, size_t count, size_t box, float bar, float gate, unsigned part)
{
    float *to = (float *)wh_fft_input(survey->fft);
    size_t edges = 0, crossing = 0;
    int side = 0;
    for (size_t i = 1; i < count; i++) {
        const float before = survey->metric[i - 1], now = survey->metric[i];
        if (survey->power[i + box] - survey->power[i] < gate) {
            side = 0;
            continue;
        }
        if ((before < 0.0f) != (now < 0.0f))
            crossing = i;
        const int new_side = now > bar ? 1 : now < -bar ? -1 : side;
        if (side != 0 && new_side != side) {
            to[2 * crossing + part] += 1.0f;
            edges++;
        }
        side = new_side;
    }
    return edges;
}

/* Running sums of the power, and how it is spread over the time. */
static void sum_power(wh_survey *survey, const stretch *s, size_t box)
{
    float sum = 0.0f;
    for (size_t i = 0; i < s->count; i++) {
        survey->power[i] = sum;
        sum += crealf(s->samples[i]) * crealf(s->samples[i]) + cimagf(s->samples[i]) * cimagf(s->samples[i]);
    }
    for (size_t i = s->count; i <= s->count + box; i++)
        survey->power[i] = sum;
}

static void judge_breaks(wh_survey *survey, const stretch *s, size_t box)
{
    const float gate = s->gate * (float)box;
    size_t low = 0, all = 0;
    double pause = 0.0;
    for (size_t i = 0; i + box <= s->count; i += box / 4 + 1, all++) {
        const float power = survey->power[i + box] - survey->power[i];
        low += power < gate;
        pause += power < gate ? (double)power : 0.0;
    }
    const double share = all ? (double)low / (double)all : 0.0;
    const double left = low ? pause / (double)low / (double)box : 0.0;
    survey->unbroken = share < UNBROKEN;
    /* Half-on boxes at the edges leave some power in the mean. */
    survey->chopped = share > CHOPPED && left < 1.5 * s->noise + 0.15 * (double)s->loud;
}

/* Frequency about the carrier: the phase step over `lag` samples, averaged over a box. Fills the metric, corrects the
 * carrier to the middle between the two tones and tells the deviation. Returns the metric's mean size. */
static float discriminate(wh_survey *survey, const stretch *s, size_t lag, size_t box)
{
    const size_t count = s->count - lag - box;
    float sum_re = 0.0f, sum_im = 0.0f;
    const float *x = (const float *)s->samples, *y = (const float *)(s->samples + lag);
    for (size_t i = 0; i + lag < s->count; i++) {
        survey->mixed[i] = sum_re + sum_im * I;
        sum_re += y[2 * i] * x[2 * i] + y[2 * i + 1] * x[2 * i + 1];
        sum_im += y[2 * i + 1] * x[2 * i] - y[2 * i] * x[2 * i + 1];
    }
    survey->mixed[s->count - lag] = sum_re + sum_im * I;
    double angle = 2.0 * M_PI * s->carrier_hz / s->rate_hz * (double)lag, all = 0.0;
    for (unsigned round = 0; round < 2; round++) {
        const float re = (float)cos(angle), im = (float)sin(angle);
        float complex above = 0.0f, below = 0.0f;
        all = 0.0;
        for (size_t i = 0; i < count; i++) {
            const float complex step = survey->mixed[i + box] - survey->mixed[i];
            const float m = cimagf(step) * re - crealf(step) * im;
            survey->metric[i] = m;
            all += (double)fabsf(m);
            if (m > 0.0f) /* weighed, so that what is between the tones counts little */
                above += m * step;
            else
                below -= m * step;
        }
        const float complex turned = above * conjf(below); /* twice the deviation */
        /* Above is above: with tones more than half the sample rate apart the angle has gone round. */
        const double angle_apart = (double)cargf(turned),
                     apart = (angle_apart < 0.0 ? angle_apart + 2.0 * M_PI : angle_apart) / (double)lag;
        survey->deviation_hz = 0.5 * apart / (2.0 * M_PI) * s->rate_hz;
        const float complex back = (float)cos(angle) - (float)sin(angle) * I;
        angle += 0.5 * ((double)cargf(above * back) + (double)cargf(below * back));
    }
    return (float)(all / (double)(count ? count : 1));
}

/* Edges of frequency-shift keying. */
static size_t fsk_edges(wh_survey *survey, const stretch *s)
{
    const double snr = fmax((double)s->loud / s->noise - 1.0, 0.1);
    const double lag_most = s->rate_hz / (2.0 * s->width_hz);
    const size_t lag = lag_most < 1.0 ? 1 : lag_most > 24.0 ? 24 : (size_t)lag_most;
    /* Variance of a product of two samples in noise, relative to its square; a box averages it. */
    const double needed = (1.0 / snr + 0.5 / (snr * snr)) / PHASE_VARIANCE, own = 0.5 * s->rate_hz / s->width_hz;
    const double box_size = fmax(needed, own);
    if (box_size > BOX_MOST || s->count < 4 * (size_t)box_size + lag)
        return 0;
    const size_t box = (size_t)box_size + 1;
    survey->blur_s[WH_MOD_FSK] = FSK_BLUR * (double)(box + lag) / s->rate_hz;
    const float mean = discriminate(survey, s, lag, box);
    return mark_edges(survey, s->count - lag - box, box, 0.4f * mean, s->gate * (float)box, 0);
}

/* Edges of on-off keying, seen through a box about the strongest line. */
static size_t ook_edges(wh_survey *survey, const stretch *s, double line_hz)
{
    const double snr = fmax((double)s->loud / s->noise - 1.0, 0.01);
    const double box_size = fmax(KEYED_SNR / snr, 4.0);
    if (box_size > BOX_MOST || s->count < 8 * (size_t)box_size)
        return 0;
    const size_t box = (size_t)box_size + 1, count = s->count - box;
    survey->blur_s[WH_MOD_OOK] = OOK_BLUR * (double)box / s->rate_hz;
    float re[WH_MIXER_BLOCK], im[WH_MIXER_BLOCK];
    wh_mixer mixer;
    wh_mixer_begin(&mixer, 2.0 * M_PI * line_hz / s->rate_hz);
    float complex sum = 0.0f;
    for (size_t at = 0; at < s->count; at += WH_MIXER_BLOCK) {
        const size_t step = s->count - at < WH_MIXER_BLOCK ? s->count - at : WH_MIXER_BLOCK;
        wh_mixer_run(&mixer, s->samples + at, at, 0.0, step, re, im);
        for (size_t i = 0; i < step; i++) {
            survey->mixed[at + i] = sum;
            sum += re[i] + im[i] * I;
        }
    }
    float loudest = 0.0f;
    for (size_t i = 0; i < count; i++) {
        survey->metric[i] = wh_magnitude(survey->mixed[i + box] - survey->mixed[i]);
        loudest = fmaxf(loudest, survey->metric[i]);
    }
    float level = 0.0f;
    size_t on = 0;
    for (size_t i = 0; i < count; i++) {
        level += survey->metric[i] > 0.5f * loudest ? survey->metric[i] : 0.0f;
        on += survey->metric[i] > 0.5f * loudest;
    }
    const float half = on ? 0.5f * level / (float)on : 0.0f;
    for (size_t i = 0; i < count; i++)
        survey->metric[i] -= half;
    return mark_edges(survey, count, box, 0.3f * half, -1.0f, 1);
}

static size_t strongest_line(const wh_tone_map *map)
{
    size_t best = 0;
    for (size_t b = 1; b < WH_TONES_FFT; b++)
        best = map->power[b] > map->power[best] ? b : best;
    return best;
}

/* How far from its carrier an on-off keyed burst's power reaches, but for as little as a missing tone would leave:
 * three times the clock's rate, or infinitely far when there is more beyond. */
static double keyed_reach(const wh_survey *survey, const wh_tone_map *map, const stretch *s, size_t line)
{
    const float *clock = survey->line[WH_MOD_OOK];
    size_t best = 1;
    for (size_t b = 2; b < SPECTRUM / 2; b++)
        best = clock[b] > clock[best] ? b : best;
    const double reach = fmax(REACH_RATES * (double)best * survey->bin_hz, REACH_LEAST_HZ);
    const size_t bins = (size_t)(reach / map->bin_hz), from = line > bins ? line - bins : 0;
    const size_t to = line + bins < WH_TONES_FFT ? line + bins + 1 : WH_TONES_FFT;
    const double noise = s->noise / WH_TONES_FFT, all = map->once[WH_TONES_FFT] - noise * WH_TONES_FFT;
    const double inside = map->once[to] - map->once[from] - noise * (double)(to - from);
    return (double)s->loud > 2.0 * s->noise && inside > (1.0 - LOST_TONE) * all ? reach : (double)INFINITY;
}

void wh_survey_make(wh_survey *survey, const wh_tone_map *map, const wh_baseband *baseband)
{
    stretch s;
    wh_survey_forget(survey);
    survey->alone = false;
    if (is_strangers(map, baseband) || !find_stretch(baseband, &s) || !find_band(survey, map, baseband, &s))
        return;
    memset(wh_fft_input(survey->fft), 0, SPECTRUM * sizeof(float complex));
    const size_t box = (size_t)fmin(BOX_MOST, fmax(12.0, 2.0 * KEYED_SNR / fmax((double)s.loud / s.noise - 1.0, 0.01)));
    sum_power(survey, &s, BOX_MOST);
    judge_breaks(survey, &s, box);
    const size_t line = strongest_line(map);
    const double line_hz = ((double)line - WH_TONES_FFT / 2) * map->bin_hz;
    const size_t edges[2] = {
        [WH_MOD_FSK] = fsk_edges(survey, &s), [WH_MOD_OOK] = survey->unbroken ? 0 : ook_edges(survey, &s, line_hz)};
    find_lines(survey, edges, s.rate_hz);
    survey->keyed_reach_hz = keyed_reach(survey, map, &s, line);
}

/* Bins of the rates that a radio may have; returns the highest rate. */
static double find_window(const wh_survey *survey, const wh_radio *radio, size_t *low, size_t *high)
{
    const double slack = radio->rate_tolerance + RATE_SLACK;
    const double lowest = radio->chip_rate_hz * (1.0 - slack), highest = radio->chip_rate_hz * (1.0 + slack);
    *low = (size_t)fmax(lowest / survey->bin_hz - 1.0, 1.0);
    *high = (size_t)(highest / survey->bin_hz + 1.0);
    return highest;
}

/* Does S, for edges as `modulation` makes them, stay far below its highest at all rates that this radio may have? Not
 * when they are not seen clearly, or not at chips so short. */
static bool no_clock(const wh_survey *survey, wh_modulation modulation, const wh_radio *radio)
{
    const float *line = survey->line[modulation];
    size_t low, high;
    float best = 0.0f;
    if (!(survey->highest[modulation] > 0.0f))
        return false;
    if (find_window(survey, radio, &low, &high) * survey->blur_s[modulation] > 1.0)
        return false;
    for (size_t b = low; b <= high && b < SPECTRUM / 2; b++)
        best = fmaxf(best, line[b]);
    return best < FAR_BELOW * survey->highest[modulation];
}

static bool other_deviation(const wh_survey *survey, const wh_radio *radio)
{
    const double seen = survey->deviation_hz, nominal = radio->deviation_hz, slack = radio->deviation_tolerance;
    const double most = seen * (seen < CLOSE * radio->chip_rate_hz ? PULLED_IN_CLOSE : PULLED_IN);
    return most < nominal * (1.0 - slack) || PUSHED_OUT * seen > nominal * (1.0 + slack);
}

/* What was decoded is of another kind. */
static wh_demod_verdict judge_known(const wh_survey *survey, const wh_radio *radio)
{
    const double rate = survey->known_rate_hz / radio->chip_rate_hz - 1.0;
    if (radio->modulation != survey->known_modulation)
        return WH_DEMOD_WRONG_MODULATION;
    if (fabs(rate) > radio->rate_tolerance + RATE_SLACK)
        return WH_DEMOD_NO_CLOCK;
    if (radio->modulation == WH_MOD_OOK)
        return WH_DEMOD_OK;
    const double deviation = survey->known_deviation_hz / radio->deviation_hz - 1.0;
    return fabs(deviation) > radio->deviation_tolerance + DEVIATION_SLACK ? WH_DEMOD_WRONG_MODULATION : WH_DEMOD_OK;
}

/* With a tone missing the deviation cannot be measured, and a burst that is chopped may be one tone of a frequency-
 * shift keyed one, the other lost on its way: the clock must tell. */
wh_demod_verdict wh_survey_judge(const wh_survey *survey, const wh_radio *radio)
{
    if (survey->known)
        return judge_known(survey, radio);
    const bool shifted = survey->highest[WH_MOD_FSK] > 0.0f, keyed = radio->modulation == WH_MOD_OOK;
    const bool by_keying = keyed || (!shifted && survey->chopped);
    bool wrong = false;
    if (keyed) {
        wrong = shifted && survey->unbroken;
    } else if (by_keying) {
        const double apart = 2.0 * radio->deviation_hz * (1.0 - radio->deviation_tolerance);
        wrong = survey->highest[WH_MOD_OOK] > 0.0f && apart > 1.5 * survey->keyed_reach_hz;
    } else {
        wrong = shifted && survey->unbroken && other_deviation(survey, radio);
    }
    if (wrong)
        return WH_DEMOD_WRONG_MODULATION;
    return no_clock(survey, by_keying ? WH_MOD_OOK : WH_MOD_FSK, radio) ? WH_DEMOD_NO_CLOCK : WH_DEMOD_OK;
}

bool wh_survey_sees(const wh_survey *survey)
{
    return survey->highest[WH_MOD_FSK] > 0.0f || survey->highest[WH_MOD_OOK] > 0.0f;
}

bool wh_survey_is_clear(const wh_survey *survey, const wh_radio *radio)
{
    return survey->highest[radio->modulation] > 0.0f;
}

bool wh_survey_is_alone(const wh_survey *survey)
{
    return survey->alone;
}
