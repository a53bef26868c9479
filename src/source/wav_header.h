/* The chunks of a WAV file (RIFF, and RF64 of EBU Tech 3306) up to the samples. Left channel I, right channel Q. */
#ifndef WH_WAV_HEADER_H
#define WH_WAV_HEADER_H

#include "input.h"
#include "wheelhark/iq.h"

typedef struct wh_wav_header {
    wh_iq_format format; /* 8 bit: cu8, 16 bit: ci16, float: cf32 */
    double sample_rate_hz;
    bool has_length;     /* false: written by a program that could not go back and fill in the length */
    uint64_t data_bytes; /* with has_length */
} wh_wav_header;

/* Do these first 12 bytes begin a WAV file? */
bool wh_wav_begins(const uint8_t *bytes, size_t count);
/* Read up to the first byte of the samples; the input then stands there. */
wh_status wh_wav_read_header(wh_input *input, wh_wav_header *header, wh_error *error);

#endif
