/* What surrounds the payload of a frame on the air. */
#ifndef WH_FRAME_SPEC_H
#define WH_FRAME_SPEC_H

#include <stdbool.h>
#include <stdint.h>

#define WH_PATTERN_MAX 128

/* A known sequence: bits that go through the line code, or raw chips that need not obey it. */
typedef struct wh_pattern {
    bool chips;                    /* false: bits */
    uint16_t count;                /* 0: no such pattern */
    uint8_t value[WH_PATTERN_MAX]; /* 0 or 1 each */
} wh_pattern;

/* On the air, in this order: preamble x repeats, sync, payload, end. */
typedef struct wh_frame_spec {
    wh_pattern preamble;       /* one period */
    uint16_t preamble_repeats; /* how often the transmitter sends the period (nominal); 0 without preamble */
    wh_pattern sync;
    uint16_t bits_min, bits_max; /* payload bits, 2..256; equal for fixed length. When they differ, the
                                    end pattern (or the end of the carrier) tells the length */
    uint16_t bits_step;          /* lengths are bits_min + n * bits_step; >= 1 */
    wh_pattern end;
    bool low_bit_first; /* each byte is sent least significant bit first: every group of eight payload bits
                           (also a shorter last one) is turned round after the line code, before bits
                           are numbered */
} wh_frame_spec;

#endif
