#include "iq_wide.h"

#include "wide.h"

#include <math.h>
#include <string.h>

/* I and Q are read as one number of 16 bits: a vector unit parts them with a shift, where two bytes would have to be gathered. */
#if __BYTE_ORDER__ == __ORDER_LITTLE_ENDIAN__
#define IN_PHASE_SHIFT 0
#else
#define IN_PHASE_SHIFT 8
#endif

WH_WIDE static void weigh_cu8(const uint8_t *restrict in, size_t count, const float *restrict weight,
                              float *restrict real, float *restrict imag)
{
    for (size_t i = 0; i < count; i++) {
        uint16_t pair;
        memcpy(&pair, in + 2 * i, sizeof pair);
        real[i] = ((float)(pair >> IN_PHASE_SHIFT & 255) - 127.5f) * (1.0f / 127.5f) * weight[i];
        imag[i] = ((float)(pair >> (8 - IN_PHASE_SHIFT) & 255) - 127.5f) * (1.0f / 127.5f) * weight[i];
    }
}

WH_WIDE static void weigh_ci8(const int8_t *restrict in, size_t count, const float *restrict weight,
                              float *restrict real, float *restrict imag)
{
    for (size_t i = 0; i < count; i++) {
        real[i] = (float)in[2 * i] * (1.0f / 128.0f) * weight[i];
        imag[i] = (float)in[2 * i + 1] * (1.0f / 128.0f) * weight[i];
    }
}

#define PIECE 256 /* samples converted at a time by the general way: 2 KiB on the stack */

/* Wide formats are rare and their conversion is no longer than their reading: convert, then weigh. */
static void weigh_any(wh_iq_format format, const void *samples, size_t count, const float *weight, float *real,
                      float *imag)
{
    const unsigned char *from = samples;
    float piece[2 * PIECE];
    for (size_t done = 0; done < count; done += PIECE) {
        const size_t step = count - done < PIECE ? count - done : PIECE;
        wh_iq_to_float(format, from + done * wh_iq_bytes(format), step, piece);
        for (size_t i = 0; i < step; i++) {
            real[done + i] = piece[2 * i] * weight[done + i];
            imag[done + i] = piece[2 * i + 1] * weight[done + i];
        }
    }
}

void wh_iq_weigh(wh_iq_format format, const void *samples, size_t count, const float *weight, float *real, float *imag)
{
    if (format == WH_IQ_CU8)
        weigh_cu8(samples, count, weight, real, imag);
    else if (format == WH_IQ_CI8)
        weigh_ci8(samples, count, weight, real, imag);
    else
        weigh_any(format, samples, count, weight, real, imag);
}

/* The highest bit flipped turns signed bytes into unsigned ones. 16 bits hold the count of a block. */
#define CLIPPED_BLOCK 8192

/* Is any byte 0 or 255, which become 1 and 0 when 1 is added? Mostly none is, and to see that takes a third of the time of counting. */
WH_WIDE static bool any_clipped(const uint8_t *restrict bytes, size_t count, uint8_t flip)
{
    uint8_t least = 255;
    for (size_t i = 0; i < count; i++) {
        const uint8_t next = (uint8_t)((bytes[i] ^ flip) + 1u);
        least = next < least ? next : least;
    }
    return least < 2;
}

WH_WIDE static unsigned count_block(const uint8_t *restrict bytes, size_t count, uint8_t flip)
{
    uint16_t clipped = 0;
    for (size_t i = 0; i < count; i++) {
        const uint8_t real = (uint8_t)((bytes[2 * i] ^ flip) + 1u), imag = (uint8_t)((bytes[2 * i + 1] ^ flip) + 1u);
        clipped = (uint16_t)(clipped + ((real < imag ? real : imag) < 2));
    }
    return clipped;
}

uint64_t wh_iq_count_clipped(wh_iq_format format, const void *samples, size_t count)
{
    if (format != WH_IQ_CU8 && format != WH_IQ_CI8)
        return 0;
    const uint8_t flip = format == WH_IQ_CI8 ? 0x80 : 0, *from = samples;
    uint64_t clipped = 0;
    while (count > 0) {
        const size_t step = count < CLIPPED_BLOCK ? count : CLIPPED_BLOCK;
        if (any_clipped(from, 2 * step, flip))
            clipped += count_block(from, step, flip);
        from += 2 * step;
        count -= step;
    }
    return clipped;
}

uint64_t wh_iq_count_invalid(wh_iq_format format, const void *samples, size_t count)
{
    uint64_t invalid = 0;
    float piece[2 * PIECE];
    for (size_t done = 0; format == WH_IQ_CF32 && done < count; done += PIECE) {
        const size_t step = count - done < PIECE ? count - done : PIECE;
        invalid += wh_iq_to_float(format, (const unsigned char *)samples + done * wh_iq_bytes(format), step, piece);
    }
    return invalid;
}
