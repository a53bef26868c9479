#include "synth_recording.h"

#include "rng.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define TWO_PI        6.283185307179586476925286766559
#define BLOCK_SAMPLES 4096

struct wh_recording {
    wh_recording_spec spec;
    const wh_recording_burst *bursts;
    size_t burst_count;
    wh_rng rng;
    uint64_t at, clipped;
    float block[2 * BLOCK_SAMPLES];
};

double wh_snr_amplitude(double snr_db, double chip_rate_hz, double noise_power, double sample_rate_hz)
{
    const double noise_in_band = noise_power / sample_rate_hz * chip_rate_hz;
    return sqrt(noise_in_band * pow(10.0, snr_db / 10.0));
}

wh_status wh_recording_create(const wh_recording_spec *spec, const wh_recording_burst *bursts, size_t burst_count,
                              wh_recording **out, wh_error *error)
{
    *out = NULL;
    if (!(spec->sample_rate_hz >= WH_SAMPLE_RATE_MIN_HZ && spec->sample_rate_hz <= WH_SAMPLE_RATE_MAX_HZ))
        return wh_fail(error, WH_ERR_LIMIT, "choose 225 kS/s to 3.2 MS/s", "a sample rate of %.0f S/s is not possible",
                       spec->sample_rate_hz);
    if (!(spec->noise_power >= 0.0) || (unsigned)spec->format >= WH_IQ_FORMAT_COUNT)
        return wh_fail(error, WH_ERR_ARGUMENT, NULL, "a recording needs a noise power and a sample format");
    wh_recording *recording = calloc(1, sizeof *recording);
    if (!recording)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "no memory for a recording");
    recording->spec = *spec;
    recording->bursts = bursts;
    recording->burst_count = burst_count;
    wh_rng_seed(&recording->rng, spec->seed);
    *out = recording;
    return WH_OK;
}

void wh_recording_destroy(wh_recording **recording)
{
    free(*recording);
    *recording = NULL;
}

static void add_steady(const wh_recording_spec *spec, uint64_t first, size_t count, float *iq)
{
    for (size_t i = 0; i < count; i++) {
        iq[2 * i] += (float)spec->dc_i;
        iq[2 * i + 1] += (float)spec->dc_q;
    }
    if (spec->carrier_amplitude == 0.0)
        return;
    for (size_t i = 0; i < count; i++) {
        const double cycles = spec->carrier_hz / spec->sample_rate_hz * (double)(first + i);
        const double angle = TWO_PI * (cycles - floor(cycles));
        iq[2 * i] += (float)(spec->carrier_amplitude * cos(angle));
        iq[2 * i + 1] += (float)(spec->carrier_amplitude * sin(angle));
    }
}

size_t wh_recording_read(wh_recording *recording, float *iq, size_t capacity)
{
    const wh_recording_spec *spec = &recording->spec;
    const uint64_t left = spec->samples - recording->at;
    const size_t count = capacity < left ? capacity : (size_t)left;
    memset(iq, 0, 2 * count * sizeof *iq);
    for (size_t i = 0; i < recording->burst_count; i++)
        wh_wave_add(recording->bursts[i].wave, spec->sample_rate_hz, recording->at, count, iq);
    add_steady(spec, recording->at, count, iq);
    const double sigma = sqrt(spec->noise_power / 2.0); /* half of the power in each of I and Q */
    for (size_t i = 0; sigma > 0.0 && i < count; i++) {
        double pair[2];
        wh_rng_gauss_pair(&recording->rng, pair);
        iq[2 * i] += (float)(sigma * pair[0]);
        iq[2 * i + 1] += (float)(sigma * pair[1]);
    }
    recording->at += count;
    return count;
}

size_t wh_recording_read_native(wh_recording *recording, void *samples, size_t capacity)
{
    uint8_t *out = samples;
    size_t done = 0;
    while (done < capacity) {
        const size_t want = capacity - done < BLOCK_SAMPLES ? capacity - done : BLOCK_SAMPLES;
        const size_t count = wh_recording_read(recording, recording->block, want);
        if (count == 0)
            break;
        const wh_iq_format format = recording->spec.format;
        recording->clipped += wh_iq_from_float(format, recording->block, count, out + done * wh_iq_bytes(format));
        done += count;
    }
    return done;
}

uint64_t wh_recording_clipped(const wh_recording *recording)
{
    return recording->clipped;
}

/* One component: value * scale + zero, to the nearest integer within low..high. */
static long quantise(float value, float scale, float zero, long low, long high, bool *limited)
{
    const float scaled = value * scale + zero;
    if (scaled < (float)low - 0.5f || scaled > (float)high + 0.5f)
        *limited = true;
    if (!(scaled > (float)low))
        return low;
    return scaled >= (float)high ? high : lrintf(scaled);
}

size_t wh_iq_from_float(wh_iq_format format, const float *iq, size_t count, void *samples)
{
    uint8_t *out = samples;
    size_t limited_count = 0;
    if (format == WH_IQ_CF32) {
        memcpy(out, iq, 2 * count * sizeof *iq);
        return 0;
    }
    for (size_t i = 0; i < count; i++) {
        bool limited = false;
        for (size_t k = 2 * i; k < 2 * i + 2; k++) {
            if (format == WH_IQ_CU8) {
                out[k] = (uint8_t)quantise(iq[k], 127.5f, 127.5f, 0, 255, &limited);
            } else if (format == WH_IQ_CI8) {
                out[k] = (uint8_t)quantise(iq[k], 128.0f, 0.0f, -128, 127, &limited);
            } else {
                const unsigned value = (unsigned)quantise(iq[k], 32768.0f, 0.0f, -32768, 32767, &limited);
                out[2 * k] = (uint8_t)(value & 0xFF);
                out[2 * k + 1] = (uint8_t)(value >> 8 & 0xFF);
            }
        }
        limited_count += limited;
    }
    return limited_count;
}
