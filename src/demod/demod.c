#include "demod.h"

#include "channel_filter.h"
#include "chip_levels.h"
#include "clock.h"
#include "clock_metric.h"
#include "correlate.h"
#include "emissions.h"
#include "kept_chips.h"
#include "likeness.h"
#include "pauses.h"
#include "pulses.h"
#include "subtract.h"
#include "survey.h"
#include "tones.h"
#include "wide.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Weaker tone over noise in a chip-rate band: 9 dB below what eight merged copies need. */
#define NO_SIGNAL_STRENGTH 0.12
#define ONE_TONE_BALANCE   0.04  /* 14 dB between the tones: frequency-shift keying never is so lopsided */
#define SMOOTH_CHIPS       16    /* energy is averaged over this many chips to find a burst's ends, ... */
#define PAUSE_CHIPS        16    /* ... and this many chips without are a pause: weak bursts dip for shorter times */
#define PAD_CHIPS          32    /* chips given before and after the emission, for bursts whose ends are in doubt */
#define WEAK_LEVEL         4.0f  /* mean energy over noise below which 16 chips do not tell on from off: 8 dB a chip */
#define WEAK_POWER         12.0f /* louder chips' power over noise below which an emission's ends cannot be trusted */
/* Contrast of the clock below which a burst that is not weak is keyed at another rate. Of 1700 frames of all shipped kinds the
 * least was 1.19; foreign rates mostly reach 1.02 to 1.1. Saves a sixth of the work on a burst. */
#define CLOCKLESS 1.12
/* Only line codes that make edges whatever the bits are give such a contrast: without one, a run of equal bits has no clock. */
#define EDGE_RUN         8
#define CHANNEL_RATES    1.5  /* kept on either side of the tones, in chip rates: 95 % of a keyed tone's power */
#define CLOSE_TONE_STEPS 4    /* close tones are looked for up to this many steps ... */
#define CLOSE_TONE_STEP  0.15 /* ... of this share of the chip rate to either side */
/* Parts of a chip turned as a whole meanwhile: loses 0.3 dB at the furthest step, alike to both sides. */
#define CLOSE_TONE_PARTS 4
#define RENEW_PHASE      32 /* chips after which a running phase is taken afresh, so that rounding does not build up */
#define TONE_ROUNDS      3 /* corrections of the tones by the phase step inside the chips; the first takes nearly all */
#define TONE_FAR         0.4  /* of the chip rate: so far off the phase step may belong to something else */
#define TONE_CLOSE       0.01 /* of the chip rate: turns a chip's phase by 0.06 radians, costs nothing */
/* Of the chip rate: turning half chips so far costs 0.04 dB; correlating again cost a third of the demodulator's time. */
#define TONE_TURN 0.1

struct wh_demod {
    wh_baseband baseband;
    wh_fft *fft;
    wh_tone_map *map;
    wh_survey *survey;
    wh_likeness *likeness;
    wh_channel_filter *filter;
    wh_known_waves waves;       /* emissions understood and not yet taken out */
    float before[WH_TONES_FFT]; /* power per bin before it was */
    wh_pulse_map pulses;
    float complex *unpulsed; /* [unpulsed_capacity], made at the first need as well */
    size_t unpulsed_capacity;
    float complex *filtered; /* [sample_capacity], made at the first need */
    size_t sample_capacity;
    size_t capacity;        /* of the arrays below, in metric samples */
    float complex *part[2]; /* per eighth of a chip, by tone */
    float complex *turned;  /* parts at another frequency */
    float *energy, *metric, *scratch;
    wh_chips chips;
    bool playing;      /* kept chips are being given */
    bool single;       /* the run at hand looked at one clear transmitter */
    bool stopped_weak; /* radios that the burst's looks do not exclude were spared because another was decoded */
    wh_kept_chips kept;
};

wh_demod *wh_demod_create(void)
{
    wh_demod *demod = calloc(1, sizeof *demod);
    if (!demod)
        return NULL;
    demod->fft = wh_fft_create(WH_TONES_FFT, 1);
    demod->map = calloc(1, sizeof *demod->map);
    demod->survey = wh_survey_create();
    demod->likeness = wh_likeness_create();
    demod->filter = wh_channel_filter_create();
    if (!demod->fft || !demod->map || !demod->survey || !demod->likeness || !demod->filter)
        wh_demod_destroy(&demod);
    return demod;
}

void wh_demod_destroy(wh_demod **demod)
{
    if (!demod || !*demod)
        return;
    wh_fft_destroy(&(*demod)->fft);
    free((*demod)->map);
    wh_survey_destroy(&(*demod)->survey);
    wh_likeness_destroy(&(*demod)->likeness);
    wh_channel_filter_destroy(&(*demod)->filter);
    free((*demod)->filtered);
    wh_pulse_map_free(&(*demod)->pulses);
    wh_known_waves_free(&(*demod)->waves);
    free((*demod)->unpulsed);
    free((*demod)->part[0]);
    free((*demod)->part[1]);
    free((*demod)->turned);
    free((*demod)->energy);
    free((*demod)->metric);
    free((*demod)->scratch);
    wh_chips_free(&(*demod)->chips);
    wh_kept_chips_free(&(*demod)->kept);
    free(*demod);
    *demod = NULL;
}

static bool grow(void **array, size_t bytes)
{
    void *larger = realloc(*array, bytes);
    if (larger)
        *array = larger;
    return larger != NULL;
}

wh_demod_verdict wh_demod_load(wh_demod *demod, const wh_baseband *baseband)
{
    demod->baseband = *baseband;
    demod->waves.count = 0;
    demod->stopped_weak = false;
    wh_kept_chips_forget(&demod->kept);
    if (!wh_pulse_map_make(&demod->pulses, baseband->samples, baseband->count))
        return WH_DEMOD_NO_MEMORY;
    if (!wh_tone_map_make(demod->map, demod->fft, baseband))
        return WH_DEMOD_TOO_SHORT;
    wh_survey_make(demod->survey, demod->map, baseband);
    wh_likeness_begin(demod->likeness, demod->map, &demod->baseband);
    return WH_DEMOD_OK;
}

bool wh_demod_excludes(const wh_demod *demod, const wh_radio *radio)
{
    return wh_survey_judge(demod->survey, radio) != WH_DEMOD_OK;
}

bool wh_demod_sees_edges(const wh_demod *demod)
{
    return wh_survey_sees(demod->survey);
}

double wh_demod_likeness(wh_demod *demod, const wh_radio *radio)
{
    return wh_likeness_of(demod->likeness, radio);
}

bool wh_demod_look_wider(wh_demod *demod, const wh_radio *likeliest)
{
    const bool alone = wh_survey_sees(demod->survey) ? wh_survey_is_alone(demod->survey)
                                                     : wh_likeness_is_alone(demod->likeness, likeliest);
    wh_survey_forget(demod->survey);
    return !alone;
}

static bool reserve(wh_demod *demod, size_t count)
{
    if (count <= demod->capacity)
        return true;
    const bool grown = grow((void **)&demod->part[0], count * sizeof(float complex)) &&
                       grow((void **)&demod->part[1], count * sizeof(float complex)) &&
                       grow((void **)&demod->turned, count * sizeof(float complex)) &&
                       grow((void **)&demod->energy, count * sizeof(float)) &&
                       grow((void **)&demod->metric, count * sizeof(float)) &&
                       grow((void **)&demod->scratch, 2 * count * sizeof(float));
    if (grown)
        demod->capacity = count;
    return grown;
}

/* Everything one run works with. Lengths in baseband samples unless a name says otherwise. */
typedef struct run {
    const wh_radio *radio;
    const wh_demod_limits *limits;
    const float complex *heard;   /* the baseband, without pulses shorter than half a chip; [demod->baseband.count] */
    const float complex *samples; /* the same, or this radio's channel out of it */
    wh_tones tones;
    double chip;    /* nominal chip length */
    size_t count;   /* metric samples */
    float noise;    /* variance of a chip correlation by the detector's noise floor */
    float on_power; /* of an on chip, rough */
} run;

static double radians(const wh_demod *demod, double hz)
{
    return 2.0 * M_PI * hz / demod->baseband.rate_hz;
}

static double tone_hz(const wh_tones *tones, const wh_radio *radio, unsigned value)
{
    if (radio->modulation == WH_MOD_OOK)
        return tones->carrier_hz;
    const bool high = (value == 1) != radio->low_tone_is_one;
    return tones->carrier_hz + (high ? tones->deviation_hz : -tones->deviation_hz);
}

/* Correlate with the tones (keyed: with the carrier, value 1) over intervals of `step` from `start` on, into the parts. */
static void correlate(wh_demod *demod, const run *r, double start, double step, size_t count)
{
    const unsigned first = r->radio->modulation == WH_MOD_OOK ? 1 : 0, tones = 2 - first;
    double turn[2] = {0.0, 0.0};
    for (unsigned v = 0; v < tones; v++)
        turn[v] = radians(demod, tone_hz(&r->tones, r->radio, first + v));
    wh_correlate(r->samples, demod->baseband.count, turn, tones, start, step, demod->part + first, count);
}

/* one, zero: to their sum and one - zero. */
WH_WIDE static void sum_and_difference(size_t count, float *restrict one, float *restrict zero)
{
    for (size_t j = 0; j < count; j++) {
        const float sum = one[j] + zero[j], difference = one[j] - zero[j];
        one[j] = sum;
        zero[j] = difference;
    }
}

/* Sliding chip correlations out of the parts, which are used up: energy and decision metric at eight starts per chip. */
static void slide(wh_demod *demod, const run *r)
{
    const float scale = (float)(1.0 / (r->chip * r->chip));
    float *restrict energy = demod->energy, *restrict metric = demod->metric;
    wh_sliding_power(demod->part[1], r->count, WH_CLOCK_STEPS, scale, energy);
    if (r->radio->modulation == WH_MOD_OOK) {
        memcpy(metric, energy, r->count * sizeof *metric);
        return;
    }
    wh_sliding_power(demod->part[0], r->count, WH_CLOCK_STEPS, scale, metric);
    sum_and_difference(r->count, energy, metric);
}

/* Square-law power of an on chip within an emission: the level of its louder chips. */
static float louder_level(wh_demod *demod, const wh_emission *e)
{
    return wh_emissions_quantile(demod->energy + e->first, e->last - e->first, WH_EMISSION_STRIDE, 0.85,
                                 demod->scratch);
}

/* Correlations with half chips at the clock found, phase taken at each chip's start. */
static bool take_halves(wh_demod *demod, const run *r, double start, double chip, size_t count)
{
    wh_chips *chips = &demod->chips;
    if (!wh_chips_reserve(chips, count) || !reserve(demod, 2 * count))
        return false;
    chips->count = count;
    chips->keyed = r->radio->modulation == WH_MOD_OOK;
    correlate(demod, r, start, 0.5 * chip, 2 * count);
    for (unsigned v = chips->keyed ? 1 : 0; v < 2; v++) {
        const double w = radians(demod, tone_hz(&r->tones, r->radio, v));
        float complex *half = demod->part[v];
        /* Undo the running reference. */
        const float complex turn = (float)cos(w * chip) + (float)sin(w * chip) * I;
        float complex back = 0.0f;
        for (size_t k = 0; k < count; k++) {
            const double phase = w * (start + chip * (double)k);
            back = k % RENEW_PHASE ? back * turn : ((float)cos(phase) + (float)sin(phase) * I) * (float)(1.0 / chip);
            half[2 * k] *= back;
            half[2 * k + 1] *= back;
        }
    }
    return true;
}

/* Chips out of the half chips, for tones `off` Hz above those the halves were taken with: over half a chip that turns the phase so
 * little that turning the two halves as a whole does nearly as well as correlating again. The phase step between the halves shows
 * how far the tones are off: `error`, Hz, beyond `off`. */
static void join_halves(wh_demod *demod, const run *r, double chip, const double off[2], double error[2])
{
    wh_chips *chips = &demod->chips;
    float complex step[2];
    for (unsigned v = 0; v < 2; v++) {
        if (chips->keyed && v == 0) {
            memset(chips->value[0], 0, chips->count * sizeof *chips->value[0]);
            continue;
        }
        const double quarter = radians(demod, off[v]) * 0.25 * chip;
        const float complex first = (float)cos(quarter) - (float)sin(quarter) * I;
        const float complex second = (float)cos(3.0 * quarter) - (float)sin(3.0 * quarter) * I;
        step[v] = second * conjf(first);
        for (size_t k = 0; k < chips->count; k++)
            chips->value[v][k] = demod->part[v][2 * k] * first + demod->part[v][2 * k + 1] * second;
    }
    for (unsigned v = chips->keyed ? 1 : 0; v < 2; v++) {
        float complex drift = 0.0f;
        for (size_t k = chips->first; k < chips->last && k < chips->count; k++) {
            const float other = chips->keyed ? 0.7f * sqrtf(r->on_power) : wh_magnitude(chips->value[1 - v][k]);
            if (wh_magnitude(chips->value[v][k]) > other)
                drift += demod->part[v][2 * k + 1] * conjf(demod->part[v][2 * k]);
        }
        drift *= step[v];
        error[v] = drift != 0.0f ? (double)cargf(drift) / (0.5 * chip) / (2.0 * M_PI) * demod->baseband.rate_hz : 0.0;
    }
}

static void shift_tones(run *r, const double hz[2])
{
    const bool keyed = r->radio->modulation == WH_MOD_OOK;
    r->tones.carrier_hz += keyed ? hz[1] : 0.5 * (hz[0] + hz[1]);
    if (!keyed)
        r->tones.deviation_hz += 0.5 * (hz[1] - hz[0]) * (r->radio->low_tone_is_one ? -1.0 : 1.0);
}

/* Chip correlations at the clock found, with the tones corrected. */
static bool take_chips(wh_demod *demod, run *r, double start, double chip, size_t count)
{
    const double rate = r->radio->chip_rate_hz;
    double off[2] = {0.0, 0.0}, error[2] = {0.0, 0.0};
    bool taken = false;
    for (int round = 0;; round++) {
        if (!taken && !take_halves(demod, r, start, chip, count))
            return false;
        join_halves(demod, r, chip, off, error);
        const double worst = fmax(fabs(error[0]), fabs(error[1]));
        if (round == TONE_ROUNDS || worst > TONE_FAR * rate || worst < TONE_CLOSE * rate)
            return true;
        shift_tones(r, error);
        taken = true;
        for (unsigned v = 0; v < 2; v++) {
            off[v] += error[v];
            taken = taken && fabs(off[v]) < TONE_TURN * rate;
        }
        if (!taken)
            off[0] = off[1] = 0.0;
    }
}

/* What the clock search adds up over the chips of a trial clock. Of strong bursts how far the two tones' powers are apart. */
static const float *clock_metric(wh_demod *demod, const run *r, const wh_emission *e)
{
    float *metric = demod->metric + e->first;
    const float *energy = demod->energy + e->first;
    const size_t length = e->last - e->first;
    if (r->radio->modulation == WH_MOD_OOK) {
        wh_clock_metric_keyed(energy, length, r->on_power, metric);
        return metric;
    }
    if (r->on_power >= WEAK_POWER * r->noise)
        return metric;
    wh_clock_metric_weak(energy, metric, length, r->noise, demod->scratch);
    return demod->scratch;
}

/* One emission: clock, tones once more, chips, levels. */
static wh_demod_verdict take_emission(wh_demod *demod, run *r, const wh_emission *e, wh_chips_fn give, void *context)
{
    const double step = r->chip / WH_CLOCK_STEPS;
    r->on_power = louder_level(demod, e);
    const bool keyed = r->radio->modulation == WH_MOD_OOK;
    const size_t length = e->last - e->first;
    const float *metric = clock_metric(demod, r, e);
    const bool has_edges = r->limits->zero_run <= EDGE_RUN;
    const double least_contrast = has_edges && r->on_power >= WEAK_POWER * r->noise ? CLOCKLESS : 0.0;
    const wh_clock clock = wh_clock_find(metric, length, r->radio->rate_tolerance, least_contrast);
    if (clock.contrast < least_contrast)
        return WH_DEMOD_NO_CLOCK;
    const double chip = clock.chip * step;
    const size_t zero_pad = r->limits->zero_run < 64 ? r->limits->zero_run : 64;
    const size_t inside = (size_t)((double)length / clock.chip) + 1;
    size_t pad = PAD_CHIPS + (keyed ? zero_pad : 0);
    if (r->on_power < WEAK_POWER * r->noise && inside < r->limits->longest_chips)
        pad += r->limits->longest_chips - inside; /* its ends are lost in the noise: look as far as a frame may reach */
    const double start = ((double)e->first + clock.phase) * step - chip * (double)pad;
    wh_chips *chips = &demod->chips;
    chips->first = pad;
    chips->last = pad + inside;
    const wh_tones before = r->tones;
    if (!take_chips(demod, r, start, chip, inside + 2 * pad))
        return WH_DEMOD_NO_MEMORY;
    wh_chips_judge(chips, r->on_power, r->noise, radians(demod, r->tones.carrier_hz) * chip);
    chips->start_s = start / demod->baseband.rate_hz;
    chips->chip_s = chip / demod->baseband.rate_hz;
    chips->carrier_hz = r->tones.carrier_hz;
    chips->deviation_hz = r->tones.deviation_hz;
    chips->rate_error = 1.0 / (chips->chip_s * r->radio->chip_rate_hz) - 1.0;
    r->tones = before;
    if (keyed && wh_pauses_are_filled(&demod->baseband, chips, start, chip))
        return WH_DEMOD_WRONG_MODULATION;
    give(context, chips);
    return WH_DEMOD_OK;
}

/* How far the two tones' powers are apart on average: greatest with both correlators on their tones. The parts, CLOSE_TONE_PARTS to a
 * chip, are turned to the tones in question. */
static double opening(wh_demod *demod, const run *r, const wh_tones *before, size_t count)
{
    float *power[2] = {demod->metric, demod->energy};
    for (unsigned v = 0; v < 2; v++) {
        const double hz = tone_hz(&r->tones, r->radio, v) - tone_hz(before, r->radio, v);
        wh_mix_down(demod->part[v], count, radians(demod, hz) * r->chip / CLOSE_TONE_PARTS, demod->turned);
        wh_sliding_power(demod->turned, count, CLOSE_TONE_PARTS, 1.0f, power[v]);
    }
    double sum = 0.0;
    for (size_t j = 0; j < count; j++)
        sum += (double)fabsf(power[1][j] - power[0][j]);
    return sum;
}

/* Tones closer than twice the chip rate melt into one hump, and data with more of one tone than of the other pull its middle
 * aside. Try carriers around the spectrum's, with its deviation and the nominal one, and keep what opens the eye widest. */
static void place_close_tones(wh_demod *demod, run *r)
{
    const wh_tones start = r->tones;
    const double rate = r->radio->chip_rate_hz;
    const size_t count = r->count * CLOSE_TONE_PARTS / WH_CLOCK_STEPS;
    correlate(demod, r, 0.0, r->chip / CLOSE_TONE_PARTS, count);
    wh_tones best = start;
    double widest = -1.0;
    for (int d = 0; d < 2; d++) {
        for (int i = -CLOSE_TONE_STEPS; i <= CLOSE_TONE_STEPS; i++) {
            r->tones.carrier_hz = start.carrier_hz + CLOSE_TONE_STEP * rate * i;
            r->tones.deviation_hz = d ? r->radio->deviation_hz : start.deviation_hz;
            const double open = opening(demod, r, &start, count);
            if (open > widest) {
                widest = open;
                best = r->tones;
            }
        }
    }
    r->tones = best;
}

/* Chips are correlated over rectangles, whose side lobes let strong neighbours in: take those away first when there are any.
 * Without them the filter would only cost time. */
static bool take_channel(wh_demod *demod, run *r)
{
    const wh_baseband *baseband = &demod->baseband;
    const double rate = r->radio->chip_rate_hz;
    const double half_width = r->tones.deviation_hz + CHANNEL_RATES * rate;
    r->samples = r->heard;
    if (!wh_tones_has_neighbours(demod->map, baseband, r->tones.carrier_hz, half_width + 0.5 * rate))
        return true;
    if (baseband->count > demod->sample_capacity) {
        if (!grow((void **)&demod->filtered, baseband->count * sizeof *demod->filtered))
            return false;
        demod->sample_capacity = baseband->count;
    }
    wh_channel_filter_run(demod->filter, r->heard, baseband->count, baseband->rate_hz, r->tones.carrier_hz, half_width,
                          rate, demod->filtered);
    r->samples = demod->filtered;
    return true;
}

/* A pulse within a chip would decide it: take it out, and what is left of the chip still counts. */
static bool take_pulses(wh_demod *demod, run *r)
{
    const wh_baseband *baseband = &demod->baseband;
    r->heard = baseband->samples;
    if (baseband->count > demod->unpulsed_capacity) {
        if (!grow((void **)&demod->unpulsed, baseband->count * sizeof *demod->unpulsed))
            return false;
        demod->unpulsed_capacity = baseband->count;
    }
    if (wh_pulses_blank(&demod->pulses, 0.5 * r->chip, baseband->samples, baseband->count, demod->unpulsed) > 0)
        r->heard = demod->unpulsed;
    return true;
}

/* Cut the burst into emissions at one hypothesis of the tones and take each. */
static wh_demod_verdict run_tones(wh_demod *demod, run *r, wh_chips_fn give, void *context)
{
    if (!take_channel(demod, r))
        return WH_DEMOD_NO_MEMORY;
    const bool keyed = r->radio->modulation == WH_MOD_OOK;
    if (!keyed && r->radio->deviation_hz < r->radio->chip_rate_hz)
        place_close_tones(demod, r);
    correlate(demod, r, 0.0, r->chip / WH_CLOCK_STEPS, r->count);
    slide(demod, r);
    /* Keying with long runs of zeros needs a longer mean to look continuous, and a longer pause to end. */
    const unsigned run_chips = keyed ? (r->limits->zero_run < 64 ? r->limits->zero_run : 64) : 1;
    size_t smooth = (size_t)(SMOOTH_CHIPS + 2 * run_chips) * WH_CLOCK_STEPS;
    size_t pause = (size_t)(run_chips + PAUSE_CHIPS) * WH_CLOCK_STEPS;
    const float noise = (keyed ? 1.0f : 2.0f) * r->noise;
    /* A weak burst is seen only by a mean over a good part of its length. Its ends are blurred then, but they are in doubt anyway. */
    const size_t half_frame =
        (size_t)(r->limits->shortest_chips < 256 ? r->limits->shortest_chips : 256) / 2 * WH_CLOCK_STEPS;
    const bool may_be_weak = r->tones.strength < 2.0 * (double)WEAK_LEVEL; /* the tones' mean over the whole outline */
    if (half_frame > smooth && may_be_weak &&
        wh_emissions_level(demod->energy, r->count, half_frame, demod->scratch) < WEAK_LEVEL * noise)
        smooth = pause = half_frame;
    wh_emission found[WH_EMISSIONS_MAX];
    const size_t emissions = wh_emissions_find(demod->energy, r->count, noise, smooth, pause, demod->scratch, found);
    wh_demod_verdict verdict = WH_DEMOD_TOO_SHORT;
    for (size_t i = 0; i < emissions; i++) {
        const size_t length = found[i].last - found[i].first;
        /* Half the shortest frame: fading may hide the rest, but less cannot be decoded. */
        const bool long_enough = length * 2 >= (size_t)r->limits->shortest_chips * WH_CLOCK_STEPS;
        if (!long_enough || length < 8 * WH_CLOCK_STEPS)
            continue;
        const wh_demod_verdict one = take_emission(demod, r, &found[i], give, context);
        if (one == WH_DEMOD_NO_MEMORY)
            return one;
        verdict = one < verdict ? one : verdict;
    }
    return verdict;
}

static wh_demod_verdict run_all_tones(wh_demod *demod, run *r, const wh_tones *tones, size_t count, wh_chips_fn give,
                                      void *context)
{
    wh_demod_verdict verdict = WH_DEMOD_WRONG_MODULATION;
    for (size_t i = 0; i < count; i++) {
        if (tones[i].balance < ONE_TONE_BALANCE || !(tones[i].strength > NO_SIGNAL_STRENGTH))
            continue;
        r->tones = tones[i];
        const wh_demod_verdict one = run_tones(demod, r, give, context);
        if (one == WH_DEMOD_NO_MEMORY)
            return one;
        verdict = one < verdict ? one : verdict;
    }
    return verdict;
}

wh_demod_verdict wh_demod_run(wh_demod *demod, const wh_radio *radio, const wh_demod_limits *limits, wh_chips_fn give,
                              void *context)
{
    run r = {.radio = radio, .limits = limits};
    const wh_demod_verdict looks = wh_survey_judge(demod->survey, radio);
    if (looks != WH_DEMOD_OK)
        return looks;
    if ((double)demod->baseband.count * radio->chip_rate_hz * 2.0 <
        (double)limits->shortest_chips * demod->baseband.rate_hz)
        return WH_DEMOD_TOO_SHORT;
    size_t given;
    demod->playing = true;
    const bool played = wh_kept_chips_give(&demod->kept, radio, limits, give, context, &given);
    demod->playing = false;
    if (played)
        return given ? WH_DEMOD_OK : WH_DEMOD_TOO_SHORT;
    /* One clear transmitter has one place in the spectrum. */
    demod->single = wh_survey_is_clear(demod->survey, radio) && wh_survey_is_alone(demod->survey);
    wh_tones tones[WH_TONES_MAX];
    const size_t count = wh_tones_find(demod->map, &demod->baseband, radio, demod->single ? 1 : WH_TONES_MAX, tones);
    if (count == 0 || !(tones[0].strength > NO_SIGNAL_STRENGTH))
        return WH_DEMOD_NO_SIGNAL;
    r.chip = demod->baseband.rate_hz / radio->chip_rate_hz;
    r.count = (size_t)((double)demod->baseband.count / r.chip * WH_CLOCK_STEPS);
    r.noise = (float)(demod->baseband.noise_density * radio->chip_rate_hz);
    if (r.count < 8 * WH_CLOCK_STEPS)
        return WH_DEMOD_TOO_SHORT;
    if (!reserve(demod, r.count) || !take_pulses(demod, &r))
        return WH_DEMOD_NO_MEMORY;
    return run_all_tones(demod, &r, tones, count, give, context);
}

void wh_demod_understood(wh_demod *demod, const wh_radio *radio, const wh_demod_limits *limits, const wh_chips *chips,
                         bool sure)
{
    if (demod->playing) /* it is known already */
        return;
    if (sure) {
        wh_kept_chips_add(&demod->kept, radio, limits, chips);
        wh_survey_know(demod->survey, radio->modulation, chips);
        demod->stopped_weak |= !demod->single;
    }
    const wh_tones tones = {.carrier_hz = chips->carrier_hz, .deviation_hz = chips->deviation_hz};
    const double hz[2] = {tone_hz(&tones, radio, 0), tone_hz(&tones, radio, 1)};
    wh_known_waves_add(&demod->waves, chips, hz, demod->baseband.rate_hz);
}

/* Take out what is understood and look at the spectrum anew. False when there is nothing to take out or memory is out. */
static bool take_out(wh_demod *demod)
{
    if (!wh_known_waves_take_out(&demod->waves, &demod->baseband))
        return false;
    memcpy(demod->before, demod->map->raw, sizeof demod->before);
    return wh_pulse_map_make(&demod->pulses, demod->baseband.samples, demod->baseband.count) &&
           wh_tone_map_make(demod->map, demod->fft, &demod->baseband);
}

bool wh_demod_look_past(wh_demod *demod, const wh_radio *radio, double carrier_hz)
{
    wh_survey_forget(demod->survey);
    wh_kept_chips_forget(&demod->kept);
    const bool taken_out = take_out(demod);
    const bool left = wh_tones_mask(demod->map, &demod->baseband, radio, carrier_hz, radio->deviation_hz,
                                    taken_out ? demod->before : NULL);
    wh_likeness_begin(demod->likeness, demod->map, &demod->baseband);
    return left || (demod->stopped_weak && wh_tones_stand_out(demod->map, &demod->baseband, (double[2]){0.0}, 0.0));
}
