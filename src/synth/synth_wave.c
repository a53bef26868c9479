#include "synth_wave.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define TWO_PI 6.283185307179586476925286766559

struct wh_wave {
    wh_wave_spec spec;
    double chip_s, deviation_hz;
    size_t count;
    uint8_t *chips;
    int64_t *sum; /* sum[k]: chips of the higher tone minus chips of the lower one before chip k */
};

/* +1 for the higher tone, -1 for the lower. */
static int tone(const wh_wave *wave, size_t chip)
{
    return (wave->chips[chip] != 0) != wave->spec.radio.low_tone_is_one ? 1 : -1;
}

static bool sensible(const wh_wave_spec *spec, size_t count)
{
    const double rate = spec->radio.chip_rate_hz * (1.0 + spec->rate_error);
    return count > 0 && rate > 0.0 && isfinite(rate) && spec->edge_s >= 0.0 && spec->edge_s * rate <= 1.0 &&
           isfinite(spec->start_s) && isfinite(spec->carrier_hz) && isfinite(spec->amplitude);
}

wh_wave *wh_wave_create(const wh_wave_spec *spec, const uint8_t *chips, size_t count)
{
    if (!sensible(spec, count))
        return NULL;
    wh_wave *wave = calloc(1, sizeof *wave);
    if (!wave)
        return NULL;
    wave->spec = *spec;
    wave->chip_s = 1.0 / (spec->radio.chip_rate_hz * (1.0 + spec->rate_error));
    wave->deviation_hz = spec->radio.deviation_hz * (1.0 + spec->deviation_error);
    wave->count = count;
    wave->chips = malloc(count);
    wave->sum = calloc(count + 1, sizeof *wave->sum);
    if (!wave->chips || !wave->sum) {
        wh_wave_destroy(&wave);
        return NULL;
    }
    memcpy(wave->chips, chips, count);
    for (size_t k = 0; k < count; k++)
        wave->sum[k + 1] = wave->sum[k] + tone(wave, k);
    return wave;
}

void wh_wave_destroy(wh_wave **wave)
{
    if (!*wave)
        return;
    free((*wave)->chips);
    free((*wave)->sum);
    free(*wave);
    *wave = NULL;
}

double wh_wave_duration(const wh_wave *wave)
{
    return wave->chip_s * (double)wave->count;
}

void wh_wave_span(const wh_wave *wave, double *begin_s, double *end_s)
{
    *begin_s = wave->spec.start_s - wave->spec.edge_s / 2.0;
    *end_s = wave->spec.start_s + wh_wave_duration(wave) + wave->spec.edge_s / 2.0;
}

void wh_wave_band(const wh_wave *wave, double *low_hz, double *high_hz)
{
    const double half = 1.0 / wave->chip_s + wave->deviation_hz;
    *low_hz = wave->spec.carrier_hz + fmin(wave->spec.drift_hz, 0.0) - half;
    *high_hz = wave->spec.carrier_hz + fmax(wave->spec.drift_hz, 0.0) + half;
}

/* Keying of chip k as an amplitude: OOK by the chip, FSK on throughout; 0 outside of the burst. */
static double keyed(const wh_wave *wave, long k)
{
    if (k < 0 || k >= (long)wave->count)
        return 0.0;
    return wave->spec.radio.modulation == WH_MOD_FSK || wave->chips[k] ? 1.0 : 0.0;
}

/* The chip boundary within half an edge of t (seconds from the first chip), or -1. */
static long boundary_near(const wh_wave *wave, double t)
{
    const double nearest = nearbyint(t / wave->chip_s);
    return nearest >= 0.0 && nearest <= (double)wave->count &&
                   fabs(t - nearest * wave->chip_s) < wave->spec.edge_s / 2.0
               ? (long)nearest
               : -1;
}

static double envelope(const wh_wave *wave, double t, long boundary)
{
    if (boundary < 0)
        return keyed(wave, (long)floor(t / wave->chip_s));
    const double a = keyed(wave, boundary - 1), b = keyed(wave, boundary);
    const double u = t - (double)boundary * wave->chip_s;
    return (a + b) / 2.0 + (b - a) / 2.0 * sin(TWO_PI / 2.0 * u / wave->spec.edge_s);
}

/* Integral of the tone (+1 or -1) from 0 to t. In a transition of length E around a boundary the tone goes from a to b
 * as (a + b)/2 + (b - a)/2 sin(pi u / E); over the whole transition that has the integral of the abrupt step. */
static double tone_integral(const wh_wave *wave, double t, long boundary)
{
    const long last = (long)wave->count - 1;
    if (boundary > 0 && boundary <= last) {
        const double a = tone(wave, (size_t)boundary - 1), b = tone(wave, (size_t)boundary);
        const double edge = wave->spec.edge_s, u = t - (double)boundary * wave->chip_s;
        return wave->chip_s * (double)wave->sum[boundary] - a * edge / 2.0 + (a + b) / 2.0 * (u + edge / 2.0) -
               (b - a) / 2.0 * edge / (TWO_PI / 2.0) * cos(TWO_PI / 2.0 * u / edge);
    }
    long k = (long)floor(t / wave->chip_s);
    k = k < 0 ? 0 : k > last ? last : k;
    return wave->chip_s * (double)wave->sum[k] + tone(wave, (size_t)k) * (t - (double)k * wave->chip_s);
}

void wh_wave_add(const wh_wave *wave, double sample_rate_hz, uint64_t first, size_t count, float *iq)
{
    double begin_s, end_s;
    wh_wave_span(wave, &begin_s, &end_s);
    const double duration = wh_wave_duration(wave), from = ceil(begin_s * sample_rate_hz) - (double)first;
    const bool fsk = wave->spec.radio.modulation == WH_MOD_FSK;
    for (size_t i = from > 0.0 ? (from < (double)count ? (size_t)from : count) : 0; i < count; i++) {
        const double t = (double)(first + i) / sample_rate_hz - wave->spec.start_s;
        if (t >= end_s - wave->spec.start_s)
            break;
        const long boundary = boundary_near(wave, t);
        const double level = wave->spec.amplitude * envelope(wave, t, boundary);
        if (level == 0.0)
            continue;
        double cycles = wave->spec.carrier_hz * t + 0.5 * wave->spec.drift_hz / duration * t * t;
        if (fsk)
            cycles += wave->deviation_hz * tone_integral(wave, t, boundary);
        const double angle = TWO_PI * (cycles - floor(cycles)) + wave->spec.phase;
        iq[2 * i] += (float)(level * cos(angle));
        iq[2 * i + 1] += (float)(level * sin(angle));
    }
}
