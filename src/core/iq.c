#include "wheelhark/iq.h"

#include <math.h>
#include <string.h>
#include <strings.h>

static const char *const names[WH_IQ_FORMAT_COUNT] = {"cu8", "ci8", "ci16_le", "cf32_le"};
static const size_t sizes[WH_IQ_FORMAT_COUNT] = {2, 2, 4, 8};

size_t wh_iq_bytes(wh_iq_format format)
{
    return sizes[format];
}

const char *wh_iq_format_name(wh_iq_format format)
{
    return names[format];
}

bool wh_iq_format_parse(const char *text, wh_iq_format *format)
{
    static const char *const short_names[WH_IQ_FORMAT_COUNT] = {"cu8", "ci8", "ci16", "cf32"};
    for (int i = 0; i < WH_IQ_FORMAT_COUNT; i++) {
        if (strcasecmp(text, names[i]) == 0 || strcasecmp(text, short_names[i]) == 0) {
            *format = (wh_iq_format)i;
            return true;
        }
    }
    return false;
}

/* Plain arithmetic loops: the compiler vectorises them, and they beat any table (limits of this kind of
 * machine: about three times the speed of a 64 Ki pair table). */
static void from_cu8(const uint8_t *restrict in, size_t floats, float *restrict out)
{
    for (size_t i = 0; i < floats; i++)
        out[i] = ((float)in[i] - 127.5f) * (1.0f / 127.5f);
}

static void from_ci8(const int8_t *restrict in, size_t floats, float *restrict out)
{
    for (size_t i = 0; i < floats; i++)
        out[i] = (float)in[i] * (1.0f / 128.0f);
}

static void from_ci16(const uint8_t *restrict in, size_t floats, float *restrict out)
{
    for (size_t i = 0; i < floats; i++) {
        const int16_t value = (int16_t)(uint16_t)(in[2 * i] | (unsigned)in[2 * i + 1] << 8);
        out[i] = (float)value * (1.0f / 32768.0f);
    }
}

/* Beyond a million times full scale is damage as well: it would swamp every sum. */
static bool unusable(float value)
{
    return !(fabsf(value) < 1e6f);
}

static size_t from_cf32(const void *in, size_t samples, float *restrict out)
{
    memcpy(out, in, 2 * samples * sizeof *out);
    size_t bad = 0;
    for (size_t i = 0; i < samples; i++) {
        if (unusable(out[2 * i]) || unusable(out[2 * i + 1])) {
            out[2 * i] = out[2 * i + 1] = 0.0f;
            bad++;
        }
    }
    return bad;
}

size_t wh_iq_to_float(wh_iq_format format, const void *samples, size_t count, float *out)
{
    const size_t floats = 2 * count;
    switch (format) {
    case WH_IQ_CU8: from_cu8(samples, floats, out); return 0;
    case WH_IQ_CI8: from_ci8(samples, floats, out); return 0;
    case WH_IQ_CI16: from_ci16(samples, floats, out); return 0;
    default: return from_cf32(samples, count, out);
    }
}
