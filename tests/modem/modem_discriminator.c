#include "modem_discriminator.h"

#include "modem_frame.h"
#include "synth_chips.h"

#include <complex.h>
#include <math.h>
#include <stdlib.h>

#define HALF_BAND_HZ 100e3
#define TAPS         65 /* at 1.024 MS/s: 6 dB down at the band's edge, 50 dB at 145 kHz */

/* Low pass with a Hamming window. */
static void make_filter(double sample_rate_hz, float taps[TAPS])
{
    double sum = 0.0;
    for (int i = 0; i < TAPS; i++) {
        const double t = i - (TAPS - 1) / 2.0, x = 2.0 * M_PI * HALF_BAND_HZ / sample_rate_hz * t;
        const double window = 0.54 - 0.46 * cos(2.0 * M_PI * i / (TAPS - 1.0));
        taps[i] = (float)((fabs(x) < 1e-9 ? 1.0 : sin(x) / x) * window);
        sum += (double)taps[i];
    }
    for (int i = 0; i < TAPS; i++)
        taps[i] = (float)((double)taps[i] / sum);
}

/* Samples first - TAPS / 2 .. of the recording shifted to the sender's centre. */
static void take(const modem_air *air, double carrier_hz, size_t first, size_t count, float complex *out)
{
    for (size_t i = 0; i < count; i++) {
        const size_t at = first + i;
        const double turn = 2.0 * M_PI * fmod(carrier_hz * (double)at / air->sample_rate_hz, 1.0);
        const float re = at < air->sample_count ? (float)air->samples[2 * at] - 127.5f : 0.0f;
        const float im = at < air->sample_count ? (float)air->samples[2 * at + 1] - 127.5f : 0.0f;
        out[i] = (re + im * I) * ((float)cos(turn) - (float)sin(turn) * I);
    }
}

/* Instantaneous frequency, or envelope, of the filtered samples. */
static void detect(const float complex *in, size_t count, const float taps[TAPS], bool envelope, float *out)
{
    float complex last = 0.0f;
    for (size_t i = 0; i < count; i++) {
        float complex y = 0.0f;
        for (size_t k = 0; k < TAPS; k++)
            y += taps[k] * in[i + k];
        out[i] = envelope ? cabsf(y) : cargf(y * conjf(last));
        last = y;
    }
}

static double mean_over(const float *values, size_t count, double from, double to)
{
    double sum = 0.0;
    size_t n = 0;
    for (size_t i = (size_t)ceil(from); (double)i < to && i < count; i++, n++)
        sum += (double)values[i];
    return n ? sum / (double)n : 0.0;
}

/* Half-way between the means of on and off chips: what a perfect slicer would find. */
static double middle(const double *level, const uint8_t *chips, size_t count)
{
    double sum[2] = {0.0, 0.0}, n[2] = {0.0, 0.0};
    for (size_t k = 0; k < count; k++) {
        sum[chips[k]] += level[k];
        n[chips[k]] += 1.0;
    }
    return 0.5 * (sum[0] / fmax(n[0], 1.0) + sum[1] / fmax(n[1], 1.0));
}

static modem_verdict judge(const modem_sent *sent, const double *level, const uint8_t *chips, size_t first,
                           size_t count)
{
    const bool keyed = sent->descriptor->radio.modulation == WH_MOD_OOK;
    const double threshold = keyed ? middle(level, chips, first + count) : 0.0;
    const double sign = sent->descriptor->radio.low_tone_is_one ? -1.0 : 1.0;
    modem_verdict verdict = {true, sent->descriptor->line.kind == WH_LINE_MANCHESTER};
    for (size_t k = first; k < first + count; k++)
        verdict.chips_right &= (sign * (level[k] - threshold) > 0.0) == (chips[k] != 0);
    for (size_t k = first; verdict.bits_right && k + 1 < first + count; k += 2)
        verdict.bits_right = (sign * (level[k] - level[k + 1]) > 0.0) == (chips[k] != 0);
    return verdict;
}

bool modem_discriminator(const modem_air *air, const modem_sent *sent, modem_verdict *verdict)
{
    uint8_t *chips = NULL;
    size_t chip_count = 0;
    if (wh_synth_chips(sent->descriptor, &sent->frame, &chips, &chip_count, NULL) != WH_OK)
        return false;
    const double per_chip = air->sample_rate_hz / (sent->descriptor->radio.chip_rate_hz * (1.0 + sent->rate_error));
    const double start = sent->start_s * air->sample_rate_hz;
    const size_t first = (size_t)start - TAPS, count = (size_t)ceil(per_chip * (double)chip_count) + 2 * TAPS;
    float complex *samples = malloc((count + TAPS) * sizeof *samples);
    float *values = malloc(count * sizeof *values);
    double *level = malloc(chip_count * sizeof *level);
    const bool ok = samples && values && level;
    if (ok) {
        float taps[TAPS];
        make_filter(air->sample_rate_hz, taps);
        take(air, sent->carrier_hz, first - TAPS / 2, count + TAPS, samples);
        detect(samples, count, taps, sent->descriptor->radio.modulation == WH_MOD_OOK, values);
        for (size_t k = 0; k < chip_count; k++) {
            const double at = start - (double)first + per_chip * (double)k;
            level[k] = mean_over(values, count, at, at + per_chip);
        }
        const size_t payload = modem_frame_payload_chips(sent->descriptor, &sent->frame);
        *verdict = judge(sent, level, chips, chip_count - payload, payload);
    }
    free(samples);
    free(values);
    free(level);
    free(chips);
    return ok;
}
